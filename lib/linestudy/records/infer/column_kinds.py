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
    grouped = _grouped_beside_points({c.name: frame[c.name] for c in found if c.kind == "numbers"})
    pointed = _grouped_beside_commas({c.name: frame[c.name] for c in found if c.kind == "numbers"})
    found = [
        _kind(c.name, _without(frame[c.name], "," if c.name in grouped else "."), c.unit)
        if c.name in grouped | pointed
        else c
        for c in found
    ]
    return _with_units_beside(found)


def _grouped_beside_points(cells: dict[str, pd.Series]) -> frozenset[str]:
    """Find columns whose commas group digits (12,000) because others have decimal points."""
    commas = {name for name, column in cells.items() if _matching(column.head(500), _COMMA)}
    grouped = {name for name in commas if only_grouped(cells[name], ".")}
    points = any(_matching(column.head(500), _POINT) for column in cells.values())
    return frozenset(grouped) if points and grouped == commas else frozenset()


def _grouped_beside_commas(cells: dict[str, pd.Series]) -> frozenset[str]:
    """Find columns whose points group digits (998, 999, 1.000) because others have decimal commas and none has points."""
    commas = [name for name, column in cells.items() if _matching(column.head(500), _COMMA)]
    pointed = {
        name for name, column in cells.items() if name not in commas and only_grouped(column, ",")
    }
    others = {
        name
        for name, column in cells.items()
        if _matching(column.head(500), _POINT) and name not in pointed
    }
    return frozenset(pointed) if commas and not others else frozenset()


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
        comma = _matching(text.head(500), _COMMA) > 0
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


def numeric(text: pd.Series) -> NDArray[np.float64]:
    """Convert cells to numbers whatever the decimal mark, without units; NaN for other text."""
    import pandas as pd

    values = np.array(pd.to_numeric(text.astype(object), errors="coerce"), dtype=float)
    # Most cells are plain numbers or blank; the others have marks of their country, or are words.
    others = ~np.isfinite(values) & (text != "").to_numpy(dtype=bool)
    if others.any():
        values[others] = _with_marks(text[others])
    values[~(np.abs(values) <= 1e30)] = np.nan
    return values


def _with_marks(text: pd.Series) -> NDArray[np.float64]:
    """Convert numbers with decimal commas, grouped digits, units or parentheses; NaN for words."""
    import pandas as pd

    # As objects: Python's own engine knows every blank as one, that of Arrow only those of ASCII.
    plain = inches_as_decimals(text.astype(object))
    plain = plain.str.replace(r"\s*[A-Za-zµμ°%\"]{1,6}$", "", regex=True)
    plain = plain.str.replace(r"(?<=\d)['\s](?=\d{3})", "", regex=True)
    plain = plain.str.replace(r"^\(\s*([\d.,]+)\s*\)$", r"-\1", regex=True)
    # Points that group digits come before three of them: 03.09.2026 is no number.
    grouped = plain.where(plain.str.fullmatch(_GROUPED_BY_POINTS, na=False), "")
    swapped = grouped.str.replace(".", "", regex=False).str.replace(",", ".", regex=False)
    dotted = plain.str.replace(r",(?=\d{3}\b.*\.)", "", regex=True)
    several = plain.str.fullmatch(r"[-+]?\d{1,3}(?:,\d{3}){2,}", na=False)
    dotted = dotted.where(~several, plain.str.replace(",", "", regex=False))
    first, second = (
        np.array(pd.to_numeric(each.astype(object), errors="coerce"), dtype=float)
        for each in (dotted, swapped)
    )
    return np.where(np.isfinite(first), first, second)


_GROUPED_BY_POINTS = r"[-+]?(?:\d{1,3}(?:\.\d{3})+|\d*)(?:,\d*)?(?:[eE][-+]?\d{1,3})?"
_COMMA = re.compile(
    r"\s*[-+]?(?:\d+|\d{1,3}(?:[.' \u00a0\u202f]\d{3})+),\d+(?:[eE][-+]?\d{1,3})?\s*(?:[A-Za-zµμ]{1,4}|%)?"
)
_POINT = re.compile(r"\s*[-+]?\d+\.\d+\s*(?:[A-Za-zµμ]{1,4}|%)?")
_GROUPS = {
    ".": re.compile(r"\s*[-+]?\d{1,3}(?:\.\d{3})+,\d+\s*(?:[A-Za-zµμ]{1,4})?"),
    ",": re.compile(r"\s*[-+]?\d{1,3}(?:,\d{3})+\.\d+\s*(?:[A-Za-zµμ]{1,4})?"),
    "'": re.compile(r"\s*[-+]?\d{1,3}(?:'\d{3})+[.,]?\d*\s*(?:[A-Za-zµμ]{1,4})?"),
    " ": re.compile(r"\s*[-+]?\d{1,3}(?:[ \u00a0\u202f]\d{3})+[.,]?\d*\s*(?:[A-Za-zµμ]{1,4})?"),
}


def numbers_written(table: TextTable, columns: list[str]) -> list[tuple[str, str, str]]:
    """Tell how numbers are written: (key, value, evidence) for decimal and thousands marks."""
    cells = {name: table.cells[name].head(5000) for name in columns if name in table.cells}
    n = max((len(column) for column in cells.values()), default=0)
    grouping = _grouped_beside_points(cells)
    found: list[tuple[str, str, str]] = []

    def best(rule: re.Pattern[str]) -> tuple[int, str]:
        counts = [(_matching(column, rule), name) for name, column in cells.items()]
        return max(counts, key=lambda item: item[0], default=(0, ""))

    grouped = {mark: best(rule) for mark, rule in _GROUPS.items()}
    comma, point = (0, "") if grouping else best(_COMMA), best(_POINT)
    both = _mixed(cells)
    if both is not None:
        name, commas, points = both
        return [
            ("decimal", "both", f'{commas} of {n} cells in "{name}" have a comma, {points} a point')
        ]
    if comma[0] and comma[0] >= point[0] and not grouped[","][0]:
        found.append(("decimal", ",", f'{comma[0]} of {n} cells in "{comma[1]}" have a comma'))
    for mark, (count, name) in grouped.items():
        if count:
            found.append(("thousands", mark, f'{count} of {n} cells in "{name}" group digits so'))
            return found
    decimal = "," if found else "."
    whole = next((name for name, column in cells.items() if only_grouped(column, decimal)), None)
    if whole is not None and (comma[0] or point[0]):
        mark = "." if decimal == "," else ","
        found.append(
            ("thousands", mark, f'all cells in "{whole}" are whole numbers that group digits so')
        )
    return found


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
        replace(c, numbers=numeric(_without(table.cells[c.name].head(MOST_ROWS), mark)))
        if c.kind == "numbers" and only_grouped(table.cells[c.name].head(MOST_ROWS), decimal)
        else c
        for c in columns
    ]


def _without(cells: pd.Series, mark: str) -> pd.Series:
    text = plain_signs(cells.astype("string").fillna("").str.strip())
    return text.str.replace(mark, "", regex=False)


def _mixed(cells: dict[str, pd.Series]) -> tuple[str, int, int] | None:
    """Find the first column with decimal commas and points mixed, and count both."""
    import pandas as pd

    for name, column in cells.items():
        commas, points = _matching(column, _COMMA), _matching(column, _POINT)
        if min(commas, points) <= max(1, (commas + points) // 20):
            continue
        text = plain_signs(column.astype("string").fillna(""))
        # Numbers beyond all bounds count as words: where nothing else is left, there is no middle to compare.
        middles = [
            pd.Series(numeric(text[text.str.contains(mark, regex=False)])).median() for mark in ",."
        ]
        if 0.5 < abs(middles[0] / middles[1] if middles[1] else 0.0) < 2:
            return name, commas, points
    return None


def only_grouped(cells: pd.Series, decimal: str) -> bool:
    """Check whether all numbers are whole, their digits grouped by the mark that is not the decimal one.

    Parameters
    ----------
    cells : pandas.Series of str
    decimal : str
        Decimal mark of the file.

    Returns
    -------
    bool
    """
    mark = r"\." if decimal == "," else ","
    text = plain_signs(cells.astype("string").fillna("").str.strip())
    text = text[text != ""]
    grouped = text.str.fullmatch(rf"[-+]?\d{{1,3}}(?:{mark}\d{{3}})+")
    return (
        bool(len(text))
        and bool((grouped | text.str.fullmatch(r"\d{1,3}")).all())
        and bool(grouped.mean() > 0.5)
    )


def _matching(cells: pd.Series, pattern: re.Pattern[str]) -> int:
    text = plain_signs(cells.astype("string").fillna(""))
    return sum(pattern.fullmatch(cell) is not None for cell in text.tolist())


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
