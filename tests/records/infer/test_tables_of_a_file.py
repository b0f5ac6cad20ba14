"""Where the tables of a file are: header of one row or two, blocks, sheets."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from linestudy.records.infer.notices.heads import header_row
from linestudy.records.infer.tables_of_a_file import table_places
from linestudy.results import InputError
from linestudy.study.model import Data


def bare(name: str) -> Data:
    return Data(role="run", file=name, columns={"x": "x"}).model_copy(update={"columns": {}})


def places(folder: Path, name: str, text: str):
    (folder / name).write_text(text, encoding="utf-8")
    return table_places(folder / name, bare(name))


@pytest.mark.parametrize(
    ("rows", "at"),
    [
        ([["a", "b"], ["1", "2"]], 0),
        ([["Machine 4", ""], ["", ""], ["a", "b"], ["1", "2"]], 2),
        ([["Machine", "A", ""], ["Date", "today", ""], ["a", "b", "c"], ["1", "2", "3"]], 2),
        (
            [
                ["", "Anna", "", "Bert", ""],
                ["P", "1", "2", "1", "2"],
                ["1", "2.8", "2.9", "2.7", "2.8"],
            ],
            0,
        ),
    ],
)
def test_the_row_that_names_the_columns(rows: list[list[str]], at: int) -> None:
    assert header_row(rows) == at


def test_two_rows_are_told_from_one(tmp_path: Path) -> None:
    two = ";Anna;;Bert;\nTeil;1;2;1;2\n1;2,8;2,9;2,7;2,8\n2;2,8;2,9;2,7;2,8\n"
    (place,) = places(tmp_path, "f.csv", two)
    assert place.data.header_rows == 2
    one = "Part;A1;A2\n1;OK;OK\n2;OK;NOK\n3;OK;OK\n"
    (place,) = places(tmp_path, "f.csv", one)
    assert place.data.header_rows is None


def test_blocks_below_each_other(tmp_path: Path) -> None:
    text = "Height\nPart,A1,A2\n1,2.8,2.9\n2,2.7,2.8\n\nBurr\nPart,A1,A2\n1,0.1,0.2\n2,0.2,0.1\n"
    found = places(tmp_path, "f.csv", text)
    assert [place.title for place in found] == ["Height", "Burr"]
    assert [place.data.block for place in found] == ["Height", "Burr"]
    assert [place.title for place in places(tmp_path, "f.csv", text.split("\n\n")[0])] == [""]


def test_a_cover_sheet_is_no_table(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active["A1"] = "Report"
    book.active["A2"], book.active["B2"] = "By", "M. Muster"
    sheet = book.create_sheet("Data")
    for row in (["Part", "W"], [1, 2.8], [2, 2.9]):
        sheet.append(row)
    book.create_sheet("Empty")
    book.save(tmp_path / "f.xlsx")
    found = table_places(tmp_path / "f.xlsx", bare("f.xlsx"))
    assert [place.title for place in found] == ["Data"]
    assert found[0].keys[0][:2] == ("sheet", "Data")


def test_what_is_no_workbook(tmp_path: Path) -> None:
    (tmp_path / "f.xls").write_bytes(b"\x00\x01 no workbook at all")
    with pytest.raises(InputError, match="cannot be read as a workbook"):
        table_places(tmp_path / "f.xls", bare("f.xls"))
