"""A sheet of a workbook as cells of text; what is damaged is refused in one line.

Values are taken as they were saved: formulas are never worked out. A cell merged over several rows holds for all of
them, except where readings stand: a reading is never taken twice. Sheets are read row by row as far as each row goes: one
stray cell in the last column of the last row costs nothing (a whole rectangle laid out would ask for tens of gigabytes).
"""

from __future__ import annotations

import datetime
import io
import warnings
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING, Any, TypeVar

from linestudy.records.cells.signs import without_unseen
from linestudy.records.conversions import NUMBER, as_written, cell_as_text
from linestudy.records.files import guarded_workbook
from linestudy.records.formats.open_document import OpenDocument
from linestudy.records.formats.sheet_marks import (
    Marks,
    Merged,
    SheetNotes,
    bounds,
    marks_of_xls,
    marks_of_xml,
    notes_of,
)
from linestudy.records.formats.sheet_xml import SheetXml
from linestudy.records.formats.stacked_tables import blocked_cells, levels_of, transposed_cells
from linestudy.records.headers import (
    block_of,
    columns_of_values,
    distinct_names,
    header_names,
    header_of_rows,
    named_columns,
    one_line,
)
from linestudy.records.written.web_page import is_sheet_xml
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

#: Kinds of workbook, by their ending; the last is the old one.
ENDINGS = frozenset([".xlsx", ".xlsm", ".ods", ".xls"])


@dataclass(frozen=True)
class SheetRows:
    """The cells of a sheet, or of a range of it.

    Attributes
    ----------
    name : str
    first : int
        Row of the sheet that is the first of `rows`.
    rows : list of list of str
    marks : Marks
        What the sheet holds beside the values, counted within `rows`.
    """

    name: str
    first: int
    rows: list[list[str]]
    marks: Marks = field(default_factory=Marks)


def sheet_cells(
    raw: bytes, data: Data, suffix: str = ".xlsx"
) -> tuple[pd.DataFrame, int, SheetNotes]:
    """Read a sheet, or a range of it, as cells below its header.

    Parameters
    ----------
    raw : bytes
        The file.
    data : linestudy.study.model.Data
        Its ``sheet`` and ``cells``; where no sheet is named the one that holds the columns study.toml
        names, else the first with anything in it.
    suffix : str
        Its kind.

    Returns
    -------
    cells : pandas.DataFrame of str
        Its index is the row of the sheet.
    header : int
        Row of the header in the sheet.
    notes : SheetNotes
        What a reader of values does not see.

    Raises
    ------
    InputError
        Not a sound workbook, no such sheet or range, no header, or a column that study.toml names holds formulas
        whose values were never saved.
    """
    import pandas as pd

    beside = _sheets_as_blocks(raw, data, suffix) if data.blocks is not None else []
    if beside:
        table, header = blocked_cells(beside, data)
        return table, header, SheetNotes()
    sheet = workbook_rows(raw, data, suffix)
    if data.transpose:
        turned = transposed_cells(list(enumerate(sheet.rows, start=sheet.first)), data)
        return *turned, SheetNotes(sheet=sheet.name if sheet.marks.hidden else "")
    first, rows, begin = sheet.first, sheet.rows, 0
    if data.blocks is not None:
        table, header = blocked_cells(list(enumerate(rows, start=first)), data)
        names = [str(name) for name in table]
        notes = notes_of(sheet, 0, range(header - first + 1, len(rows)), names)
        _refuse_unsaved(notes, data)
        return table, header, notes
    if data.block is not None:
        begin, end = block_of(rows, data)
        first, rows = first + begin, rows[begin:end]
    header, deep = header_of_rows(rows, first, data)
    head = [cell.strip() for cell in rows[header]]
    if not deep:
        head = [f"column {at + 1}" for at in range(max(map(len, rows)))]
    if deep > 1:
        head = header_names([head, *rows[header + 1 : header + deep]])
    width = max(i for i, cell in enumerate(head) if cell) + 1
    names = distinct_names(head[:width], data, first + header)
    merged = [((a - begin, b), (c - begin, d)) for (a, b), (c, d) in sheet.marks.merged]
    _fill_merged(rows, merged, header + deep, names, data)
    body = [(row + [""] * width)[:width] for row in rows[header + deep :]]
    below = first + header + deep
    table = pd.DataFrame(body, columns=names, dtype=str)
    table.index = pd.RangeIndex(below, below + len(table))
    notes = notes_of(sheet, begin, range(header + deep, len(rows)), names)
    _refuse_unsaved(notes, data)
    return table, first + header, notes


def _sheets_as_blocks(raw: bytes, data: Data, suffix: str) -> list[tuple[int, list[str]]]:
    """Collect the rows of all sheets with the named columns, each below its name; none for one sheet."""
    if data.sheet is not None:
        return []
    wanted = set(named_columns(data)) - set(levels_of(data))
    found = []
    for name in sheet_names(raw, data, suffix):
        sheet = workbook_rows(raw, data.model_copy(update={"sheet": name}), suffix)
        plain = data.model_copy(update={"levels": None})
        at, deep = header_of_rows(sheet.rows, sheet.first, plain)
        head = header_names(sheet.rows[at : at + max(deep, 1)])
        if wanted <= {*map(str.strip, head), *map(one_line, head)}:
            found.append((sheet, at))
    return rows_below_names(found) if len(found) > 1 else []


def rows_below_names(sheets: list[tuple[SheetRows, int]]) -> list[tuple[int, list[str]]]:
    """Put sheets below each other as blocks: the name of each, and its rows from its header on.

    Parameters
    ----------
    sheets : list of (SheetRows, int)
        With the position of the header among the rows.

    Returns
    -------
    list of (int, list of str)
        Row of the sheet, and its cells.
    """
    rows: list[tuple[int, list[str]]] = []
    for sheet, at in sheets:
        rows.append((sheet.first + at, [sheet.name]))
        body = [row for row in enumerate(sheet.rows[at:], start=sheet.first + at) if any(row[1])]
        rows += [*body, (sheet.first + len(sheet.rows), [])]
    return rows


def _refuse_unsaved(notes: SheetNotes, data: Data) -> None:
    """Refuse formulas without a saved value, so that no reading vanishes."""
    mine = {name: n for name, n in notes.unsaved.items() if name in set(named_columns(data))}
    if mine:
        what, _, todo = SheetNotes(unsaved=mine).note_on_formulas().partition("; ")
        raise InputError(data.file, f"cannot be read: {what}, as a program wrote them", todo)


def _fill_merged(
    rows: list[list[str]], merged: list[Merged], below: int, names: list[str], data: Data
) -> None:
    """Let a cell merged over several rows hold for all of them, where there is no reading in it."""
    readings = {*columns_of_values(data), data.order}
    for (top, left), (bottom, _) in merged:
        if not below <= top < len(rows) or left >= len(names) or names[left] in readings:
            continue
        if left >= len(rows[top]):
            continue  # Merged, with nothing in it.
        for row in rows[top + 1 : bottom + 1]:
            row.extend([""] * (left + 1 - len(row)))
            row[left] = row[left] or rows[top][left]


def whole_sheets(raw: bytes, data: Data, suffix: str = ".xlsx") -> list[SheetRows]:
    """Give all cells of each sheet of a workbook that has anything in it.

    Raises
    ------
    InputError
        Not a sound workbook.
    """
    book = _opened(raw, data, suffix)
    plain = data.model_copy(update={"sheet": None, "cells": None})
    sheets = [_rows(book, name, plain) for name in book.names]
    return [sheet for sheet in sheets if any(any(row) for row in sheet.rows)]


def sheet_names(raw: bytes, data: Data, suffix: str = ".xlsx") -> list[str]:
    """List the sheets of a workbook that have anything in them.

    Raises
    ------
    InputError
        Not a sound workbook.
    """
    return [sheet.name for sheet in whole_sheets(raw, data, suffix)]


def workbook_rows(raw: bytes, data: Data, suffix: str = ".xlsx") -> SheetRows:
    """Give the cells of a sheet or range as text.

    Raises
    ------
    InputError
        Not a sound workbook, no such sheet, no such range.
    """
    book = _opened(raw, data, suffix)
    names = book.names
    if data.sheet is not None and data.sheet not in names:
        raise InputError(
            data.file, f'has no sheet "{data.sheet}"', f"its sheets are {', '.join(names[:8])}"
        )
    if data.sheet is not None:
        return _rows(book, data.sheet, data)
    sheets = [_rows(book, name, data) for name in names]
    filled = [sheet for sheet in sheets if any(any(row) for row in sheet.rows)]
    if not filled:
        raise InputError(data.file, "is empty", "put the data into it")
    return _that_holds(filled, data)


def _that_holds(sheets: list[SheetRows], data: Data) -> SheetRows:
    """Choose the sheet with the columns that study.toml names; else the first."""
    wanted = set(named_columns(data))
    if len(sheets) == 1 or not wanted:
        return sheets[0]
    found = [sheet for sheet in sheets if _holds(sheet, wanted, data)]
    names = ", ".join(f'"{sheet.name}"' for sheet in (found or sheets)[:8])
    if len(found) > 1 and data.cells is None:
        raise InputError(
            data.file, f"has these columns in several sheets: {names}", "name one with sheet = …"
        )
    if not found:
        there = {cell.strip() for sheet in sheets for row in sheet.rows for cell in row}
        missing = next((name for name in named_columns(data) if name not in there), None)
        what = (
            f'has no column "{missing}" in any sheet'
            if missing
            else "has no sheet with all the columns that study.toml names"
        )
        raise InputError(data.file, what, f"its sheets are {names}")
    return found[0]


def _holds(sheet: SheetRows, wanted: set[str], data: Data) -> bool:
    header, deep = header_of_rows(sheet.rows, sheet.first, data)
    names = sheet.rows[header]
    return deep == 2 or wanted <= {*map(str.strip, names), *map(one_line, names)}


class _New:
    """An xlsx workbook, read by openpyxl row by row."""

    def __init__(self, raw: bytes, data: Data) -> None:
        import openpyxl

        self._stream = guarded_workbook(raw, data)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            self._book = openpyxl.load_workbook(self._stream, read_only=True, data_only=True)
        self.names: list[str] = list(self._book.sheetnames)

    def rows(self, name: str) -> Iterator[Sequence[Any]]:
        """Yield the rows of a sheet, each as long as its cells go."""
        sheet = self._book[name]
        if not hasattr(sheet, "reset_dimensions"):
            # A sheet of pictures alone.
            return
        # What a file says of its own size may be wrong, and need not be believed.
        sheet.reset_dimensions()
        yield from sheet.iter_rows(values_only=True)

    def marks(self, name: str) -> Marks:
        """Read the marks of a sheet from its XML."""
        return marks_of_xml(self._stream, name)


class _Old:
    """An xls workbook, read by xlrd."""

    def __init__(self, raw: bytes, data: Data) -> None:
        import xlrd

        log = io.StringIO()
        self._book = xlrd.open_workbook(
            file_contents=raw, formatting_info=True, ragged_rows=True, logfile=log
        )
        self.names: list[str] = list(self._book.sheet_names())

    def rows(self, name: str) -> Iterator[Sequence[Any]]:
        """Yield the rows of a sheet, each as long as its cells go."""
        import xlrd

        sheet = self._book.sheet_by_name(name)
        for at in range(sheet.nrows):
            yield [
                self._value(cell, xlrd) if cell.ctype not in (0, 5, 6) else None
                for cell in sheet.row(at)
            ]

    def _value(self, cell: Any, xlrd: Any) -> Any:
        if cell.ctype == xlrd.XL_CELL_DATE:
            return xlrd.xldate.xldate_as_datetime(cell.value, self._book.datemode)
        return bool(cell.value) if cell.ctype == xlrd.XL_CELL_BOOLEAN else cell.value

    def marks(self, name: str) -> Marks:
        """Read the marks of a sheet."""
        return marks_of_xls(self._book, name)


_Book = _New | _Old | OpenDocument | SheetXml
#: How the old kind of file begins, and names of its parts where a password locks it.
_OLE, _LOCKED = bytes.fromhex("d0cf11e0a1b11ae1"), ("EncryptedPackage", "EncryptionInfo")


def _opened(raw: bytes, data: Data, suffix: str) -> _Book:
    if raw[:8] == _OLE and any(mark.encode("utf-16-le") in raw for mark in _LOCKED):
        raise InputError(
            data.file,
            "is protected with a password",
            "open it in a spreadsheet program, save a copy without the password, and give that file",
        )
    old = SheetXml if is_sheet_xml(raw) else _Old
    kinds: dict[str, type[_Old | OpenDocument | SheetXml]] = {".xls": old, ".ods": OpenDocument}
    return _guarded(lambda: kinds.get(suffix, _New)(raw, data), data)


T = TypeVar("T")


def _guarded(work: Callable[[], T], data: Data) -> T:
    """Turn whatever a damaged workbook makes its reader raise into one InputError."""
    try:
        return work()
    except (InputError, MemoryError):
        raise
    except Exception as error:
        what = f"cannot be read as a workbook ({type(error).__name__})"
        raise InputError(data.file, what, "check sheet and cells, or save it again") from None


def _rows(book: _Book, name: str, data: Data) -> SheetRows:
    top, left, bottom, right = bounds(data)
    rows: list[list[str]] = []
    cells = 0

    def read() -> None:
        nonlocal cells
        for at, row in enumerate(book.rows(name)):
            if at > bottom:
                break
            if at < top:
                continue
            text = [_cell_text(value, data) for value in row[left : right + 1]]
            while text and not text[-1]:
                text.pop()
            cells += len(text) + 1
            if cells > _MOST_CELLS:
                raise InputError(
                    data.file,
                    f'has more than {_MOST_CELLS:,} cells in its sheet "{name}"',
                    "name the range that holds the data: cells = …",
                )
            rows.append(text)

    _guarded(read, data)
    while rows and not rows[-1]:
        rows.pop()
    marks = _guarded(lambda: book.marks(name), data)
    marks = _within(marks, (top, left, bottom, right), len(rows))
    for at, place in marks.percent:
        if place < len(rows[at]):
            rows[at][place] = _in_percent(rows[at][place], data)
    return SheetRows(name, top + 1, rows, marks)


def _within(marks: Marks, bounds: tuple[int, int, int, int], rows: int) -> Marks:
    """Shift marks to count from the first cell of a range; drop those beyond its rows."""
    top, left, bottom, right = bounds
    merged = tuple(
        ((a - top, b - left), (c - top, d - left))
        for (a, b), (c, d) in marks.merged
        if top <= a < c and left <= b <= d <= right and c - top < rows
    )
    unsaved = tuple(
        (row - top, at - left)
        for row, at in marks.unsaved
        if top <= row <= bottom and left <= at <= right
    )
    hidden = frozenset(row - top for row in marks.rows if top <= row < top + rows)
    columns = frozenset(at - left for at in marks.columns if left <= at <= right)
    odd = (
        tuple((row - top, at - left) for row, at in cells if 0 <= row - top < rows and left <= at)
        for cells in (marks.struck, marks.coloured, marks.percent)
    )
    return Marks(merged, hidden, columns, unsaved, marks.hidden, *odd)


def _in_percent(text: str, data: Data) -> str:
    """Write a number as its cell shows it, and as a text exported from the sheet would have it: 0.12 as 12 %."""
    plain = text.replace(",", ".") if data.decimal == "," else text
    if not NUMBER.fullmatch(plain):
        return text
    shown = Decimal(plain).scaleb(2).normalize()
    return f"{as_written(format(shown, 'f'), data)} %" if abs(shown.adjusted()) < 30 else text


#: More cells than any hand filled.
_MOST_CELLS = 50_000_000


def _cell_text(value: Any, data: Data) -> str:
    if isinstance(value, datetime.datetime | datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return cell_as_text(without_unseen(value) if isinstance(value, str) else value, data)
