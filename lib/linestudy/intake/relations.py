"""Sizes that belong together and differ by a factor of units: said before anything is computed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from linestudy.records.scales import factor_between, units_of

if TYPE_CHECKING:
    from linestudy.records.read_files import Records
    from linestudy.study.model import Characteristic


def unit_doubts(records: Records) -> tuple[str, ...]:
    """Say where numbers that belong together differ by 25.4, 1,000 or 39.37.

    Parameters
    ----------
    records : Records
        From :func:`linestudy.read`.

    Returns
    -------
    tuple of str
        One sentence for each: readings against the drawing, masters' readings against their values, one gauge
        against another, a file against the others of the same characteristic.

    Notes
    -----
    Medians are compared, in the unit into which files have been turned. Common practice, no source.
    """
    found: list[str] = []
    for item in records.study.characteristics:
        sizes: list[tuple[str, float]] = []
        drawn = _drawn(item)
        for source in records.sources:
            frame, file = source.frame, source.data.file
            if item.id in frame:
                middle = _middle(frame[item.id])
                if drawn is not None:
                    _compare(
                        found,
                        item.name,
                        (f"its readings in {file}", middle),
                        ("the drawing", drawn),
                    )
                if source.data.role == "reference" and "reference" in frame:
                    known = _middle(frame["reference"])
                    _compare(
                        found,
                        item.name,
                        (f"its readings in {file}", middle),
                        ("the masters' values there", known),
                    )
                sizes.append((file, middle))
            first, second = f"{item.id}␟first", f"{item.id}␟second"
            if first in frame and second in frame:
                pair = (_middle(frame[first]), _middle(frame[second]))
                _compare(
                    found,
                    item.name,
                    (f"the first gauge in {file}", pair[0]),
                    ("the second", pair[1]),
                )
                sizes.append((file, pair[0]))
        for file, middle in sizes[1:]:
            _compare(
                found,
                item.name,
                (f"its readings in {file}", middle),
                (f"those in {sizes[0][0]}", sizes[0][1]),
            )
    return tuple(dict.fromkeys(found))


def _drawn(item: Characteristic) -> float | None:
    """Its size on the drawing; None where that is nought or not given."""
    if item.nominal:
        return item.nominal
    if item.lower is not None and item.upper is not None and item.lower + item.upper:
        return (item.lower + item.upper) / 2
    return None


def _middle(values: object) -> float:
    numbers = np.asarray(values, dtype=float)
    numbers = numbers[np.isfinite(numbers)]
    return float(np.median(numbers)) if numbers.size else float("nan")


def _compare(found: list[str], name: str, this: tuple[str, float], that: tuple[str, float]) -> None:
    factor = factor_between(this[1], that[1])
    if factor is None:
        return
    one, other = units_of(factor)
    found.append(
        f"{name}: {this[0]} have the median {this[1]:.4g}, {that[0]} {that[1]:.4g}, which is {factor:.4g} times "
        f"as much; one may be in {one} and the other in {other}. Name the unit in its [[data]] table (unit, or "
        "units for single columns)."
    )
