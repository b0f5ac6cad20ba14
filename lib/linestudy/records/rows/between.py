"""Rows between readings that are none: names of the columns once more, remarks, page breaks."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from linestudy.records.across.specs import spec_of
from linestudy.records.cells.limit_words import said_of_limits
from linestudy.records.files import line_of
from linestudy.records.formats.stacked_tables import PAGE, is_number
from linestudy.records.headers import one_line
from linestudy.records.rows.totals import is_total
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from linestudy.study.model import Data

#: Rows below the header that tell what a column holds.
_LOOKED_AT = 30


def rows_of_names(table: pd.DataFrame, data: Data) -> NDArray[np.bool_]:
    """Find rows that say the columns' names again: an export appended to another, a header in a second language.

    Parameters
    ----------
    table : pandas.DataFrame of str
    data : linestudy.study.model.Data
        Its ``missing`` are marks of no reading and no names.

    Returns
    -------
    numpy.ndarray of bool, one for each row

    Raises
    ------
    InputError
        A row names the columns otherwise: a program wrote one column more, or fewer, from there on.
    """
    found = np.zeros(len(table), dtype=bool)
    if table.shape[1] < 2 or not len(table):
        return found
    first = table.columns[0]
    for at in np.flatnonzero((table[first].str.strip() == str(first)).to_numpy(dtype=bool)):
        cells = [(one_line(str(cell)), str(name)) for name, cell in table.iloc[at].items()]
        filled = [(cell, name) for cell, name in cells if cell]
        found[at] = len(filled) > 1 and all(name.startswith(cell) for cell, name in filled)
        if (
            at
            and len(filled) > 1
            and not found[at]
            and not any(is_number(cell) for cell, _ in filled)
        ):
            raise InputError(
                f"{data.file} line {line_of(data, int(table.index[int(at)]))}",
                "names the columns once more and not as the header does, so rows below it would be read under wrong names",
                "give the rows from there on as a file of their own",
            )
    if not found[0]:
        found[0] = _translated(table, data)
    return found


def heads_above(table: pd.DataFrame, again: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Find the rows above names that come again: the head of a further report, as "Program; K2" and "Start; 22:00".

    Parameters
    ----------
    table : pandas.DataFrame of str
    again : numpy.ndarray of bool
        Rows of names, from :func:`rows_of_names`.

    Returns
    -------
    numpy.ndarray of bool, one for each row
        Rows up to a blank one, or to one of readings, whose first cell is a word and whose other columns are empty for the
        most part.
    """
    found = np.zeros(len(table), dtype=bool)
    for at in np.flatnonzero(again):
        above = int(at) - 1
        while above >= 0 and int(at) - above <= _DEEPEST and not again[above]:
            cells = [cell for cell in table.iloc[above].str.strip().tolist() if cell]
            if not cells:
                above -= 1
                continue
            first = str(table.iloc[above, 0]).strip()
            if len(cells) > max(2, table.shape[1] // 2) or not first or is_number(first):
                break
            # A first column of words names parts, and so may this cell.
            if not is_number(str(table.iloc[int(at) + 1 : int(at) + 2, 0].str.strip().str.cat())):
                break
            found[above] = True
            above -= 1
    return found


def rows_of_limits(table: pd.DataFrame) -> dict[int, str]:
    """Find rows below the header that hold nominals and limits, one for each column, and none of a part.

    Parameters
    ----------
    table : pandas.DataFrame of str

    Returns
    -------
    dict of int to str
        Position of the row → what it says: nominal, lower limit, unit.
    """
    if table.shape[1] < 2 or len(table) < 3:
        return {}
    found: dict[int, str] = {}
    heads = [str(cell).strip() for cell in table.iloc[: _DEEPEST + 1, 0]]
    for at, head in enumerate(heads[:_DEEPEST]):
        said = said_of_limits(head)
        if not said or is_number(head):
            break
        others = [cell for cell in table.iloc[at, 1:].str.strip().tolist() if cell]
        if said == "specification":
            if not any(spec is not None and spec.limited for spec in map(spec_of, others)):
                break
        elif said != "unit" and not any(map(is_number, others)):
            break
        found[at] = said
    limits = [said for said in found.values() if said != "unit"]
    # Somebody called Max, or a coil called Target, occurs in other rows too, and below no other limit.
    again = table.iloc[len(found) :, 0].str.strip().isin(heads[: len(found)]).any()
    one = len(set(limits)) < 2 and "specification" not in limits
    return {} if one or again or len(found) == len(table) else found


#: Most rows below a header that tell of its columns.
_DEEPEST = 8


def _translated(table: pd.DataFrame, data: Data) -> bool:
    """Check whether the first row names the columns in other words: text above columns of numbers."""
    below = table.iloc[1 : 1 + _LOOKED_AT]
    marks = {mark.strip() for mark in data.missing}
    numbers = 0
    for name in table.columns:
        cells = [cell for cell in below[name].str.strip().tolist() if cell]
        if len(cells) < 5 or sum(map(is_number, cells)) < 0.8 * len(cells):
            continue
        own = str(table[name].iloc[0]).strip()
        if own in marks or is_number(own) or len(re.findall(r"[^\W\d_]", own)) < 2 or own in cells:
            return False
        numbers += 1
    return numbers > 1


def _rules(table: pd.DataFrame) -> NDArray[np.bool_]:
    """Find rows that hold nothing but rules, ---- and ====, in two cells and more."""
    found = np.zeros(len(table), dtype=bool)
    for at in range(min(len(table), _DEEPEST)):
        cells = [cell for cell in table.iloc[at].str.strip().tolist() if cell]
        found[at] = len(cells) > 1 and all(re.fullmatch(r":?[-=_]{3,}:?", cell) for cell in cells)
    return found


def rows_of_remarks(table: pd.DataFrame) -> NDArray[np.bool_]:
    """Find rows that hold a remark, a page number or a line of a footer in their first cell and nothing else.

    Parameters
    ----------
    table : pandas.DataFrame of str

    Returns
    -------
    numpy.ndarray of bool, one for each row
        A first cell that could be the row's number or name, with nothing beside it, is none.
    """
    nothing = np.zeros(len(table), dtype=bool)
    if table.shape[1] < 2 or not len(table):
        return nothing
    first = table.iloc[:, 0].str.strip()
    comment = _rules(table)
    if not str(table.columns[0]).startswith("#"):
        comment = comment | first.str.startswith("#").to_numpy(dtype=bool)
    alone = (first != "").to_numpy(dtype=bool) & ~comment
    for name in table.columns[1:]:
        if not alone.any():
            return comment
        # Only where all cells before were blank, for a day's file is long.
        left = np.flatnonzero(alone)
        alone[left] = (table[name].iloc[left].str.strip() == "").to_numpy(dtype=bool)
    sample = [cell for cell in first[~alone & ~comment].head(1000).tolist() if cell]
    numbered = bool(sample) and sum(map(is_number, sample)) >= 0.8 * len(sample)
    for at in np.flatnonzero(alone):
        cell = first.iloc[at].strip("\x0c ")
        # "Mean" alone may be above its numbers.
        counted = numbered and not is_number(cell) and not is_total(cell)
        alone[at] = bool(PAGE.match(cell)) or counted
    return comment | alone
