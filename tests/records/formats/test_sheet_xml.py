"""Workbooks in one XML file: sheets, gaps, merged cells, dates, and places that cannot be."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from proposals import TIMES, WIDTHS, draft_of, records_of

from linestudy.records.formats.sheet_xml import SheetXml
from linestudy.records.written.web_page import is_sheet_xml
from linestudy.results import InputError
from linestudy.study.model import Data

BARE = Data(role="run", file="x.xls", columns={"w": "w"})


def _cell(value: object, kind: str = "Number", **more: object) -> str:
    said = "".join(f' ss:{name}="{each}"' for name, each in more.items())
    return f'<Cell{said}><Data ss:Type="{kind}">{value}</Data></Cell>'


def _book(*sheets: tuple[str, str]) -> bytes:
    space = "urn:schemas-microsoft-com:office:spreadsheet"
    inner = "".join(
        f'<Worksheet ss:Name="{name}"><Table>{rows}</Table></Worksheet>' for name, rows in sheets
    )
    return f'<?xml version="1.0"?>\n<Workbook xmlns="{space}" xmlns:ss="{space}">{inner}</Workbook>'.encode()


@pytest.mark.parametrize("name", ["run.xls", "run.xml"])
def test_readings_come_back(tmp_path: Path, name: str) -> None:
    rows = f"<Row>{_cell('Press 4', 'String', MergeAcross=3)}</Row>"
    names = [_cell(each, "String") for each in ("Hub", "Zeit", "Breite [mm]")]
    rows += f'<Row ss:Index="4">{"".join(names)}</Row>'
    for i, (width, at) in enumerate(zip(WIDTHS, TIMES, strict=True)):
        moment = _cell(f"{at.isoformat()}.000", "DateTime")
        rows += f"<Row>{_cell(i + 1)}{moment}{_cell(width)}</Row>"
    cover = f"<Row>{_cell('Report', 'String')}</Row>"
    draft = draft_of(tmp_path, name, _book(("Cover", cover), ("Daten", rows)))
    (table,) = draft.tables
    assert table.said.key("sheet") == "Daten"
    found = records_of(tmp_path, draft).table("run", draft.items[0].id)
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS)
    assert found["time"].tolist() == TIMES


def test_gaps_merged_cells_and_hidden_rows() -> None:
    rows = f"<Row>{_cell('a', 'String', MergeDown=2)}{_cell(1.5, Index=4)}</Row>"
    rows += f'<Row ss:Index="3" ss:Hidden="1">{_cell(1, "Boolean")}</Row>'
    book = SheetXml(_book(("S", rows)), BARE)
    assert [list(row) for row in book.rows("S")] == [["a", None, None, 1.5], [], [True]]
    assert book.marks("S").merged == (((0, 0), (2, 0)),)
    assert book.marks("S").rows == frozenset([2])


@pytest.mark.parametrize("index", ["99999999999", "0", "x", "1"])
def test_a_place_that_cannot_be_is_refused(index: str) -> None:
    rows = f"<Row>{_cell(1)}{_cell(2, Index=index)}</Row>"
    with pytest.raises(InputError, match="has a cell at the place"):
        SheetXml(_book(("S", rows)), BARE)


def test_other_xml_is_none() -> None:
    assert not is_sheet_xml(b'<?xml version="1.0"?><Log/>')
    assert is_sheet_xml(_book(("S", "")).decode().encode("utf-16"))
