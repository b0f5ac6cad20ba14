"""Cells of a worksheet are filled and nothing else in it is touched; read back by openpyxl."""

from __future__ import annotations

import io
import re

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linestudy.dossier.forms.customer.cells import Worksheet, position, reference_of

HEAD = '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
TEXT = (
    HEAD + '<cols><col min="1" max="1" width="9"/></cols><sheetData>'
    '<row r="2" spans="2:3" ht="20"><c r="B2" s="4" t="s"><v>0</v></c><c r="D2"><f>B2*2</f><v>1</v></c></row>'
    '<row r="4"/><row r="7"><c r="A7"><v>7</v></c></row></sheetData>'
    '<mergeCells count="1"><mergeCell ref="F2:G3"/></mergeCells></worksheet>'
).encode()


def bare(text: bytes, *cells: str) -> bytes:
    """The sheet without these cells, without rows that hold none, and without how far rows reach."""
    for cell in cells:
        text = re.sub(rb'<c r="%s"[^>]*>.*?</c>' % cell.encode(), b"", text)
    text = re.sub(rb' spans="[^"]*"', b"", text)
    return re.sub(rb'<row r="\d+"(?:></row>|/>)', b"", text)


def test_old_and_new_cells_are_filled_in_their_order() -> None:
    values = {(2, 2): 1.5, (2, 3): "a & b <", (4, 1): 4.0, (5, 2): "=1+1", (9, 1): 9.0}
    filled = Worksheet(TEXT).filled(values)
    places = re.findall(rb'<c r="([A-Z]+\d+)"', filled)
    assert places == [b"B2", b"C2", b"D2", b"A4", b"B5", b"A7", b"A9"]
    assert b'<c r="B2" s="4"><v>1.5</v></c>' in filled
    assert b"a &amp; b &lt;" in filled
    assert b'<c r="B5" t="inlineStr"><is><t xml:space="preserve">=1+1</t>' in filled
    names = ("B2", "C2", "A4", "B5", "A9")
    assert bare(filled, *names) == bare(TEXT, *names)


def test_an_empty_sheet_and_one_of_another_prefix_are_filled() -> None:
    for text in (
        (HEAD + "<sheetData/></worksheet>").encode(),
        HEAD.replace("<", "<x:").replace("xmlns=", "xmlns:x=").encode()
        + b"<x:sheetData></x:sheetData></x:worksheet>",
    ):
        again = Worksheet(Worksheet(text).filled({(3, 3): 2.0, (3, 1): 1.0}))
        third = again.filled({(1, 1): 0.0})
        assert re.findall(rb'r="([A-Z]*\d+)"', third) == [b"1", b"A1", b"3", b"A3", b"C3"]


def test_formulas_merged_cells_and_ranges_are_told() -> None:
    sheet = Worksheet(TEXT)
    assert sheet.holds_formula(2, 4)
    assert not sheet.holds_formula(2, 2)
    assert sheet.style_of(2, 2) == 4
    assert sheet.style_of(50, 50) == 0
    assert sheet.anchor((2, 6), (3, 7)) == sheet.anchor((2, 6), (2, 6)) == (2, 6)
    with pytest.raises(ValueError, match="merged"):
        sheet.anchor((3, 7), (3, 7))
    with pytest.raises(ValueError, match="range"):
        sheet.anchor((1, 1), (1, 2))


@pytest.mark.parametrize(
    "text",
    [b"<worksheet/>", b"<worksheet><sheetData>", b'<!DOCTYPE a [<!ENTITY b "c">]><worksheet/>'],
)
def test_what_is_no_worksheet_is_refused(text: bytes) -> None:
    with pytest.raises(ValueError, match=r".+"):
        Worksheet(text)


@pytest.mark.parametrize("word", ["", "5C", "C0", "XFE1", "A1048577", "C5:D6", "ÄA1"])
def test_what_is_no_cell_is_refused(word: str) -> None:
    with pytest.raises(ValueError, match="is no cell"):
        position(word)


@given(st.integers(1, 1_048_576), st.integers(1, 16_384))
def test_a_cell_by_its_name_is_the_cell(row: int, column: int) -> None:
    assert position(reference_of(row, column)) == (row, column)


@settings(max_examples=15, deadline=None)
@given(
    st.dictionaries(
        st.tuples(st.integers(1, 12), st.integers(1, 8)),
        st.one_of(
            st.floats(-1e9, 1e9),
            st.text(st.characters(categories=["L", "N", "P", "S"]), min_size=1, max_size=12),
        ),
        min_size=1,
        max_size=12,
    ),
    st.sets(st.tuples(st.integers(1, 12), st.integers(1, 8)), max_size=10),
)
def test_another_reader_finds_every_value_where_it_belongs(
    values: dict[tuple[int, int], float | str], there: set[tuple[int, int]]
) -> None:
    # openpyxl writes the sheet and reads it back.
    import zipfile

    book = openpyxl.Workbook()
    for row, column in there:
        book.active.cell(row, column, 1234)
    first, second = io.BytesIO(), io.BytesIO()
    book.save(first)
    with zipfile.ZipFile(first) as old, zipfile.ZipFile(second, "w") as new:
        for name in old.namelist():
            content = old.read(name)
            if name.endswith("sheet1.xml"):
                content = Worksheet(content).filled(values)
            new.writestr(name, content)
    sheet = openpyxl.load_workbook(second).active
    found = {
        (c.row, c.column): c.value for row in sheet.iter_rows() for c in row if c.value is not None
    }
    assert found == {**dict.fromkeys(there, 1234), **values}
