"""The customer's form goes into the dossier filled, and an auditor holds it against one filled anew."""

from __future__ import annotations

import zipfile
from pathlib import Path

import bagit
import openpyxl
import pytest
from openpyxl.chart import BarChart, Reference
from openpyxl.workbook.defined_name import DefinedName

from linestudy import start_study
from linestudy.dossier import evaluate, recompute, write
from linestudy.dossier.content.sheet import sheets
from linestudy.dossier.forms.customer.filling import check_form
from linestudy.results import InputError
from linestudy.study import open_study


def with_a_form(folder: Path) -> Path:
    """A starter study whose customer has a form with a chart, a formula and merged cells of its own."""
    start_study(folder)
    book = openpyxl.Workbook()
    sheet = book.active
    sheet["A1"], sheet["D7"] = "Form 7", "=C7*2"
    sheet["B7"].number_format = "0.0%"
    sheet.merge_cells("B3:E3")
    for name, place in {
        "study.part": "$B$3:$E$3",
        "width.grr": "$B$7",
        "width.Ppk": "$C$7",
        "width.decision": "$F$7",
    }.items():
        book.defined_names[name] = DefinedName(name, attr_text=f"Sheet!{place}")
    chart = BarChart()
    chart.add_data(Reference(sheet, min_col=3, min_row=6, max_row=7))
    sheet.add_chart(chart, "H2")
    book.save(folder / "customer.xlsx")
    toml = folder / "study.toml"
    text = toml.read_text(encoding="utf-8")
    toml.write_text(f'{text}\n[form]\nfile = "customer.xlsx"\n', encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str]]:
    base = tmp_path_factory.mktemp("form")
    found = evaluate(with_a_form(base / "study"))
    one = sheets(found)[0]
    told = {"Ppk": one.Ppk, "grr": one.grr, "decision": one.decision}
    return write(found, base / "dossier"), told


def test_cells_hold_what_the_document_prints_and_all_else_keeps_its_bytes(
    filled: tuple[Path, dict[str, str]],
) -> None:
    out, told = filled
    sheet = openpyxl.load_workbook(out / "data/form.xlsx").active
    assert sheet["C7"].value == float(told["Ppk"])
    assert sheet["B7"].value == pytest.approx(float(told["grr"]) / 100)
    assert sheet["F7"].value == told["decision"]
    assert sheet["D7"].value == "=C7*2"
    assert sheet["A1"].value == "Form 7"
    with (
        zipfile.ZipFile(out / "data/study/customer.xlsx") as old,
        zipfile.ZipFile(out / "data/form.xlsx") as new,
    ):
        assert old.namelist() == new.namelist()
        differing = {name for name in old.namelist() if old.read(name) != new.read(name)}
    # openpyxl asks for its formulas to be computed already.
    assert differing == {"xl/worksheets/sheet1.xml"}
    assert bagit.Bag(str(out)).is_valid()
    assert recompute(out).agrees


@pytest.mark.parametrize(("late", "first"), [(False, "1899-12-30"), (True, "1904-01-01")])
def test_a_cell_with_a_date_format_gets_a_date(tmp_path: Path, late: bool, first: str) -> None:
    """Words in a format are no part of a date, and what is written otherwise stays a text."""
    from datetime import date

    from openpyxl.utils.datetime import CALENDAR_MAC_1904

    from linestudy.dossier.forms.customer.template import Template

    start_study(tmp_path / "study")
    book = openpyxl.Workbook()
    if late:
        book.epoch = CALENDAR_MAC_1904
    sheet = book.active
    for cell, shown in (("A1", "d mmm yyyy"), ("A2", '0.0" d"'), ("A3", "dd/mm/yyyy")):
        sheet[cell].number_format = shown
    book.save(tmp_path / "study" / "customer.xlsx")
    toml = tmp_path / "study" / "study.toml"
    cells = '{ "A1" = "study.date", "A2" = "study.date", "A3" = "study.drawing_date" }'
    toml.write_text(
        f'{toml.read_text(encoding="utf-8")}\n[form]\nfile = "customer.xlsx"\ncells = {cells}\n',
        encoding="utf-8",
    )
    values = {"study.date": "2026-03-31", "study.drawing_date": "spring 2026"}
    Template(open_study(tmp_path / "study")).fill(values, tmp_path / "form.xlsx")
    filled = openpyxl.load_workbook(tmp_path / "form.xlsx").active
    assert filled["A1"].value.date() == date(2026, 3, 31)
    assert filled["A2"].value == "2026-03-31"
    assert filled["A3"].value == "spring 2026"
    with zipfile.ZipFile(tmp_path / "form.xlsx") as parts:
        days = (date(2026, 3, 31) - date.fromisoformat(first)).days
        assert f"<v>{float(days)!r}</v>".encode() in parts.read("xl/worksheets/sheet1.xml")


def test_a_changed_cell_of_the_form_is_found(
    filled: tuple[Path, dict[str, str]], tmp_path: Path
) -> None:
    import shutil

    out = tmp_path / "dossier"
    shutil.copytree(filled[0], out)
    form = out / "data/form.xlsx"
    with zipfile.ZipFile(form) as book:
        parts = {info: book.read(info) for info in book.infolist()}
    cell = f"<v>{float(filled[1]['Ppk'])!r}</v>".encode()
    with zipfile.ZipFile(form, "w") as book:
        for info, content in parts.items():
            book.writestr(info, content.replace(cell, b"<v>9.99</v>"))
    bag = bagit.Bag(str(out))
    bag.save(manifests=True)
    report = recompute(out)
    assert not report.agrees
    assert any("form.xlsx" in line and "C7" in line for line in report.documents)


def test_a_form_is_checked_before_anything_is_computed(tmp_path: Path) -> None:
    folder = with_a_form(tmp_path / "s")
    check_form(open_study(folder))
    (folder / "customer.xlsx").write_bytes(b"no workbook")
    with pytest.raises(InputError, match="cannot be read as a workbook"):
        check_form(open_study(folder))
