"""The tools every sheet of the workbook is written with.

Text from files is written as text, whatever it begins with; each live formula is beside the
kit's number and their difference.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Mapping
from pathlib import Path
from types import TracebackType
from typing import Any

from linestudy.dossier.forms.live_formulas import Line
from linestudy.dossier.forms.pdf import printable
from linestudy.results.finding import cell_text

_OPTIONS = {
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    "nan_inf_to_errors": False,
}


class Book:
    """A workbook being written: its formats, the names already taken, its sheets.

    Parameters
    ----------
    out : pathlib.Path
    title : str
    """

    def __init__(self, out: Path, title: str) -> None:
        import xlsxwriter

        self._book: Any = xlsxwriter.Workbook(str(out), _OPTIONS)
        # A fixed date: the same content gives the same bytes.
        created = datetime.datetime(2000, 1, 1)
        self._book.set_properties({"title": printable(title, 200), "created": created})
        self.bold = self._book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
        self._wrap = self._book.add_format({"text_wrap": True, "valign": "top"})
        self._taken: set[str] = set()

    def __enter__(self) -> Book:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._book.close()

    def sheet(self, name: str) -> Any:
        """A sheet with a name that the format allows and nobody has."""
        kept = "".join(" " if c in "[]:*?/\\'" else c for c in printable(name)).strip() or "sheet"
        base = kept[:27]
        number, unique = 1, base
        while unique.lower() in self._taken or unique.lower() == "history":
            number += 1
            unique = f"{base} {number}"
        self._taken.add(unique.lower())
        return self._book.add_worksheet(unique)

    def frame(self, sheet: Any, top: int, frame: Any) -> None:
        """A finding's table as text, its heads in bold."""
        for column, name in enumerate(frame.columns):
            sheet.write_string(top, column, str(name), self.bold)
        for row, values in enumerate(frame.itertuples(index=False), start=top + 1):
            for column, value in enumerate(values):
                sheet.write_string(row, column, printable(cell_text(value)), self._wrap)

    def columns(self, name: str, columns: Mapping[str, Iterable[Any]]) -> Any:
        """A sheet with columns of numbers under their names, data from row 2 on."""
        sheet = self.sheet(name)
        sheet.set_column(0, len(columns) - 1, 16)
        for at, (title, values) in enumerate(columns.items()):
            sheet.write_string(0, at, printable(title), self.bold)
            for row, value in enumerate(values, start=1):
                _number(sheet, row, at, float(value))
        return sheet

    def formulas(
        self, sheet: Any, column: int, title: str, formula: str, values: Iterable[float]
    ) -> None:
        """A column of one formula in each row of the data; ``{0}`` in it is the row's number."""
        sheet.write_string(0, column, title, self.bold)
        sheet.set_column(column, column, 16)
        for row, value in enumerate(values, start=1):
            sheet.write_formula(row, column, f"={formula.format(row + 1)}", None, float(value))

    def checks(self, sheet: Any, top: int, left: int, lines: Iterable[Line]) -> int:
        """Lines of: name, live formula, the kit's number, difference; the row after the last."""
        for column, name in enumerate(
            ("quantity", "from these data", "the kit's number", "difference")
        ):
            sheet.write_string(top, left + column, name, self.bold)
        sheet.set_column(left, left, 30)
        sheet.set_column(left + 1, left + 3, 20)
        row = top + 1
        for name, formula, value in lines:
            sheet.write_string(row, left, printable(name))
            finite = math.isfinite(value)
            sheet.write_formula(row, left + 1, formula, None, value if finite else "")
            _number(sheet, row, left + 2, value)
            live, kit = cell(row, left + 1), cell(row, left + 2)
            sheet.write_formula(row, left + 3, f"={live}-{kit}", None, 0)
            row += 1
        return row


def _number(sheet: Any, row: int, column: int, value: float) -> None:
    """A number; one that is not finite, which a workbook does not know, as what it is."""
    if math.isfinite(value):
        sheet.write_number(row, column, value)
    else:
        sheet.write_string(row, column, "not determined")


def cell(row: int, column: int) -> str:
    """Name of a cell, both counted from nought.

    Examples
    --------
    >>> cell(1, 2)
    'C2'
    """
    from xlsxwriter.utility import xl_rowcol_to_cell

    return str(xl_rowcol_to_cell(row, column))
