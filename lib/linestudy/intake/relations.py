"""Sizes that belong together and differ by a factor of units: said before anything is computed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from linestudy.records.stream_names import twins_told
from linestudy.records.units import factor_between, units_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pandas as pd

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
        against another, a file against the others of the same characteristic, a station or an appraiser against
        the others of a file.

    Notes
    -----
    Medians are compared, in the unit into which files have been turned, within five per cent of a factor. Where the
    drawing says no size (an offset, a burr: only an upper limit), parts of two files may differ, and factors of 25.4 and
    1,000 are told within a third; and readings whose median is more than five times the upper limit are told whatever
    the factor. Inches beside a limit in millimetres look like very good parts there and cannot be told from the
    readings alone. Common practice, no source.
    """
    found: list[str] = []
    for item in records.study.characteristics:
        sizes: list[tuple[str, float]] = []
        drawn = _drawn(item)
        loose = drawn is None
        for source in records.sources:
            frame, file = source.frame, source.data.file
            if _has_readings(frame, item.id):
                middle = _middle(frame[item.id])
                readings = (f"its readings in {file}", middle)
                if drawn is not None:
                    _compare(found, item.name, readings, ("the drawing", drawn))
                elif item.upper is not None and middle > 5 * abs(item.upper) > 0:
                    found.append(_beyond(item, file, middle))
                if source.data.role == "reference" and "reference" in frame:
                    known = _middle(frame["reference"])
                    _compare(found, item.name, readings, ("the masters' values there", known))
                for one, other in _groups(frame, item.id, file):
                    _compare(found, item.name, one, other, loose)
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
            one, other = (
                (f"its readings in {file}", middle),
                (f"those in {sizes[0][0]}", sizes[0][1]),
            )
            _compare(found, item.name, one, other, loose)
    return tuple(dict.fromkeys(found))


def name_doubts(records: Records) -> tuple[str, ...]:
    """Say where names of parts or people in one file may mean one.

    Parameters
    ----------
    records : Records
        From :func:`linestudy.read`.

    Returns
    -------
    tuple of str
        One sentence for each file and kind of name. A part under two names counts as two, each read by fewer people.

    See Also
    --------
    unit_doubts : Sizes that differ by a factor of units.
    """
    found = []
    for source in records.sources:
        for column in ("part", "appraiser") if source.data.role in _WITH_NAMES else ():
            if column in source.frame:
                names = [str(name) for name in source.frame[column].dropna().unique()]
                told = twins_told(column, names)
                found += [f"{source.data.file}: {told}"] if told else []
    return tuple(found)


#: Roles in which every part is read several times, under its name.
_WITH_NAMES = ("crossed", "attribute", "paired", "reference")


def _has_readings(frame: pd.DataFrame, name: str) -> bool:
    """Check whether a column of numbers is there alone under this name; a characteristic may be called as a tag is."""
    return (frame.columns == name).sum() == 1 and frame[name].dtype.kind in "fiu"


#: What divides the rows of a file into those of one hand or one place.
_DIVIDES = {"station": "station", "appraiser": "appraiser"}
#: How far medians of what has no size of its own may lie from a factor.
_LOOSELY = 0.29


def _groups(
    frame: pd.DataFrame, name: str, file: str
) -> Iterator[tuple[tuple[str, float], tuple[str, float]]]:
    """Compare each station and appraiser of a file with the one with most readings."""
    for tag, word in _DIVIDES.items():
        if tag not in frame:
            continue
        by = frame.groupby(tag, observed=True, sort=True)[name]
        counts, middles = by.count(), by.median()
        if not 2 <= len(middles) <= 64:
            continue
        at = int(counts.to_numpy().argmax())
        most = middles.index[at]
        rest = (f"those of {word} {most}", float(middles.iloc[at]))
        for label, middle in middles.items():
            if label != most:
                yield (f"its readings of {word} {label} in {file}", float(middle)), rest


def _beyond(item: Characteristic, file: str, middle: float) -> str:
    assert item.upper is not None
    return (
        f"{item.name}: its readings in {file} have the median {middle:.4g}, {middle / item.upper:.3g} times the upper "
        f"limit {item.upper:g}; they may be in another unit than the limit. Name the unit in the [[data]] table."
    )


def _drawn(item: Characteristic) -> float | None:
    """Return its size on the drawing; None where that is nought or not given."""
    if item.nominal:
        return item.nominal
    if item.lower is not None and item.upper is not None and item.lower + item.upper:
        return (item.lower + item.upper) / 2
    return None


def _middle(values: object) -> float:
    numbers = np.asarray(values, dtype=float)
    numbers = numbers[np.isfinite(numbers)]
    return float(np.median(numbers)) if numbers.size else float("nan")


def _compare(
    found: list[str],
    name: str,
    this: tuple[str, float],
    that: tuple[str, float],
    loose: bool = False,
) -> None:
    factor = factor_between(this[1], that[1])
    if factor is None and loose:
        factor = factor_between(this[1], that[1], _LOOSELY)
    if factor is None:
        return
    one, other = units_of(factor)
    found.append(
        f"{name}: {this[0]} have the median {this[1]:.4g}, {that[0]} {that[1]:.4g}, which is {factor:.4g} times "
        f"as much; one may be in {one} and the other in {other}. Name the unit in its [[data]] table (unit, or "
        "units for single columns)."
    )
