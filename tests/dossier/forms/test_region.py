"""Studies of one kind stand side by side on a sheet; their formulas move with them."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from openpyxl.formula.translate import Translator

from linestudy.dossier.forms.book import Book
from linestudy.dossier.forms.region import moved


@pytest.mark.parametrize(
    "formula",
    [
        "=STDEV(A2:A10)/SQRT(COUNT(B2:B10))",
        "=SUMPRODUCT((A2:A9=1)*(B2:B9-AVERAGE(C2))^2)",
        "=SUMXMY2(C2:C91,D2:D91)+LOG10(A1)",
        '=COUNTIF(H2:J2,"<"&D2)+COUNTIF(H2:J2,">2.75")',
        "=1.41*SQRT(MAX(0,DEVSQ(Z2:AB5)/9-1e-05))",
    ],
)
def test_cells_move_as_another_program_moves_them(formula: str) -> None:
    # openpyxl translates a formula as a spreadsheet does when it is copied.
    assert moved(formula, 1, 4) == Translator(formula, origin="A1").translate_formula("E2")


def test_fixed_cells_move_too_for_their_data_have_moved() -> None:
    assert (
        moved("=AVERAGEIFS($C$2:$C$9,$A$2:$A$9,A2)", 1, 1)
        == "=AVERAGEIFS($D$3:$D$10,$B$3:$B$10,B3)"
    )


def test_two_studies_of_a_kind_stand_side_by_side_and_in_the_index(tmp_path: Path) -> None:
    with Book(tmp_path / "w.xlsx", "x") as book:
        first = book.sheet("Results")
        for name in ("Width: a name that is longer than a sheet may be called", "Height"):
            region = book.columns(name, {"a": [1.0, 2.0]}, "Values", "values")
            book.checks(region, 0, 2, [("sum", "=SUM(A2:A3)", 3.0)])
        book.index(first, 0)
    found = openpyxl.load_workbook(tmp_path / "w.xlsx")
    assert found.sheetnames == ["Results", "Values"]
    sheet = found["Values"]
    titles = {cell.column_letter: cell.value for cell in sheet[1] if cell.value}
    assert list(titles) == ["A", "H"]
    assert sheet["D3"].value == "=SUM(A3:A4)"
    assert sheet["K3"].value == "=SUM(H3:H4)"
    assert sheet["M3"].value == "=K3-L3"
    links = [row[0].hyperlink.location for row in found["Results"].iter_rows(min_row=2, max_row=3)]
    assert links == ["'Values'!A1", "'Values'!H1"]
    assert [one.id for one in sheet.col_breaks.brk] == [7]
