"""How the numbers of a file are written: decimal marks, grouped digits, units and parentheses."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from linestudy.records.cells.fractions import inches_as_decimals
from linestudy.records.cells.signs import plain_signs

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records.text_table import TextTable


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
    # 1,234,567 and, as India groups them, 12,34,567.
    several = plain.str.fullmatch(
        r"[-+]?(?:\d{1,3}(?:,\d{3}){2,}|\d{1,2}(?:,\d{2})+,\d{3}(?:\.\d+)?)", na=False
    )
    dotted = dotted.where(~several, plain.str.replace(",", "", regex=False))
    first, second = (
        np.array(pd.to_numeric(each.astype(object), errors="coerce"), dtype=float)
        for each in (dotted, swapped)
    )
    return np.where(np.isfinite(first), first, second)


_GROUPED_BY_POINTS = r"[-+]?(?:\d{1,3}(?:\.\d{3})+|\d*)(?:,\d*)?(?:[eE][-+]?\d{1,3})?"


_COMMA = re.compile(
    r"\s*[-+]?(?:\d+|\d{1,3}(?:[.' \u00a0\u2009\u202f]\d{3})+),\d+(?:[eE][-+]?\d{1,3})?\s*(?:[A-Za-zµμ]{1,4}|%)?"
)


_POINT = re.compile(r"\s*[-+]?\d+\.\d+\s*(?:[A-Za-zµμ]{1,4}|%)?")


_GROUPS = {
    ".": re.compile(r"\s*[-+]?\d{1,3}(?:\.\d{3})+,\d+\s*(?:[A-Za-zµμ]{1,4})?"),
    ",": re.compile(
        r"\s*[-+]?(?:\d{1,3}(?:,\d{3})+\.\d+|\d{1,2}(?:,\d{2})+,\d{3}(?:\.\d+)?)\s*(?:[A-Za-zµμ]{1,4})?"
    ),
    "'": re.compile(r"\s*[-+]?\d{1,3}(?:'\d{3})+[.,]?\d*\s*(?:[A-Za-zµμ]{1,4})?"),
    " ": re.compile(
        r"\s*[-+]?\d{1,3}(?:[ \u00a0\u2009\u202f]\d{3})+[.,]?\d*\s*(?:[A-Za-zµμ]{1,4})?"
    ),
}


def numbers_written(table: TextTable, columns: list[str]) -> list[tuple[str, str, str]]:
    """Tell how numbers are written: (key, value, evidence) for decimal and thousands marks."""
    cells = {name: table.cells[name].head(5000) for name in columns if name in table.cells}
    n = max((len(column) for column in cells.values()), default=0)
    grouping = grouped_beside_points(cells)
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


def _mixed(cells: dict[str, pd.Series]) -> tuple[str, int, int] | None:
    """Find the first column with decimal commas and points mixed, and count both."""
    import pandas as pd

    for name, column in cells.items():
        commas, points = _matching(column, _COMMA), _matching(column, _POINT)
        if min(commas, points) <= max(1, (commas + points) // 20):
            continue
        text = plain_signs(column.astype("string").fillna("").str.strip())
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


def without_mark(cells: pd.Series, mark: str) -> pd.Series:
    text = plain_signs(cells.astype("string").fillna("").str.strip())
    return text.str.replace(mark, "", regex=False)


def grouped_beside_points(cells: dict[str, pd.Series]) -> frozenset[str]:
    """Find columns whose commas group digits (12,000) because others have decimal points."""
    commas = {name for name, column in cells.items() if _matching(column.head(500), _COMMA)}
    grouped = {name for name in commas if only_grouped(cells[name], ".")}
    points = any(_matching(column.head(500), _POINT) for column in cells.values())
    return frozenset(grouped) if points and grouped == commas else frozenset()


def grouped_beside_commas(cells: dict[str, pd.Series]) -> frozenset[str]:
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


def with_commas(cells: pd.Series) -> bool:
    """Check whether some of these cells are numbers with decimal commas."""
    return _matching(cells, _COMMA) > 0
