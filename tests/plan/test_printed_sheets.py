"""Floor sheets on paper: what stands on each page, read out of the PDF by pdfium."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pypdfium2 as pdfium
import pytest

from linestudy import open_study, start_study
from linestudy.cli import main
from linestudy.plan import write_floor_sheet
from linestudy.plan.floor_sheets import laid_out
from linestudy.records.formats.floor_sheet import CODE, FIELDS, HEADER, PLAN

ROLES = ["crossed", "attribute", "reference", "paired", "nested", "drift", "run", "machine"]
EXTRA = '[[characteristic]]\nid = "seam"\nname = "Seam #1 *x* $y$"\n[[gauge]]\nid = "cmm"\nname = "CMM"\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    study = start_study(tmp_path / "study")
    with (study / "study.toml").open("a", encoding="utf-8") as file:
        file.write(EXTRA)
    return study


def pages(file: Path) -> list[str]:
    document = pdfium.PdfDocument(file)
    return [page.get_textpage().get_text_range().replace("\r\n", "\n") for page in document]


def printed(folder: Path, role: str, paper: str = "A4", parts: int = 12) -> Path:
    gauges = {"paired": ("camera", "cmm"), "attribute": ()}.get(role, ("camera",))
    rows = laid_out(role, parts, people=("Anna", "Bert"), trials=2, masters=(6.25, 6.3))
    about = "seam" if role == "attribute" else "width"
    out = folder.parent / f"{role}_{paper}.pdf"
    return write_floor_sheet(open_study(folder), role, about, rows, out, gauges=gauges, paper=paper)


@pytest.mark.parametrize("role", ROLES)
def test_every_page_has_its_fields_and_the_code_of_its_workbook(folder: Path, role: str) -> None:
    file = printed(folder, role)
    book = openpyxl.load_workbook(file.with_suffix(".xlsx"))
    code = {page.cell(CODE[0] + 1, CODE[1] + 1).value for page in book if page.title != PLAN}
    assert len(code) == 1
    told = pages(file)
    for page in told:
        assert page.count(code.copy().pop()) == 2
    for page in [page for page in told if "Key: which" not in page]:
        for field in FIELDS:
            assert field in page
        assert "part number:" in page
        if role == "attribute":
            assert "Seam #1 *x* $y$" in page
        else:
            assert "resolution 0.001 mm" in page
            assert "[mm]" in page


@pytest.mark.parametrize(("paper", "size"), [("A4", (210, 297)), ("Letter", (215.9, 279.4))])
def test_paper_is_what_was_asked_for_and_fifty_parts_fit_a_page(
    folder: Path, paper: str, size: tuple[float, float]
) -> None:
    file = printed(folder, "attribute", paper, parts=50)
    document = pdfium.PdfDocument(file)
    assert [each / 72 * 25.4 for each in document[0].get_size()] == pytest.approx(size, abs=0.1)
    # Two people, two rounds, and the key.
    assert len(document) == 5


def test_appraisers_do_not_see_which_part_it_is(folder: Path) -> None:
    study = open_study(folder)
    rows = laid_out("crossed", 3, people=("Anna",), trials=2, masters=())
    rows["part"] = "P-" + rows["part"].astype(str)
    out = folder.parent / "blind.pdf"
    write_floor_sheet(study, "crossed", "width", rows, out, gauges=("camera",))
    *sheets, key = pages(out)
    assert len(sheets) == 2
    assert not any("P-" in sheet for sheet in sheets)
    assert all("Anna" in sheet for sheet in sheets)
    # The key gives the same part at the same place as the workbook.
    book = openpyxl.load_workbook(out.with_suffix(".xlsx"))
    orders = [
        [page.cell(HEADER + 2 + row, 2).value for row in range(3)]
        for page in book
        if page.title != PLAN
    ]
    lines = [
        line
        for line in key.replace("\n", " ").split("Anna, trial 2")[-1].split()
        if line.startswith("P-")
    ]
    assert lines == [part for pair in zip(*orders, strict=True) for part in pair]


def test_the_command_names_both_files(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = folder.parent / "grr.pdf"
    command = ["sheet", str(folder), "crossed", "width", str(out), "--gauge", "camera"]
    assert main(command) == 0
    told = capsys.readouterr().out
    assert "grr.pdf" in told
    assert f"--from {out.with_suffix('.xlsx')}" in told
    assert main(command) == 2
