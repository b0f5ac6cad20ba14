"""A sheet of a workbook as cells of text; what is damaged is refused in one line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linestudy.records.conversions import cell_as_text
from linestudy.records.files import guarded_workbook
from linestudy.records.headers import distinct_names, header_of_rows, stacked
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data


def sheet_cells(raw: bytes, data: Data) -> tuple[pd.DataFrame, int]:
    """Read a sheet, or a range of it, as cells below its header.

    Parameters
    ----------
    raw : bytes
        The file.
    data : linestudy.study.model.Data
        Its ``sheet`` and ``cells``; the first sheet with anything in it where absent.

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

    first, rows = workbook_rows(raw, data)
    header, deep = header_of_rows(rows, first, data)
    head = [cell.strip() for cell in rows[header]]
    if deep == 2:
        head = stacked(head, rows[header + 1])
    width = max(i for i, cell in enumerate(head) if cell) + 1
    names = distinct_names(head[:width], data, first + header)
    body = [(row + [""] * width)[:width] for row in rows[header + deep :]]
    below = first + header + deep
    table = pd.DataFrame(body, columns=names, dtype=str)
    table.index = pd.RangeIndex(below, below + len(table))
    return table, first + header


def workbook_rows(raw: bytes, data: Data) -> tuple[int, list[list[str]]]:
    """Give the number of the first row, and the cells of a sheet or range as text.

    Raises
    ------
    InputError
        Not a sound workbook, no such sheet, no such range.
    """
    import warnings

    import openpyxl

    stream = guarded_workbook(raw, data)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(stream, read_only=True, data_only=True)
            names = book.sheetnames
            if data.sheet is not None and data.sheet not in names:
                raise InputError(
                    data.file,
                    f'has no sheet "{data.sheet}"',
                    f"its sheets are {', '.join(names[:8])}",
                )
            sheet = book[data.sheet] if data.sheet else _first_filled(book)
            bounds: dict[str, int] = {}
            if data.cells:
                left, top, right, bottom = openpyxl.utils.range_boundaries(data.cells)
                found = {"min_col": left, "min_row": top, "max_col": right, "max_row": bottom}
                bounds = {key: value for key, value in found.items() if value is not None}
            rows = [
                [_cell_text(value, data) for value in row]
                for row in sheet.iter_rows(values_only=True, **bounds)
            ]
    except InputError:
        raise
    # openpyxl passes on whatever a damaged part of a workbook makes its readers say: there is no
    # closed list of it, and all mean the same to the reader.
    except Exception as e:
        what = f"cannot be read as a workbook ({type(e).__name__})"
        raise InputError(data.file, what, "check sheet and cells, or save it again") from None
    return bounds.get("min_row", 1), rows


def _cell_text(value: Any, data: Data) -> str:
    import datetime

    if isinstance(value, datetime.datetime):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return cell_as_text(value, data)


def _first_filled(book: Any) -> Any:
    """The first sheet with a cell in it: a cover sheet may be empty."""
    for sheet in book.worksheets:
        if any(value is not None for row in sheet.iter_rows(values_only=True) for value in row):
            return sheet
    return book.worksheets[0]
