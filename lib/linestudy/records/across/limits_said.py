"""Limits that a file of readings says itself, held against those of study.toml.

A file may say them in columns beside the readings (`USL`, `Width max`) or in rows below its header. What study.toml says is what is
judged; where it allows more than the file does, one of the two is not the drawing's. Readings that are converted are left alone, and
so are files in which a limit changes from row to row.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linestudy.records.cells.limit_words import said_of_limits
from linestudy.records.conversions import to_numbers
from linestudy.records.files import column, joined_columns
from linestudy.records.headers import named_columns, names_within
from linestudy.results import InputError
from linestudy.results.rounding import as_given

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pandas as pd

    from linestudy.records.text_table import TextTable
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic, Data

#: What is noticed: less in the file than in study.toml, and more.
WIDER, NARROWER = "limits of the file are narrower", "limits of the file are wider"
#: What a file may say, the side, and the sign towards more.
_SIDES = {"lower limit": ("lower", -1.0), "upper limit": ("upper", 1.0)}
#: Rows that are looked at, and relative difference that is none.
_FIRST, _SAME = 5_000, 1e-9
#: What the file may say of a limit.
_WORDS = ("nominal", "lower limit", "upper limit", "lower tolerance", "upper tolerance")


def limits_said(study: Study, data: Data, text: TextTable) -> list[tuple[str, str, int, int, str]]:
    """Notice limits in a file of readings that are not those of study.toml.

    Parameters
    ----------
    study : Study
    data : linestudy.study.model.Data
        Of this file.
    text : TextTable
        The file as it came.

    Returns
    -------
    list of (str, str, int, int, str)
        What, the characteristic, how many limits, no line, and a sentence.
    """
    if data.role not in ("run", "machine") or not len(text.cells):
        return []
    found = []
    of_file = {key for one in study.data if one.file == data.file for key in one.columns}
    for key, own, cells in _readings(study, data, text.cells):
        item = study.characteristic(key)
        if item.position is not None or _converted(item, data, own):
            continue
        alone = data.long is not None or len(of_file) == 1
        say = _Saying(data, {said: text.limits.get(said, {}) for said in _WORDS}, cells, own, alone)
        for said, (side, sign) in _SIDES.items():
            theirs, ours = say.limit(side), getattr(item, side)
            if theirs is None or not _near(theirs, item):
                continue
            if ours is not None and math.isclose(theirs, ours, rel_tol=_SAME):
                continue
            more = sign * ((sign * math.inf if ours is None else ours) - theirs) > 0
            judged = f"no {side} limit" if ours is None else as_given(ours)
            found.append(
                (
                    WIDER if more else NARROWER,
                    key,
                    1,
                    0,
                    f"{data.file} says {'a' if side == 'lower' else 'an'} {said} of {as_given(theirs)}, study.toml {judged}",
                )
            )
    return found


def _converted(item: Characteristic, data: Data, own: list[str]) -> bool:
    if data.long is not None and data.long.unit is not None:
        return True
    units = {data.unit, *(data.units.get(name) for name in own)} - {None}
    return bool(units - {item.unit})


def _readings(
    study: Study, data: Data, cells: pd.DataFrame
) -> Iterator[tuple[str, list[str], pd.DataFrame]]:
    """Yield each characteristic of a file with the names of its columns and its rows."""
    if data.long is None:
        for key, source in data.columns.items():
            yield key, list(names_within(source)), cells.iloc[:_FIRST]
        return
    for name in data.long.characteristics:
        column(cells, name, data)
    labels = joined_columns(cells, data.long.characteristics)
    for item in study.characteristics:
        mine = labels.isin([item.id, item.name])
        if mine.any():
            yield item.id, [data.long.value], cells[mine].iloc[:_FIRST]


def _near(limit: float, item: Characteristic) -> bool:
    """Check whether a number may be a limit of the characteristic; a column "max" may hold a speed."""
    known = [v for v in (item.lower, item.upper) if v is not None]
    if not known:
        return True
    reach = known[-1] - known[0] if len(known) == 2 else abs(known[0]) / 2
    return known[0] - reach <= limit <= known[-1] + reach


@dataclass(frozen=True)
class _Saying:
    """What a file says of one characteristic: rows below its header, columns beside its readings."""

    data: Data
    below: dict[str, dict[str, str]]
    cells: pd.DataFrame
    own: list[str]
    alone: bool

    def limit(self, side: str) -> float | None:
        """Return the limit, also from nominal and deviation; None where the file gives none."""
        limit = self.one(f"{side} limit")
        if limit is not None:
            return limit
        nominal, off = self.one("nominal"), self.one(f"{side} tolerance")
        if nominal is None or off is None:
            return None
        # A deviation downwards is written with its sign or without.
        return nominal - abs(off) if side == "lower" else nominal + off

    def one(self, said: str) -> float | None:
        """Return the one number that the file gives; None where it gives none or several."""
        below = self.below.get(said, {})
        numbers = {_number(below[name], self.data) for name in self.own if below.get(name)}
        named = set(named_columns(self.data))
        for name in map(str, self.cells.columns):
            if name not in named and _is_of(name, self.own, said, self.alone):
                cells = self.cells[name].unique()
                numbers |= {_number(cell, self.data) for cell in cells if str(cell).strip()}
        return numbers.pop() if len(numbers) == 1 else None


def _is_of(name: str, own: list[str], said: str, alone: bool) -> bool:
    """Check whether a column gives this limit of these readings, by its own name or by theirs in it."""
    if alone and said_of_limits(name) == said:
        return True
    for reading in own:
        rest = re.sub(re.escape(reading.casefold()), " ", name.casefold(), count=1)
        if rest != name.casefold() and said_of_limits(rest.strip(" _-.:/")) == said:
            return True
    return False


def _number(cell: object, data: Data) -> float | None:
    import pandas as pd

    try:
        values = to_numbers(pd.Series([str(cell)]), data).values
    except InputError:
        return None
    return float(values[0]) if math.isfinite(values[0]) else None
