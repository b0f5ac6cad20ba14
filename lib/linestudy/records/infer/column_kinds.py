"""What kind of thing each column of a table holds: numbers, times, judgements, few words, a counter."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linestudy.records.cells.fractions import inches_as_decimals
from linestudy.records.cells.signs import plain_signs
from linestudy.records.formats.clock import EPOCH, SERIAL, parts_of_a_second
from linestudy.records.formats.times_written import days_of, how_written
from linestudy.records.infer.number_marks import (
    grouped_beside_commas,
    grouped_beside_points,
    numeric,
    only_grouped,
    with_commas,
    without_mark,
)
from linestudy.records.infer.words import is_judgement, named_alone, says
from linestudy.records.units import INCHES, is_unit, unit_in_head

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records.text_table import TextTable

#: Most rows that are looked at.
MOST_ROWS = 20_000


@dataclass(frozen=True)
class ColumnKind:
    """What a column holds.

    Attributes
    ----------
    name : str
    kind : str
        ``numbers``, ``times``, ``judgements``, ``words``, ``units`` (of a column of numbers beside) or ``empty``.
    filled : int
        Cells that are not blank.
    distinct : int
        Different entries among them.
    numbers : numpy.ndarray of float
        NaN where a cell is none.
    rising : float
        Share of whole numbers that lie above the one before; 0 where they are not whole.
    layout : str
        How times are written.
    unit : str or None
        From the row of units or the name.
    entries : dict of str to int
        The entries and how often each occurs, where they are few.
    clock : str
        Of times: ``date`` or ``hour`` where they are only that, else ``both``.
    twofold : str
        Of times: a cell that nothing in the file tells the day and the month of.
    cells : tuple of str
        All of them, where the column holds words that recur.
    days : int
        Of times: how many days they are of, 0 where they say none.
    comma : bool
        Whether its numbers have decimal commas.
    """

    name: str
    kind: str
    filled: int
    distinct: int
    numbers: NDArray[np.float64]
    rising: float = 0.0
    layout: str = ""
    unit: str | None = None
    entries: dict[str, int] = field(default_factory=dict)
    clock: str = ""
    twofold: str = ""
    cells: tuple[str, ...] = ()
    days: int = 0
    comma: bool = False

    @property
    def middle(self) -> float:
        """Median of its numbers, NaN where there are none."""
        there = self.numbers[np.isfinite(self.numbers)]
        return float(np.median(there)) if there.size else float("nan")

    @property
    def whole(self) -> bool:
        """Whether all its numbers are whole ones."""
        there = self.numbers[np.isfinite(self.numbers)]
        return bool(there.size) and bool((there == np.floor(there)).all())

    @property
    def repeated(self) -> float:
        """How often an entry is there on average."""
        return self.filled / self.distinct if self.distinct else 0.0


def kinds(table: TextTable) -> list[ColumnKind]:
    """Tell what each column of a table holds.

    Parameters
    ----------
    table : TextTable

    Returns
    -------
    list of ColumnKind
        In the order of the file.
    """
    frame = table.cells.head(MOST_ROWS)
    found = [_kind(str(name), frame[name], table.units.get(str(name))) for name in frame]
    grouped = grouped_beside_points({c.name: frame[c.name] for c in found if c.kind == "numbers"})
    pointed = grouped_beside_commas({c.name: frame[c.name] for c in found if c.kind == "numbers"})
    found = [
        _kind(c.name, without_mark(frame[c.name], "," if c.name in grouped else "."), c.unit)
        if c.name in grouped | pointed
        else c
        for c in found
    ]
    return _with_units_beside(found)


def _with_units_beside(columns: list[ColumnKind]) -> list[ColumnKind]:
    """Give columns of numbers the unit that a column beside them holds in every cell."""
    found = list(columns)
    for at, column in enumerate(columns):
        if (
            column.kind != "words"
            or column.distinct != 1
            or not is_unit(next(iter(column.entries)))
        ):
            continue
        # m and h are units and may be the names of machines too; beside a column of numbers alone they are units.
        owner = _owner(columns, at)
        if owner is None:
            continue
        (unit,) = column.entries
        own = found[owner]
        found[owner] = replace(own, unit=own.unit or unit)
        found[at] = replace(column, kind="units")
    return found


def _owner(columns: list[ColumnKind], at: int) -> int | None:
    """Find the number column that a column of units belongs to: by name, else the one before it."""
    name = columns[at].name
    under = name.rpartition(".")[0]
    numbers = [i for i, c in enumerate(columns) if c.kind == "numbers" and not c.unit]
    if under:
        mine = [i for i in numbers if columns[i].name.startswith(f"{under}.")]
        return mine[0] if len(mine) == 1 else None
    said = re.sub(r"(?i)[\s_.\-]*(?:units?|uom|einheit|unité|单位|単位)$", "", name)
    if said != name and said:
        mine = [i for i in numbers if columns[i].name.casefold().startswith(said.casefold())]
        return mine[0] if len(mine) == 1 else None
    return (
        at - 1
        if at - 1 in numbers and (not said or len(next(iter(columns[at].entries))) > 1)
        else None
    )


def _kind(name: str, cells: pd.Series, unit: str | None) -> ColumnKind:
    inches = (unit or unit_in_head(name)) in INCHES
    text = inches_as_decimals(plain_signs(cells.astype("string").fillna("").str.strip()), inches)
    filled = text[text != ""]
    numbers = numeric(text)
    unit = unit or unit_in_head(name) or _unit_in_cells(filled)
    counts = Counter(filled.tolist())
    share = float(np.isfinite(numbers).sum()) / len(filled) if len(filled) else 0.0
    entries = dict(counts.most_common(60)) if len(counts) <= 60 else {}
    shared = (name, len(filled), len(counts))
    if not len(filled):
        return ColumnKind(name, "empty", 0, 0, numbers)
    # Appraisers called 0 and 1, or A and R, judge; their names are no judgements.
    tags = named_alone(name) & {"appraiser", "part", "trial", "station", "coil", "order"}
    judged = 0 < len(counts) <= 8 and not tags and is_judgement(set(counts))
    if share > 0.5 and not (
        judged and len(counts) == 2 and set(counts) == {"0", "1"} and len(filled) > 20
    ):
        there = numbers[np.isfinite(numbers)]
        whole = bool((there == np.floor(there)).all())
        clock = _serial(name, there, whole)
        if clock:
            return ColumnKind(name, "times", *shared[1:], numbers, 0.0, SERIAL, clock=clock)
        if says(name, "time") and share > 0.9 and parts_of_a_second(there):
            return ColumnKind(name, "times", *shared[1:], numbers, 0.0, EPOCH, clock="both")
        digits = _DIGITS.get(len(counts) and len(filled.iloc[0]))
        if whole and digits and says(name, "time") and how_written(filled)[0] == digits:
            clock = "both" if "%H" in digits else "date"
            return ColumnKind(name, "times", *shared[1:], numbers, 0.0, digits, clock=clock)
        rising = float((np.diff(there) > 0).mean()) if whole and there.size > 1 else 0.0
        comma = with_commas(text.head(500))
        return ColumnKind(
            shared[0], "numbers", *shared[1:], numbers, rising, "", unit, entries, comma=comma
        )
    layout, clock, twofold = how_written(filled)
    if layout:
        days = 0 if clock == "hour" else days_of(filled, layout)
        return ColumnKind(
            shared[0], "times", *shared[1:], numbers, 0.0, layout, clock=clock, twofold=twofold, days=days
        )  # fmt: skip
    kind = "judgements" if judged else "words"
    # Words are compared as they are written: a minus of typography judges as such.
    text = cells.astype("string").fillna("").str.strip()
    written = Counter(text[text != ""].tolist())
    shared = (name, len(filled), len(written))
    entries = dict(written.most_common(60)) if len(written) <= 60 else {}
    again = tuple(text.tolist()) if kind == "words" and entries else ()
    return ColumnKind(shared[0], kind, *shared[1:], numbers, 0.0, "", unit, entries, cells=again)


def units_in_cells(cells: pd.Series) -> list[str]:
    """List the units that follow the numbers of a column, "2.80 mm", where every number has one.

    Parameters
    ----------
    cells : pandas.Series of str

    Returns
    -------
    list of str
        Each once, in the order in which they come.
    """
    filled = cells.head(MOST_ROWS).str.strip()
    filled = filled[filled != ""]
    ends = filled.str.extract(r"^[-+]?[\d.,]*\d\s*([A-Za-zµμ°%\"]{1,6})$", expand=False)
    found = [] if ends.isna().any() else list(dict.fromkeys(ends.tolist()))
    return found if all(is_unit(str(each)) for each in found) else []


def _unit_in_cells(filled: pd.Series) -> str | None:
    found = units_in_cells(filled)
    return found[0] if len(found) == 1 else None


#: Dates and times that are written as one number, by how many digits they have.
_DIGITS = {8: "%Y%m%d", 14: "%Y%m%d%H%M%S"}


def _serial(name: str, numbers: NDArray[np.float64], whole: bool) -> str:
    """Recognise serial days of workbooks: dates from 2000 to 2099, times of day below one."""
    if not says(name, "time") or not numbers.size:
        return ""
    if numbers.min() >= 36_526 and numbers.max() < 73_050:
        return "date" if whole else "both"
    return "hour" if numbers.min() >= 0 and numbers.max() < 1 and not whole else ""


def with_groups(
    table: TextTable, columns: list[ColumnKind], written: list[tuple[str, str, str]]
) -> list[ColumnKind]:
    """Read columns of whole numbers again once it is known that points group their digits.

    Parameters
    ----------
    table : TextTable
    columns : list of ColumnKind
    written : list of (str, str, str)
        From :func:`numbers_written`.

    Returns
    -------
    list of ColumnKind
    """
    marks = {key: value for key, value, _ in written}
    mark, decimal = marks.get("thousands"), marks.get("decimal", ".")
    if mark not in (".", ","):
        return columns
    return [
        replace(c, numbers=numeric(without_mark(table.cells[c.name].head(MOST_ROWS), mark)))
        if c.kind == "numbers" and only_grouped(table.cells[c.name].head(MOST_ROWS), decimal)
        else c
        for c in columns
    ]


def units_named(
    table: TextTable, columns: list[ColumnKind], beside: list[str]
) -> list[tuple[str, Any, str]]:
    """Return the unit of the file, or of each column where they differ."""
    found = {c.name: c.unit for c in columns if c.unit}
    different = set(found.values())
    if not different:
        return []
    where = "the row of units below the header" if table.units else "the names of the columns"
    if beside:
        where = f"the columns beside, {', '.join(beside[:4])}"
    whole = len(found) == len(columns) or different <= _LENGTHS
    if len(different) == 1 and whole:
        unit = different.pop()
        return [("unit", unit, f"{where}: {unit}")]
    return [("units", found, where)]


#: A length that one head names is that of the heads without.
_LENGTHS = {"mm", "in", "inch", '"', "µm", "um", "cm"}
