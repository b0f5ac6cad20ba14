"""One study's part of a worksheet that holds many of its kind side by side.

Whoever writes a study's columns and formulas need not know where they are placed: cells are named as if the
study had a sheet of its own, and moved to their place here.
"""

from __future__ import annotations

import re
from typing import Any

#: Rows above the head of every region: one for its title.
TITLE_ROWS = 1
#: A cell within a formula; no part of a function's name, of a number or of a word.
_CELL = re.compile(r"(?<![A-Za-z0-9_$.\"])(\$?)([A-Z]{1,3})(\$?)([1-9]\d*)(?![\d(A-Za-z_.])")


def moved(formula: str, rows: int, columns: int) -> str:
    """Shift every cell that a formula names down and to the right.

    Parameters
    ----------
    formula : str
    rows, columns : int

    Returns
    -------
    str

    Examples
    --------
    >>> moved('=SUMXMY2(A2:A$9,Z2)+LOG10(1e-05)+COUNTIF($B$2,"<2.75")', 1, 2)
    '=SUMXMY2(C3:C$10,AB3)+LOG10(1e-05)+COUNTIF($D$3,"<2.75")'
    """
    from xlsxwriter.utility import xl_cell_to_rowcol, xl_col_to_name

    def there(found: re.Match[str]) -> str:
        fixed_column, letters, fixed_row, number = found.groups()
        column = xl_cell_to_rowcol(f"{letters}1")[1] + columns
        return f"{fixed_column}{xl_col_to_name(column)}{fixed_row}{int(number) + rows}"

    return _CELL.sub(there, formula)


class Region:
    """Cells of a worksheet from a column on, written to as if they began at A1.

    Parameters
    ----------
    sheet : xlsxwriter.worksheet.Worksheet
    left : int
        Its first column on the sheet, counted from nought.
    """

    def __init__(self, sheet: Any, left: int) -> None:
        self.sheet = sheet
        self.left = left
        #: How far it reaches: columns of its own, and rows of what is printed.
        self.columns, self.printed = 0, 0

    def write_string(self, row: int, column: int, text: str, shown: Any = None) -> None:
        """Write a text."""
        self.sheet.write_string(*self._place(row, column), text, shown)

    def write_number(self, row: int, column: int, number: float, shown: Any = None) -> None:
        """Write a number."""
        self.sheet.write_number(*self._place(row, column), number, shown)

    def write_formula(
        self, row: int, column: int, formula: str, shown: Any = None, value: Any = 0
    ) -> None:
        """Write a formula, whose cells are those of the region, with the value it has."""
        there = moved(formula, TITLE_ROWS, self.left)
        self.sheet.write_formula(*self._place(row, column), there, shown, value)

    def set_column(self, first: int, last: int, width: float) -> None:
        """Set the width of columns."""
        self.sheet.set_column(first + self.left, last + self.left, width)

    def print_down_to(self, row: int) -> None:
        """Say how far down the results reach; the data below stay on the screen."""
        self.printed = max(self.printed, row + TITLE_ROWS)

    def _place(self, row: int, column: int) -> tuple[int, int]:
        self.columns = max(self.columns, column + 1)
        return row + TITLE_ROWS, column + self.left
