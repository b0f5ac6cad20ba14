"""What the columns of a file are called, and which row says so.

The header row is the first row that holds every column name study.toml asks for, so a preamble of
machine settings above it does no harm. Where no row does, two rows may together: "Appraiser A" over three
columns and 1, 2, 3 below it are the columns "Appraiser A 1", "Appraiser A 2", "Appraiser A 3". It misleads
where a preamble repeats all these names: then state ``header_row``.
"""

from __future__ import annotations

import csv
import itertools
import re
from typing import TYPE_CHECKING, Any

from linestudy.results import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from linestudy.study.model import Data

DELIMITERS = (",", ";", "\t", "|")
#: How many lines down a header is looked for.
PREAMBLE = 60
#: A camera measures tens of things; thousands of columns come of a wrong delimiter.
_MOST_COLUMNS = 5_000


def columns_of_values(data: Data) -> list[str]:
    """List the columns of the file that hold values, however deep their names nest in study.toml."""
    return [name for source in data.columns.values() for name in names_within(source)]


def names_within(source: Any) -> list[str]:
    """List the names of columns in a source, which may be one, or lists and tables of them."""
    if isinstance(source, str):
        return [source]
    inner = source.values() if isinstance(source, dict) else source
    return [name for each in inner for name in names_within(each)]


#: Keys of a [[data]] table that name a column of its file, or several that make one tag.
_TAGS = (
    "order", "time", "coil", "station", "stop", "verdict", "image", "reason", "part", "appraiser", "trial", "factor",
    "reference", "reference_uncertainty", "size", "measured", "period", "accepted", "rejected", "purged",
)  # fmt: skip
#: All keys that name columns.
NAMING_KEYS = (*_TAGS, "long", "levels", "judgement", "columns", "fill_down")


def named_columns(data: Data) -> list[str]:
    """List every column of the file that a [[data]] table names."""
    names = [name for key in _TAGS for name in _each(getattr(data, key))]
    names += [*data.long.characteristics, data.long.value, data.long.unit] if data.long else []
    names += [level for level in data.levels or () if level not in (data.across or ())]
    names += names_within(data.judgement or [])
    names += columns_of_values(data)
    names += [*data.only, *data.fill_down]
    return list(dict.fromkeys(name for name in names if isinstance(name, str)))


def _each(names: Any) -> tuple[Any, ...]:
    """Return a column's name as a tuple, or the several names that together make one tag."""
    return names if isinstance(names, tuple) else (names,)


def split_line(line: str, delimiter: str) -> list[str]:
    """Split one line of a text into its cells, whatever quotes it has."""
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter), [])]
    except csv.Error:
        return [cell.strip() for cell in line.split(delimiter)]


def one_line(name: str) -> str:
    """Give a name on one line; what a person broke over lines in a cell is one name.

    Parameters
    ----------
    name : str

    Returns
    -------
    str

    Examples
    --------
    >>> one_line("Width\\n[µm]")
    'Width [µm]'
    """
    return " ".join(name.split()) if "\n" in name or "\r" in name else name.strip()


def place_of(name: str) -> int:
    """Return which column a name says by its place, as "column 3"; 0 where it says none.

    Parameters
    ----------
    name : str

    Returns
    -------
    int

    Examples
    --------
    >>> place_of("column 3"), place_of("Column width")
    (3, 0)
    """
    found = re.fullmatch(r"column (\d{1,4})", name)
    return int(found[1]) if found else 0


def _holds(cells: list[str], wanted: set[str]) -> bool:
    """Check whether a row has all names wanted, also with line breaks joined and repeats numbered."""
    left = wanted - {cell.strip() for cell in cells}
    # A column may be named by its place, where its name stands there twice.
    left = {name for name in left if not 1 <= place_of(name) <= len(cells)}
    if not left and any(cell.strip() for cell in cells):
        return True
    longest = max(map(len, left))
    labels: set[str] = set()
    for cell in cells:
        label = one_line(cell)
        while label in labels and len(label) <= longest:
            label = f"{label} again"
        labels.add(label)
    return left <= labels


#: Most lines that a quoted cell may run over; a quote that is never closed would take all there are.
_LONGEST_CELL = 12


def rows_of_lines(lines: list[str], delimiter: str) -> list[tuple[int, list[str]]]:
    """Split lines of a text into rows of cells; a quoted cell may run over several lines.

    Parameters
    ----------
    lines : list of str
    delimiter : str

    Returns
    -------
    list of (int, list of str)
        Position of the line in which the row begins, and its cells.

    Examples
    --------
    >>> rows_of_lines(['No;"Width', '[mm]"', "1;2,8"], ";")
    [(0, ['No', 'Width\\n[mm]']), (2, ['1', '2,8'])]
    """
    found, at = [], 0
    while at < len(lines):
        cells, taken = split_line(lines[at], delimiter), 1
        if lines[at].count('"') % 2:
            whole = _over_lines(lines[at : at + _LONGEST_CELL], delimiter)
            cells, taken = whole or (cells, 1)
        found.append((at, cells))
        at += taken
    return found


def _over_lines(lines: list[str], delimiter: str) -> tuple[list[str], int] | None:
    """Split the row that begins in the first line, and count its lines; None if a quote stays open."""
    reader = csv.reader((f"{line}\n" for line in lines), delimiter=delimiter, strict=True)
    try:
        return [cell.strip() for cell in next(reader, [])], reader.line_num
    except csv.Error:
        return None


def stacked(upper: list[str], lower: list[str]) -> list[str]:
    """Join two rows of a header; what is over several columns holds for all of them.

    Parameters
    ----------
    upper, lower : list of str
        Cells of the two rows.

    Returns
    -------
    list of str
        As many names as the longer has cells.

    Examples
    --------
    >>> stacked(["", "A", "", "B"], ["Part", "1", "2", "1"])
    ['Part', 'A 1', 'A 2', 'B 1']
    """
    names, over = [], ""
    for above, below in itertools.zip_longest(upper, lower, fillvalue=""):
        over = above.strip() or over
        own = below.strip()
        if own and own == above.strip():
            # One cell over both rows.
            above = ""
            names.append(own)
            continue
        names.append(f"{over} {own}".strip() if own else above.strip())
    return names


def header_names(rows: list[list[str]]) -> list[str]:
    """Join the rows of a header, one to three of them, into names.

    Parameters
    ----------
    rows : list of list of str

    Returns
    -------
    list of str

    Examples
    --------
    >>> header_names([["", "Width", "", ""], ["", "A", "", "B"], ["Part", "1", "2", "1"]])
    ['Part', 'Width A 1', 'Width A 2', 'Width B 1']
    """
    names = rows[0]
    for row in rows[1:]:
        names = stacked(names, row)
    return names


#: Rows that a header may have where study.toml does not say how many.
_DEPTHS = (1, 2, 3)


def _candidates(
    by_mark: dict[str, list[tuple[int, list[str]]]], data: Data
) -> Iterator[tuple[str, int, list[tuple[int, list[str]]]]]:
    """Yield rows that may be the header, line by line, each split by every delimiter."""
    for line in range(PREAMBLE) if data.header_row is None else [data.header_row - 1]:
        for mark, rows in by_mark.items():
            at = next((i for i, (begin, _) in enumerate(rows) if begin == line), None)
            if at is not None:
                yield mark, at, rows


def header_of_lines(lines: list[str], data: Data) -> tuple[int, str, int]:
    """Find the header among the first lines of a text.

    Parameters
    ----------
    lines : list of str
        The first lines of the text.
    data : linestudy.study.model.Data
        The names it asks for, and ``header_row`` or ``delimiter`` where stated.

    Returns
    -------
    row : int
        From 0: the first line that holds every column name study.toml asks for; failing that the first
        line that is not blank.
    delimiter : str
        The one that splits it into these names; failing that the one the line holds most of.
    deep : int
        How many rows the header has, one to three.

    Raises
    ------
    InputError
        No line is a header.
    """
    wanted = set(named_columns(data))
    marks = (data.delimiter,) if data.delimiter else DELIMITERS
    by_mark = {mark: rows_of_lines(lines, mark) for mark in marks}
    if data.header_rows == 0:
        begin = (data.header_row or 1) - 1
        row = next((i for i, line in enumerate(lines) if i >= begin and line.strip()), 0)
        return row, data.delimiter or max(DELIMITERS, key=lines[row].count), 0
    for deep in _DEPTHS if wanted else ():
        if data.header_rows not in (None, deep):
            continue
        for mark, at, rows in _candidates(by_mark, data):
            head = [cells for _, cells in rows[at : at + deep]]
            if len(head) == deep and _holds(header_names(head), wanted):
                return rows[at][0], mark, deep
    if data.header_row is not None:
        row = data.header_row - 1
    else:
        row = next((i for i, line in enumerate(lines) if line.strip()), 0)
    if row >= len(lines) or not lines[row].strip():
        raise _no_header(data)
    return row, data.delimiter or max(DELIMITERS, key=lines[row].count), data.header_rows or 1


def header_of_rows(rows: list[list[str]], first: int, data: Data) -> tuple[int, int]:
    """Find the header among the rows of a sheet.

    Parameters
    ----------
    rows : list of list of str
        Cells of the sheet.
    first : int
        Number of the first of them in the sheet.
    data : linestudy.study.model.Data
        The names it asks for, and ``header_row`` where stated.

    Returns
    -------
    row : int
        Position in `rows`: the first that holds every name study.toml asks for; where it asks for
        none, the first of the fullest rows.
    deep : int
        How many rows the header has, one to three.

    Raises
    ------
    InputError
        No row is a header.
    """
    if data.header_rows == 0:
        return next((i for i, row in enumerate(rows) if any(map(str.strip, row))), 0), 0
    wanted = set(named_columns(data))
    stated = data.header_row
    candidates = range(min(len(rows), PREAMBLE)) if stated is None else [stated - first]
    if (
        wanted
        and data.header_rows != 1
        and not any(_holds(rows[i], wanted) for i in candidates if 0 <= i < len(rows))
    ):
        for deep in [data.header_rows] if data.header_rows else _DEPTHS[1:]:
            for i in candidates:
                if 0 <= i <= len(rows) - deep and _holds(header_names(rows[i : i + deep]), wanted):
                    return i, deep
    if stated is not None:
        header = stated - first
    else:
        head = rows[:PREAMBLE]
        hits = [i for i, row in enumerate(head) if wanted and _holds(row, wanted)]
        widths = [sum(1 for cell in row if cell.strip()) for row in head]
        least = max(widths, default=0) if not wanted else 1
        filled = [i for i, width in enumerate(widths) if width >= max(least, 1)]
        header = (hits or filled or [0])[0]
    if not 0 <= header < len(rows) or not any(cell.strip() for cell in rows[header]):
        raise _no_header(data)
    return header, min(data.header_rows or 1, len(rows) - header)


def block_of(rows: list[list[str]], data: Data) -> tuple[int, int]:
    """Find the block of a file that is under its title: several characteristics one below the other.

    Parameters
    ----------
    rows : list of list of str
        Cells of the file or sheet.
    data : linestudy.study.model.Data
        Its ``block`` is the title.

    Returns
    -------
    begin, end : int
        First row below the title, and the row after the last: that of the next blank row below at least
        two filled ones, or the end.

    Raises
    ------
    InputError
        No cell holds the title.
    """
    title = str(data.block).strip().casefold()
    filled = [[cell.strip() for cell in row if cell.strip()] for row in rows]
    at = next(
        (i for i, row in enumerate(filled) if title in (cell.casefold() for cell in row)), None
    )
    if at is None:
        alone = [row[0] for row in filled if len(row) == 1][:8]
        raise InputError(
            data.file,
            f'has no block "{data.block}"',
            f"cells alone in their row: {', '.join(alone)}"
            if alone
            else "name its title as it stands",
        )
    begin = at + 1
    while begin < len(rows) and not filled[begin]:
        begin += 1
    end = begin
    while end < len(rows) and (filled[end] or end - begin < 2):
        end += 1
    return begin, end


def _no_header(data: Data) -> InputError:
    return InputError(data.file, "has no header row", "name the columns in its first row")


def distinct_names(names: list[str], data: Data, line: int) -> list[str]:
    """Give nameless and repeated columns names of their own.

    Parameters
    ----------
    names : list of str
        As they are in the file.
    data : linestudy.study.model.Data
        The names it asks for.
    line : int
        Line of the file that contains them, counted from 1.

    Returns
    -------
    list of str
        As many names, all different.

    Raises
    ------
    InputError
        Too many columns, or one that study.toml names is there twice.
    """
    if len(names) > _MOST_COLUMNS:
        raise InputError(
            f"{data.file} line {line}",
            f"has {len(names):,} columns, more than the {_MOST_COLUMNS:,} that are read",
            "name its delimiter, or leave columns out",
        )
    wanted, seen, result = set(named_columns(data)), set(), []
    for number, name in enumerate(names, start=1):
        name = name if name in wanted else one_line(name)
        if f"column {number}" in wanted and f"column {number}" not in names:
            name = f"column {number}"
        # Who names the second one too knows that there are two.
        if name in seen and name in wanted and f"{name} again" not in wanted:
            raise InputError(
                f"{data.file} line {line}", f'has the column "{name}" twice', "rename one"
            )
        label = name or f"column {number}"
        while label in seen:
            label = f"{label} again"
        seen.add(label)
        result.append(label)
    return result
