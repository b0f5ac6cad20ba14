"""A sheet of a workbook as cells of text; what is damaged is refused in one line.

Read by calamine, which knows xlsx, xlsm, xlsb, ods and the old xls, and takes values as they were saved: formulas
are never worked out. A cell merged over several rows holds for all of them, except where readings stand:
a reading is never taken twice.
"""

from __future__ import annotations

import datetime
import io
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from linestudy.records.conversions import cell_as_text
from linestudy.records.files import guarded_workbook
from linestudy.records.headers import (
    block_of,
    columns_of_values,
    distinct_names,
    header_of_rows,
    named_columns,
    stacked,
)
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

#: Kinds of workbook, by their ending.
ENDINGS = frozenset([".xlsx", ".xlsm", ".xlsb", ".xls", ".ods"])
#: Of these the bytes are a zip, which is looked into before it is unpacked.
_ZIPPED = frozenset([".xlsx", ".xlsm", ".xlsb", ".ods"])
_MERGED = tuple[tuple[int, int], tuple[int, int]]
_RANGE = re.compile(r"\$?([A-Z]{1,3})\$?(\d{1,7}):\$?([A-Z]{1,3})\$?(\d{1,7})", re.IGNORECASE)


@dataclass(frozen=True)
class SheetRows:
    """The cells of a sheet, or of a range of it.

    Attributes
    ----------
    name : str
    first : int
        Row of the sheet in which the first of `rows` stands.
    rows : list of list of str
    merged : tuple
        Merged ranges as (row, column) of their corners, counted within `rows`.
    """

    name: str
    first: int
    rows: list[list[str]]
    merged: tuple[_MERGED, ...] = ()


def sheet_cells(raw: bytes, data: Data, suffix: str = ".xlsx") -> tuple[pd.DataFrame, int]:
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

    Raises
    ------
    InputError
        Not a sound workbook, no such sheet or range, no header.
    """
    import pandas as pd

    sheet = workbook_rows(raw, data, suffix)
    first, rows, begin = sheet.first, sheet.rows, 0
    if data.block is not None:
        begin, end = block_of(rows, data)
        first, rows = first + begin, rows[begin:end]
    header, deep = header_of_rows(rows, first, data)
    head = [cell.strip() for cell in rows[header]]
    if deep == 2:
        head = stacked(head, rows[header + 1])
    width = max(i for i, cell in enumerate(head) if cell) + 1
    names = distinct_names(head[:width], data, first + header)
    merged = [((a - begin, b), (c - begin, d)) for (a, b), (c, d) in sheet.merged]
    _fill_merged(rows, merged, header + deep, names, data)
    body = [(row + [""] * width)[:width] for row in rows[header + deep :]]
    below = first + header + deep
    table = pd.DataFrame(body, columns=names, dtype=str)
    table.index = pd.RangeIndex(below, below + len(table))
    return table, first + header


def _fill_merged(
    rows: list[list[str]], merged: list[_MERGED], below: int, names: list[str], data: Data
) -> None:
    """Let a cell merged over several rows hold for all of them, where there is no reading in it."""
    readings = {*columns_of_values(data), data.order}
    for (top, left), (bottom, _) in merged:
        if top < below or left >= len(names) or names[left] in readings:
            continue
        for row in rows[top + 1 : bottom + 1]:
            row.extend([""] * (left + 1 - len(row)))
            row[left] = row[left] or rows[top][left]


def sheet_names(raw: bytes, data: Data, suffix: str = ".xlsx") -> list[str]:
    """List the sheets of a workbook that have anything in them.

    Raises
    ------
    InputError
        Not a sound workbook.
    """
    book = _opened(raw, data, suffix)
    return [name for name in book.sheet_names if _filled(_sheet(book, name, data))]


def workbook_rows(raw: bytes, data: Data, suffix: str = ".xlsx") -> SheetRows:
    """Give the cells of a sheet or range as text.

    Raises
    ------
    InputError
        Not a sound workbook, no such sheet, no such range.
    """
    book = _opened(raw, data, suffix)
    names = book.sheet_names
    if data.sheet is not None and data.sheet not in names:
        raise InputError(
            data.file, f'has no sheet "{data.sheet}"', f"its sheets are {', '.join(names[:8])}"
        )
    if data.sheet is not None:
        return _rows(_sheet(book, data.sheet, data), data)
    filled = [s for s in (_sheet(book, name, data) for name in names) if _filled(s)]
    if not filled:
        raise InputError(data.file, "is empty", "put the data into it")
    return _that_holds([_rows(sheet, data) for sheet in filled], data)


def _that_holds(sheets: list[SheetRows], data: Data) -> SheetRows:
    """The sheet with the columns that study.toml names; else the first."""
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
    return deep == 2 or wanted <= {cell.strip() for cell in sheet.rows[header]}


def _opened(raw: bytes, data: Data, suffix: str) -> Any:
    import python_calamine

    stream = guarded_workbook(raw, data) if suffix in _ZIPPED else io.BytesIO(raw)
    return _guarded(lambda: python_calamine.CalamineWorkbook.from_filelike(stream), data)


def _sheet(book: Any, name: str, data: Data) -> Any:
    return _guarded(lambda: book.get_sheet_by_name(name), data)


def _guarded(work: Any, data: Data) -> Any:
    """What a reader of another language says of a damaged workbook has no closed list; all means the same."""
    try:
        return work()
    except (KeyboardInterrupt, SystemExit, MemoryError):
        raise
    except BaseException as error:
        what = f"cannot be read as a workbook ({type(error).__name__})"
        raise InputError(data.file, what, "check sheet and cells, or save it again") from None


def _filled(sheet: Any) -> bool:
    return sheet.start is not None


def _rows(sheet: Any, data: Data) -> SheetRows:
    top, left, bottom, right = _bounds(data, sheet)
    size = max(0, bottom + 1) * max(0, right + 1)
    if size > _MOST_CELLS:
        raise InputError(
            data.file,
            f'says that its sheet "{sheet.name}" has {size:,} cells',
            "name the range that holds the data: cells = …",
        )
    cells = _guarded(lambda: sheet.to_python(skip_empty_area=False), data)
    rows = [
        [_cell_text(value, data) for value in row[left : right + 1]]
        for row in cells[top : bottom + 1]
    ]
    merged = _guarded(lambda: sheet.merged_cell_ranges, data) or ()
    kept = tuple(
        ((a - top, b - left), (c - top, d - left))
        for (a, b), (c, d) in merged
        if top <= a <= c <= bottom and left <= b <= d <= right and c > a
    )
    return SheetRows(str(sheet.name), top + 1, rows, kept)


#: A sheet may claim more cells than any hand filled; they would be made before they are looked at.
_MOST_CELLS = 50_000_000


def _bounds(data: Data, sheet: Any) -> tuple[int, int, int, int]:
    """Rows and columns to read, counted from nought: top, left, bottom, right."""
    bottom, right = sheet.end if sheet.end is not None else (0, 0)
    if data.cells is None:
        return 0, 0, int(bottom), int(right)
    found = _RANGE.fullmatch(data.cells.strip())
    if found is None:
        raise InputError(
            data.file, f'"{data.cells[:40]}" is no range of cells', 'write cells = "B3:H400"'
        )
    rows = sorted((int(found[2]), int(found[4])))
    columns = sorted((_number(found[1]), _number(found[3])))
    return (
        rows[0] - 1,
        columns[0] - 1,
        min(rows[1] - 1, int(bottom)),
        min(columns[1] - 1, int(right)),
    )


def _number(letters: str) -> int:
    number = 0
    for letter in letters.upper():
        number = 26 * number + ord(letter) - ord("A") + 1
    return number


def _cell_text(value: Any, data: Data) -> str:
    if isinstance(value, datetime.datetime | datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return cell_as_text(value, data)
