"""Workbooks of every kind: sheets by their columns, merged cells, ranges; what is damaged is refused."""

from __future__ import annotations

import datetime
import io
import time

import openpyxl
import pytest
import xlwt

from linestudy.records.formats.workbook import sheet_cells, sheet_names
from linestudy.results import InputError
from linestudy.study.model import Data

DATA = Data(role="crossed", file="f.xlsx", gauge="g", part="Part", columns={"w": "W"})
ROWS: list[list[object]] = [["Part", "Who", "W"], [1, "A", 2.8], [2, "A", 2.9], [3, "B", 3.0]]


def book(sheets: dict[str, list[list[object]]], merged: str = "") -> bytes:
    made = openpyxl.Workbook()
    made.remove(made.active)
    for title, rows in sheets.items():
        sheet = made.create_sheet(title)
        for row in rows:
            sheet.append(row)
        if merged and title == list(sheets)[-1]:
            sheet.merge_cells(merged)
    stream = io.BytesIO()
    made.save(stream)
    return stream.getvalue()


def test_the_sheet_with_the_columns_is_found() -> None:
    raw = book({"Cover": [["Report"], ["of", "today"]], "Empty": [], "Data": ROWS})
    table, header, _ = sheet_cells(raw, DATA)
    assert table["W"].tolist() == ["2.8", "2.9", "3"]
    assert (header, table.index.tolist()) == (1, [2, 3, 4])
    assert sheet_names(raw, DATA) == ["Cover", "Data"]


def test_what_no_sheet_or_several_hold() -> None:
    with pytest.raises(InputError, match='"V" in any sheet; its sheets are "Cover", "Data"'):
        sheet_cells(
            book({"Cover": [["Report"]], "Data": ROWS}),
            DATA.model_copy(update={"columns": {"w": "V"}}),
        )
    with pytest.raises(InputError, match='several sheets: "A", "B"; name one'):
        sheet_cells(book({"A": ROWS, "B": ROWS}), DATA)
    with pytest.raises(InputError, match="its sheets are A, B"):
        sheet_cells(book({"A": ROWS, "B": ROWS}), DATA.model_copy(update={"sheet": "C"}))
    with pytest.raises(InputError, match="is empty"):
        sheet_cells(book({"A": []}), DATA)
    with pytest.raises(InputError, match="no range of cells"):
        sheet_cells(book({"A": ROWS}), DATA.model_copy(update={"cells": "A"}))


def test_a_merged_name_holds_for_its_rows_and_a_merged_reading_for_one() -> None:
    table, _, _ = sheet_cells(book({"Data": ROWS}, merged="B2:B4"), DATA)
    assert table["Who"].tolist() == ["A", "A", "A"]
    table, _, _ = sheet_cells(book({"Data": ROWS}, merged="C2:C4"), DATA)
    assert table["W"].tolist() == ["2.8", "", ""]


def test_a_workbook_of_the_old_kind() -> None:
    made = xlwt.Workbook()
    sheet = made.add_sheet("Daten")
    for i, row in enumerate(ROWS):
        for j, value in enumerate(row):
            sheet.write(i, j, value)
    date = xlwt.easyxf(num_format_str="YYYY-MM-DD HH:MM:SS")
    sheet.write(0, 3, "Zeit")
    sheet.write(1, 3, datetime.datetime(2026, 3, 2, 6, 0), date)
    stream = io.BytesIO()
    made.save(stream)
    table, _, _ = sheet_cells(stream.getvalue(), DATA.model_copy(update={"file": "f.xls"}), ".xls")
    assert table["W"].tolist() == ["2.8", "2.9", "3"]
    assert table["Zeit"].tolist()[0] == "2026-03-02T06:00:00"


@pytest.mark.parametrize("kind", [".xlsx", ".xls"])
def test_damage_is_one_line(kind: str) -> None:
    sound = book({"Data": ROWS})
    for cut in (0, 10, 500, len(sound) // 2, len(sound) - 5):
        with pytest.raises(InputError) as caught:
            sheet_cells(sound[:cut] + b"\xff", DATA, kind)
        assert "\n" not in str(caught.value)


def test_a_stray_cell_far_away_costs_nothing() -> None:
    made = openpyxl.Workbook()
    for row in ROWS:
        made.active.append(row)
    made.active["XFD60000"] = "stray"
    stream = io.BytesIO()
    made.save(stream)
    begin = time.process_time()
    table, _, _ = sheet_cells(stream.getvalue(), DATA.model_copy(update={"cells": "A1:C4"}))
    assert table["W"].tolist() == ["2.8", "2.9", "3"]
    assert sheet_names(stream.getvalue(), DATA) == ["Sheet"]
    assert time.process_time() - begin < 10
