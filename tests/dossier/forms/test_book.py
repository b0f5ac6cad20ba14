"""The tools of the workbook: text stays text, names are allowed and unlike, numbers in the format of their kind."""

from __future__ import annotations

import math
from pathlib import Path

import openpyxl
import pandas as pd
import pytest

from linestudy.dossier.forms.book import Book, cell, format_of


def written(folder: Path, fill: object) -> openpyxl.Workbook:
    file = folder / "book.xlsx"
    with Book(file, "Title") as book:
        fill(book)  # type: ignore[operator]
    return openpyxl.load_workbook(file)


@pytest.mark.parametrize("text", ["=1+1", "+1", "@SUM(A1)", "http://x.example", "007", "1e3"])
def test_text_is_text_whatever_it_begins_with(tmp_path: Path, text: str) -> None:
    def fill(book: Book) -> None:
        book.frame(book.sheet("S"), 0, pd.DataFrame({text: [text]}))

    sheet = written(tmp_path, fill)["S"]
    assert [(one.value, one.data_type) for (one,) in sheet.iter_rows()] == [(text, "s")] * 2
    assert sheet["A2"].hyperlink is None


def test_names_of_sheets_are_allowed_and_unlike(tmp_path: Path) -> None:
    given = ["Width [1]: a/b*?", "x" * 40, "X" * 40, "", "history", "'quoted'", "Width [1]: a/b*?"]

    def fill(book: Book) -> None:
        for name in given:
            book.sheet(name)

    names = written(tmp_path, fill).sheetnames
    assert len({name.lower() for name in names}) == len(given)
    assert all(0 < len(name) <= 31 and not set(name) & set("[]:*?/\\'") for name in names)
    assert "history" not in {name.lower() for name in names}


def test_each_formula_stands_beside_its_number_and_their_difference(tmp_path: Path) -> None:
    def fill(book: Book) -> None:
        region = book.columns("Values", {"a": [1.0, 2.0, 0.1 + 0.2]})
        end = book.checks(region, 0, 2, [("sum", "=SUM(A2:A4)", 3.3), ("none", "=1/0", math.inf)])
        assert end == 3

    rows = [[one.value for one in row] for row in written(tmp_path, fill)["Values"].iter_rows()]
    flat = [value for row in rows for value in row]
    # The region begins below the name of what it holds.
    at = next(k for k, row in enumerate(rows) if "recalculated" in row)
    left = rows[at].index("quantity")
    name, live, kit, difference = rows[at + 1][left : left + 4]
    assert (name, kit) == ("sum", 3.3)
    assert live.startswith("=SUM(A")
    row = at + 2
    assert difference == f"={cell(row - 1, left + 1)}-{cell(row - 1, left + 2)}"
    assert "not determined" in flat
    # A difference of two readings has no more digits than they had.
    assert 0.3 in flat
    assert 0.1 + 0.2 not in flat


def test_studies_of_one_kind_stand_side_by_side_and_the_index_leads_to_each(tmp_path: Path) -> None:
    def fill(book: Book) -> None:
        index = book.sheet("Index")
        book.columns("First", {"a": [1.0], "b": [2.0]}, "Masters", "bias")
        book.columns("Second", {"a": [3.0]}, "Masters", "bias")
        book.index(index, 0)

    book = written(tmp_path, fill)
    assert book.sheetnames == ["Index", "Masters"]
    titles = {one.value: one.column for one in book["Masters"][1] if one.value}
    assert titles["Second"] > titles["First"] + 1
    index = book["Index"]
    assert [index[f"A{row}"].value for row in (2, 3)] == ["First", "Second"]
    for row in (2, 3):
        place = index[f"A{row}"].hyperlink.location
        assert book["Masters"][place.rpartition("!")[2]].value == index[f"A{row}"].value


def test_the_same_content_is_the_same_bytes(tmp_path: Path) -> None:
    def made(name: str, value: float) -> bytes:
        with Book(tmp_path / name, "Title") as book:
            book.columns("Values", {"a": [value]})
        return (tmp_path / name).read_bytes()

    assert made("a.xlsx", 1.0) == made("b.xlsx", 1.0) != made("c.xlsx", 2.0)


@pytest.mark.parametrize(
    ("name", "value", "code"),
    [
        ("n", 31069.0, "#,##0"),
        ("%GRR (% tolerance)", 0.066, "0.0%"),
        ("Ann: miss rate (share)", 0.02, "0.0%"),
        ("Ppk by quantiles", 1.4523, "0.00"),
        ("ndc", 9.0, "0.00"),
        # Five digits of whatever size.
        ("mean", 6.1234, "0.000"),
        ("mean", 612.34, "0.0"),
        ("standard deviation", 0.0123, "0.00000"),
        ("standard deviation", 1e-12, "0.000000000"),
        ("mean", 61234.5, "0"),
        ("slope", math.inf, "0.0000"),
        ("difference", 0.0, "#,##0"),
    ],
)
def test_a_number_is_shown_by_its_kind_and_size(name: str, value: float, code: str) -> None:
    assert format_of(name, value) == code
