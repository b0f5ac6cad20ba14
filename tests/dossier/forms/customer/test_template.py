"""A customer's form: where its names point, and what is refused."""

from __future__ import annotations

import zipfile
from pathlib import Path

import openpyxl
import pytest
from openpyxl.workbook.defined_name import DefinedName

from linestudy import start_study
from linestudy.dossier.forms.customer.template import Template, _computed_when_opened
from linestudy.results import InputError
from linestudy.study import open_study
from linestudy.study.load import Study


def a_form(folder: Path, names: dict[str, str], **cells: object) -> Path:
    """A form with defined names and contents, in a study folder."""
    book = openpyxl.Workbook()
    book.active.title = "First"
    for place, value in cells.items():
        book.active[place] = value
    for name, place in names.items():
        book.defined_names[name] = DefinedName(name, attr_text=place)
    book.save(folder / "customer.xlsx")
    return folder / "customer.xlsx"


def a_study(folder: Path, form: str = 'file = "customer.xlsx"') -> Study:
    start_study(folder)
    toml = folder / "study.toml"
    toml.write_text(f"{toml.read_text(encoding='utf-8')}\n[form]\n{form}\n", encoding="utf-8")
    return open_study(folder)


def changed(file: Path, part: str, content: bytes) -> None:
    """Add a part to a workbook, or replace one."""
    with zipfile.ZipFile(file) as book:
        parts = {name: book.read(name) for name in book.namelist()} | {part: content}
    with zipfile.ZipFile(file, "w") as book:
        for name, data in parts.items():
            book.writestr(name, data)


def test_names_and_cells_point_to_what_is_filled(tmp_path: Path) -> None:
    study = a_study(tmp_path / "s", 'file = "customer.xlsx"\ncells = { "B2" = "study.revision" }')
    a_form(tmp_path / "s", {"WIDTH.ppk": "First!$C$5", "other": "First!$A$1", "x.y": "#REF!"})
    found = {(t.sheet, t.cell): t.name for t in Template(study).targets}
    assert found == {("First", (5, 3)): "width.Ppk", ("First", (2, 2)): "study.revision"}


@pytest.mark.parametrize(
    ("names", "sentence"),
    [
        ({"width.mena": "First!$C$5"}, 'did you mean "width.mean"'),
        ({"width.Ppk": "First!$C$5:$D$6"}, "is a range; name a single cell"),
        ({"width.Ppk": "OFFSET(First!$A$1,1,1)"}, "points to no single cell"),
        ({"width.Ppk": "Frist!$C$5"}, 'did you mean "First"'),
        ({"width.Ppk": "First!$A$1"}, "holds a formula, which would be lost"),
        ({"printed": "First!$C$5"}, "has no defined name that is on offer"),
    ],
)
def test_what_cannot_be_filled_is_said_in_a_sentence(
    tmp_path: Path, names: dict[str, str], sentence: str
) -> None:
    study = a_study(tmp_path / "s")
    a_form(tmp_path / "s", names, A1="=1+1")
    with pytest.raises(InputError, match=r".+; .+") as error:
        Template(study)
    assert sentence in str(error.value)


LINK = (
    b'<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r" '
    b'Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/%s" Target="picture.png" '
    b'TargetMode="External"/></Relationships>'
)
HOSTILE = [
    ("xl/vbaProject.bin", b"x", "holds macros"),
    ("xl/macrosheets/sheet1.xml", b"<x/>", "holds macros"),
    ("xl/externalLinks/externalLink1.xml", b"<x/>", "refers to other workbooks"),
    ("xl/embeddings/oleObject1.bin", b"x", "holds embedded objects"),
    ("xl/connections.xml", b"<x/>", "fetches data by itself"),
    ("customUI/customUI.xml", b"<x/>", "changes the program"),
    ("xl/worksheets/_rels/sheet1.xml.rels", LINK % b"image", "refers to other files"),
    ("xl/../../evil.xml", b"<x/>", "in a way that no program writes"),
    ("xl/worksheets/sheet9.xml", b"<s><f>WEBSERVICE(A1)</f></s>", "fetch or run something"),
    ("xl/worksheets/sheet9.xml", b"<s><f>[other.xlsx]S!A1</f></s>", "refer to other files"),
    (
        "xl/worksheets/sheet9.xml",
        b"<s><f>SUM('C:\\x\\[o.xlsx]S 1'!A1:A3)</f></s>",
        "refer to other files",
    ),
    ("xl/worksheets/sheet9.xml", b"<s><formula1>[1]!List</formula1></s>", "refer to other files"),
    ("xl/worksheets/sheet9.xml", b"<s><f>cmd|' /c calc'!A0</f></s>", "refer to other files"),
    ("xl/theme/theme9.xml", b'<!DOCTYPE a [<!ENTITY b "c">]><a/>', "declares a document type"),
]


@pytest.mark.parametrize(("part", "content", "why"), HOSTILE)
def test_a_hostile_form_is_refused(tmp_path: Path, part: str, content: bytes, why: str) -> None:
    study = a_study(tmp_path / "s")
    form = a_form(tmp_path / "s", {"width.Ppk": "First!$C$5"})
    assert Template(study).targets
    changed(form, part, content)
    with pytest.raises(InputError) as error:
        Template(study)
    assert why in str(error.value)


@pytest.mark.parametrize(
    ("told", "asked"),
    [
        (b"<w><sheets></sheets></w>", b'</sheets><calcPr fullCalcOnLoad="1"/></w>'),
        (
            b'<w><sheets></sheets><calcPr calcId="1"/></w>',
            b'<calcPr calcId="1" fullCalcOnLoad="1"/>',
        ),
        (b'<w><calcPr fullCalcOnLoad="0"></calcPr></w>', b'<calcPr fullCalcOnLoad="1"></calcPr>'),
        (b"<x:w><x:definedNames></x:definedNames></x:w>", b'<x:calcPr fullCalcOnLoad="1"/></x:w>'),
    ],
)
def test_the_forms_own_formulas_are_computed_when_it_is_opened(told: bytes, asked: bytes) -> None:
    assert asked in _computed_when_opened(told)


@pytest.mark.parametrize(
    "formula",
    [
        b"SUM(Table1[Width])",
        b'IF(A1&gt;1,"see [2] there!",B1)',
        b"'Own sheet'!A1*2",
        b"Table1[[#This Row],[n]]",
    ],
)
def test_formulas_within_the_form_are_no_threat(tmp_path: Path, formula: bytes) -> None:
    study = a_study(tmp_path / "s")
    form = a_form(tmp_path / "s", {"width.Ppk": "First!$C$5"})
    changed(form, "xl/worksheets/sheet9.xml", b"<s><f>" + formula + b"</f></s>")
    assert Template(study).targets


def test_a_link_to_a_page_is_no_threat(tmp_path: Path) -> None:
    study = a_study(tmp_path / "s")
    form = a_form(tmp_path / "s", {"width.Ppk": "First!$C$5"})
    changed(form, "xl/worksheets/_rels/sheet1.xml.rels", LINK % b"hyperlink")
    assert Template(study).targets


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04", b"\xd0\xcf\x11\xe0 a password"])
def test_what_is_no_workbook_is_refused(tmp_path: Path, content: bytes) -> None:
    study = a_study(tmp_path / "s")
    (tmp_path / "s" / "customer.xlsx").write_bytes(content)
    with pytest.raises(InputError, match="cannot be read as a workbook"):
        Template(study)


def test_a_form_that_is_missing_or_holds_macros_by_its_name_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="there is no such file"):
        Template(a_study(tmp_path / "a"))
    with pytest.raises(InputError, match=r"must end in \.xlsx"):
        a_study(tmp_path / "b", 'file = "customer.xlsm"')
    with pytest.raises(InputError, match="inside the study folder"):
        a_study(tmp_path / "c", 'file = "../customer.xlsx"')
