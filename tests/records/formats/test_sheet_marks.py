"""What a sheet does not show: hidden rows, columns and sheets, and formulas without values."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path

import numpy as np
import openpyxl
import pytest
import xlsxwriter
from proposals import WIDTHS, draft_of, records_of, the_run, workbook

from linestudy.results import InputError

SHEET = [
    ["Nr", "Coil", "Width", "Gap"],
    *([i, "C1", float(w), 1 + i / 1000] for i, w in enumerate(WIDTHS)),
]


def _hide(book: openpyxl.Workbook) -> None:
    for row in (5, 9, 12):
        book.active.row_dimensions[row].hidden = True
    book.active.column_dimensions["C"].hidden = True


def test_hidden_rows_and_columns_count_and_are_told(tmp_path: Path) -> None:
    draft = draft_of(tmp_path, "r.xlsx", workbook(SHEET, _hide))
    remarks = draft.tables[0].said.remarks
    assert any(
        each.startswith("3 of 40 rows are hidden in the workbook; they count") for each in remarks
    )
    records = records_of(tmp_path, draft)
    found = records.table("run", "width")
    np.testing.assert_array_equal(found["value"], WIDTHS)
    told = {seen.what: seen for _, seen in records.screening.seen}
    assert told["hidden rows"].count == 3
    assert told["hidden rows"].line == 5
    assert '"Width"' in told["hidden column"].sentence
    assert any("3 of 40 rows" in note for note in records.ledger.accounts[0].notes)


def test_a_row_hidden_above_the_header_or_below_the_readings_is_none_of_them(
    tmp_path: Path,
) -> None:
    rows = [["Title"], [], *SHEET, ["Mean", "", 2.8, ""]]
    content = workbook(rows, lambda book: _hidden(book, 1, 44))
    records = records_of(tmp_path, draft_of(tmp_path, "r.xlsx", content))
    assert not [seen for _, seen in records.screening.seen if seen.what == "hidden rows"]


def _hidden(book: openpyxl.Workbook, *rows: int) -> None:
    for row in rows:
        book.active.row_dimensions[row].hidden = True


def test_a_hidden_sheet_is_told(tmp_path: Path) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book.create_sheet("Front").append(["nothing here"])
        book["Sheet"].sheet_state = "hidden"

    draft = draft_of(tmp_path, "r.xlsx", workbook(SHEET, change))
    records = records_of(tmp_path, draft)
    assert "hidden sheet" in [seen.what for _, seen in records.screening.seen]


def test_formulas_without_values_are_told_and_refused(tmp_path: Path) -> None:
    rows = [
        ["n", "raw", "Width"],
        *([i + 1, float(w), f"=B{i + 2}*1"] for i, w in enumerate(WIDTHS)),
    ]
    draft = draft_of(tmp_path, "f.xlsx", workbook(rows))
    said = draft.tables[0].said
    assert any('"Width" (40 formulas) without saved values' in each for each in said.open)
    with pytest.raises(InputError, match=r"without saved values.*open and save the workbook"):
        records_of(tmp_path, draft, columns={"raw": "Width"})
    # What is no formula reads as ever.
    np.testing.assert_array_equal(records_of(tmp_path, draft).table("run", "raw")["value"], WIDTHS)


def test_saved_formulas_are_read(tmp_path: Path) -> None:
    content = workbook([["n", "Width"], *([i + 1, f"={w}*1"] for i, w in enumerate(WIDTHS))])
    # As a spreadsheet saves it: the value beside the formula.
    parts = dict(unpacked(content))
    sheet = parts["xl/worksheets/sheet1.xml"].decode()
    for w in WIDTHS:
        sheet = re.sub(rf"<f>{w}\*1</f><v\s*/>", f"<f>{w}*1</f><v>{w}</v>", sheet, count=1)
    parts["xl/worksheets/sheet1.xml"] = sheet.encode()
    found = the_run(tmp_path, "r.xlsx", packed(parts))
    np.testing.assert_array_equal(found["value"], WIDTHS)


def unpacked(content: bytes) -> list[tuple[str, bytes]]:
    with zipfile.ZipFile(io.BytesIO(content)) as bundle:
        return [(name, bundle.read(name)) for name in bundle.namelist()]


def packed(parts: dict[str, bytes]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as bundle:
        for name, content in parts.items():
            bundle.writestr(name, content)
    return stream.getvalue()


def noughts(saved: bool = False, other: float = 0) -> bytes:
    """A workbook as a program writes it: formulas with a nought where their values belong."""
    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream)
    page = book.add_worksheet()
    page.write_row(0, 0, ["Nr", "Raw", "Width"])
    for i, width in enumerate(WIDTHS, start=1):
        page.write_row(i, 0, [i, float(width) - 2])
        page.write_formula(i, 2, f"=B{i + 1}+2", value=other if i == 5 else 0)
    book.close()
    if not saved:
        return stream.getvalue()
    found = io.BytesIO()
    with zipfile.ZipFile(stream) as old, zipfile.ZipFile(found, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name).replace(b' fullCalcOnLoad="1"', b""))
    return found.getvalue()


def test_formulas_that_a_program_left_at_nought_are_no_readings(tmp_path: Path) -> None:
    draft = draft_of(tmp_path, "r.xlsx", noughts())
    assert any("without saved values" in each for each in draft.tables[0].said.open)
    with pytest.raises(InputError, match=r'"Width" \(40 formulas\).* open and save the workbook'):
        records_of(tmp_path, draft)


@pytest.mark.parametrize("changes", [{"saved": True}, {"other": 2.8}])
def test_formulas_that_were_worked_out_may_be_nought(tmp_path: Path, changes: dict) -> None:
    draft = draft_of(tmp_path, "r.xlsx", noughts(**changes))
    assert len(records_of(tmp_path, draft).table("run", "width")) == 40


@pytest.mark.parametrize("kind", ["struck through", "coloured"])
def test_cells_that_a_person_marked_count_and_are_told(tmp_path: Path, kind: str) -> None:
    def mark(book: openpyxl.Workbook) -> None:
        for row in (5, 9, 12):
            cell = book.active.cell(row, 3)
            if kind == "coloured":
                cell.fill = openpyxl.styles.PatternFill("solid", fgColor="FFFF0000")
            else:
                cell.font = openpyxl.styles.Font(strike=True)
        for row in range(2, 42):
            # A column of one colour is a design.
            book.active.cell(row, 4).fill = openpyxl.styles.PatternFill("solid", fgColor="FFEEEEEE")

    records = records_of(tmp_path, draft_of(tmp_path, "r.xlsx", workbook(SHEET, mark)))
    np.testing.assert_array_equal(records.table("run", "width")["value"], WIDTHS)
    told = [seen.sentence for _, seen in records.screening.seen]
    assert any(
        f'3 cells of "Width" are {kind} in the workbook (rows 5, 9, 12)' in each for each in told
    )
    assert not any('"Gap"' in each for each in told)


def test_a_locked_workbook_says_what_to_do(tmp_path: Path) -> None:
    locked = bytes.fromhex("d0cf11e0a1b11ae1") + bytes(504) + "EncryptedPackage".encode("utf-16-le")
    with pytest.raises(InputError, match="without the password"):
        draft_of(tmp_path, "r.xlsx", locked + bytes(2000))
