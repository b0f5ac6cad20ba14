"""OpenDocument workbooks: one that another library wrote, and what a program may write that no library does.

``written_by_odfpy.ods`` was written once by odfpy 1.4.1: a title over three columns, two blank rows, a header, 40 rows with a
date, a reading and a coil merged over twenty rows, a remark in the cell of row 8, row 10 filtered out, the third column
hidden, a million blank rows below, and an empty sheet. python-calamine 0.9.1 reads the same values out of it.
"""

from __future__ import annotations

import datetime
import io
import zipfile
from pathlib import Path

import numpy as np
import pytest
from proposals import TIMES, WIDTHS, draft_of, records_of, the_run

from linestudy import open_study
from linestudy.intake import draft_study
from linestudy.records import read
from linestudy.records.formats.open_document import OpenDocument
from linestudy.results import InputError
from linestudy.study.model import Data

SPACES = " ".join(
    f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
    for name in ("office", "table", "text", "style")
)


def _book(sheets: str, styles: str = "") -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as bundle:
        bundle.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        bundle.writestr(
            "content.xml",
            f"<office:document-content {SPACES}><office:automatic-styles>{styles}</office:automatic-styles>"
            f"<office:body><office:spreadsheet>{sheets}</office:spreadsheet></office:body></office:document-content>",
        )
    return stream.getvalue()


def _text(words: str) -> str:
    return (
        f'<table:table-cell office:value-type="string"><text:p>{words}</text:p></table:table-cell>'
    )


def _number(value: float, more: str = "") -> str:
    return f'<table:table-cell office:value-type="float" office:value="{value}" {more}><text:p>x</text:p></table:table-cell>'


def _row(*cells: str, more: str = "") -> str:
    return f"<table:table-row {more}>{''.join(cells)}</table:table-row>"


def _sheet(*rows: str, name: str = "A", more: str = "") -> str:
    return f'<table:table table:name="{name}" {more}>{"".join(rows)}</table:table>'


def test_a_workbook_that_another_library_wrote(tmp_path: Path) -> None:
    content = (Path(__file__).parent / "written_by_odfpy.ods").read_bytes()
    draft = draft_of(tmp_path, "Mappe Höhe.ods", content)
    remarks = draft.tables[0].said.remarks
    assert any(each.startswith("1 of 40 rows is hidden") for each in remarks)
    assert any('the column "Höhe [mm]" is hidden' in each for each in remarks)
    assert [(item.name, item.unit) for item in draft.items] == [("Höhe", "mm")]
    found = records_of(tmp_path, draft).table("run", "hohe")
    np.testing.assert_array_equal(found["value"], WIDTHS)
    assert found["time"].tolist() == TIMES
    assert found["coil"].tolist() == ["C1"] * 20 + ["C2"] * 20


@pytest.mark.parametrize("name", ["run.ods", "run.xlsx", "run.csv"])
def test_it_is_known_by_its_bytes(tmp_path: Path, name: str) -> None:
    rows = [
        _row(_text("No"), _text("Width")),
        *(_row(_number(i + 1), _number(w)) for i, w in enumerate(WIDTHS)),
    ]
    np.testing.assert_array_equal(the_run(tmp_path, name, _book(_sheet(*rows)))["value"], WIDTHS)


def test_times_of_day_shares_and_words_with_blanks(tmp_path: Path) -> None:
    head = _row(_text("Shot<text:s/>no"), _text("Date"), _text("Time"), _text("Fill"))
    rows = [
        _row(
            _number(i + 1),
            f'<table:table-cell office:value-type="date" office:date-value="{t:%Y-%m-%d}"/>',
            f'<table:table-cell office:value-type="time" office:time-value="PT{t:%HH%MM%SS}"/>',
            f'<table:table-cell office:value-type="percentage" office:value="{w}"/>',
        )
        for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=True))
    ]
    draft = draft_of(tmp_path, "run.ods", _book(_sheet(head, *rows)))
    # A share is read as its cell shows it.
    assert draft.items[0].unit == "%"
    draft.write(tmp_path / "study")
    found = read(open_study(tmp_path / "study")).table("run", draft.items[0].id)
    assert found is not None
    assert found["time"].tolist() == TIMES
    np.testing.assert_allclose(found["value"], WIDTHS * 100, rtol=1e-12)


def test_cells_and_rows_that_stand_for_many() -> None:
    rows = [
        _row(_number(1), "<table:table-cell/>", _number(2.5, 'table:number-columns-repeated="2"')),
        _row("<table:table-cell/>", more='table:number-rows-repeated="2"'),
        _row(_text("a"), more='table:number-rows-repeated="2"'),
        _row(
            '<table:table-cell table:number-columns-repeated="16384"/>',
            more='table:number-rows-repeated="1048000"',
        ),
    ]
    data = Data(role="run", file="run.ods", columns={"x": "x"})
    book = OpenDocument(_book(_sheet(*rows)), data)
    assert list(book.rows("A")) == [[1.0, None, 2.5, 2.5], [], [], ["a"], ["a"]]


def test_a_hidden_sheet_and_a_formula_without_its_value(tmp_path: Path) -> None:
    style = '<style:style style:name="t1" style:family="table"><style:table-properties table:display="false"/></style:style>'
    formula = '<table:table-cell table:formula="of:=[.A2]*2"/>'
    rows = [_row(_text("No"), _text("Width"), _text("Twice"))]
    rows += [_row(_number(i + 1), _number(w), formula) for i, w in enumerate(WIDTHS)]
    draft = draft_of(tmp_path, "run.ods", _book(_sheet(*rows, more='table:style-name="t1"'), style))
    said = draft.tables[0].said
    assert any("is hidden in the workbook" in each for each in said.remarks)
    assert any('"Twice" (40 formulas) without saved values' in each for each in said.open)


@pytest.mark.parametrize(
    "cell",
    [
        _row(_number(1.5, 'table:number-columns-repeated="16384"'), more='table:number-rows-repeated="1048576"'),
        _row(_number(1.5, 'table:number-columns-repeated="999999999"')),
    ],
)  # fmt: skip
def test_a_few_signs_that_ask_for_all_memory_are_refused(tmp_path: Path, cell: str) -> None:
    path = tmp_path / "run.ods"
    path.write_bytes(_book(_sheet(cell)))
    with pytest.raises(InputError, match=r"more than 5,000,000 cells|beyond the last column"):
        draft_study([path])


@pytest.mark.parametrize(
    "content", ["", "<x/>", "<!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>", "<office"]
)
def test_what_is_no_sound_workbook_is_refused(tmp_path: Path, content: str) -> None:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as bundle:
        bundle.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        bundle.writestr("content.xml", content)
    path = tmp_path / "run.ods"
    path.write_bytes(stream.getvalue())
    with pytest.raises(InputError, match=r"run\.ods"):
        draft_study([path])


def test_a_day_as_a_cell_has_it_is_a_day(tmp_path: Path) -> None:
    cell = '<table:table-cell office:value-type="date" office:date-value="{}"/>'
    days = [datetime.date(2026, 9, 1) + datetime.timedelta(days=i) for i in range(40)]
    rows = [_row(_text("Date"), _text("Width"))]
    rows += [_row(cell.format(day), _number(w)) for day, w in zip(days, WIDTHS, strict=True)]
    found = the_run(tmp_path, "run.ods", _book(_sheet(*rows)))
    assert [each.date() for each in found["time"]] == days
