"""Single changes of a dossier, all found and named: of any byte with the sums left, of any number with sums anew."""

from __future__ import annotations

import dataclasses
import random
import re
import shutil
import zipfile
from pathlib import Path

import bagit
import pytest

from linestudy.dossier import recompute
from linestudy.dossier.audit.check_bag import damaged as _damaged
from linestudy.dossier.audit.documents.check_page import check_page
from linestudy.dossier.audit.documents.check_pdf import check_pdf
from linestudy.dossier.audit.documents.check_workbook import check_workbook
from linestudy.dossier.audit.documents.edges import Edges
from linestudy.dossier.audit.recomputation import audit
from linestudy.dossier.content.contents import build
from linestudy.dossier.content.drawing_pictures import drawn
from linestudy.dossier.content.elements import Document, Table
from linestudy.dossier.evaluation import Evaluation
from linestudy.dossier.forms.pdf import foot_of, write_pdf


@pytest.fixture(scope="module")
def small(starter: Evaluation, starter_dossier: Path) -> tuple[Evaluation, Path]:
    return starter, starter_dossier


def _page(document: Document, foot: str, file: Path) -> list[str]:
    return list(check_page(document, foot, file, Edges([])).lines)


def _workbook(evaluation: Evaluation, file: Path) -> list[str]:
    return check_workbook(evaluation, file, Edges([]))[0]


@pytest.fixture
def copy(small: tuple[Evaluation, Path], tmp_path: Path) -> Path:
    return Path(shutil.copytree(small[1], tmp_path / "copy"))


@pytest.mark.proof
def test_any_changed_byte_of_any_file_is_found(copy: Path) -> None:
    files = sorted(p for p in copy.rglob("*") if p.is_file())
    assert {"run.csv", "study.toml", "results.json", "manifest-sha512.txt"} <= {
        p.name for p in files
    }
    chooser = random.Random(7)
    changes = 0
    while changes < 400:
        file = files[changes % len(files)]
        whole = file.read_bytes()
        at = chooser.randrange(len(whole))
        file.write_bytes(whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :])
        lines = _damaged(copy)
        file.write_bytes(whole)
        assert lines, (file.name, at)
        # A list of sums that was changed speaks against what it lists; any other file is named itself.
        if not file.name.startswith("tagmanifest") and file.name != "bagit.txt":
            assert file.name in " ".join(lines) or "manifest" in file.name, (file.name, at, lines)
        changes += 1
    assert _damaged(copy) == ()


@pytest.mark.proof
def test_any_changed_number_of_the_page_is_found(
    small: tuple[Evaluation, Path], tmp_path: Path
) -> None:
    evaluation, out = small
    document, foot = build(evaluation), foot_of(evaluation.study)
    page = (out / "data/index.html").read_text(encoding="utf-8")
    assert _page(document, foot, out / "data/index.html") == []
    bare = re.sub(r"base64,[A-Za-z0-9+/=]*", lambda m: "_" * len(m.group()), page)
    body = bare.index("<main>")
    numbers = [m for m in re.finditer(r"(?<=[ >(])\d+\.\d+(?=[ <)])", bare) if m.start() > body]
    numbers = [m for m in numbers if bare.rfind("<", 0, m.start()) < bare.rfind(">", 0, m.start())]
    chooser = random.Random(8)
    for match in chooser.sample(numbers, 60):
        last = match.end() - 1
        digit = str((int(page[last]) + 1) % 10)
        file = tmp_path / "index.html"
        file.write_text(page[:last] + digit + page[last + 1 :], encoding="utf-8")
        found = _page(document, foot, file)
        assert len(found) == 1
        assert match.group()[:-1] + digit in found[0] or len(found[0]) > 160


@pytest.mark.proof
def test_any_changed_cell_of_the_workbook_is_found(
    small: tuple[Evaluation, Path], tmp_path: Path
) -> None:
    evaluation, out = small
    assert _workbook(evaluation, out / "data/workbook.xlsx") == []
    with zipfile.ZipFile(out / "data/workbook.xlsx") as book:
        parts = {name: book.read(name) for name in book.namelist()}
    sheets = [name for name in parts if name.startswith("xl/worksheets/sheet")]
    chooser = random.Random(9)
    cells = [
        (name, match)
        for name in sheets
        for match in re.finditer(
            rb'<c r="([A-Z]+\d+)"[^>]*>(?:<f>[^<]*</f>)?<v>([^<]+)</v>', parts[name]
        )
    ]
    for name, match in chooser.sample(cells, 40):
        changed = dict(parts)
        text = parts[name]
        changed[name] = text[: match.start(2)] + b"1" + text[match.start(2) :]
        with zipfile.ZipFile(tmp_path / "workbook.xlsx", "w") as book:
            for part, data in changed.items():
                book.writestr(zipfile.ZipInfo(part, (1980, 1, 31, 0, 0, 0)), data)
        found = _workbook(evaluation, tmp_path / "workbook.xlsx")
        assert len(found) == 1
        assert f"cell {match.group(1).decode()}:" in found[0]


def _with_cell(document: Document, number: int) -> tuple[Document, str]:
    """The document with one number in a table changed."""
    count = 0
    for s, section in enumerate(document.sections):
        for b, block in enumerate(section.blocks):
            if not isinstance(block, Table):
                continue
            for r, row in enumerate(block.rows):
                for c, cell in enumerate(row):
                    if not re.fullmatch(r"\d*\.\d+", cell):
                        continue
                    count += 1
                    if count < number:
                        continue
                    other = cell[:-1] + str((int(cell[-1]) + 1) % 10)
                    cells = (*row[:c], other, *row[c + 1 :])
                    rows = (*block.rows[:r], cells, *block.rows[r + 1 :])
                    blocks = list(section.blocks)
                    blocks[b] = dataclasses.replace(block, rows=rows)
                    sections = list(document.sections)
                    sections[s] = dataclasses.replace(section, blocks=tuple(blocks))
                    return dataclasses.replace(document, sections=tuple(sections)), cell
    raise AssertionError("the document prints fewer numbers than that")


@pytest.mark.proof
def test_a_changed_number_of_the_pdf_is_found(
    small: tuple[Evaluation, Path], tmp_path: Path
) -> None:
    evaluation, out = small
    document, pictures, _ = drawn(build(evaluation))
    foot = foot_of(evaluation.study)
    assert check_pdf(document, pictures, foot, out / "data/dossier.pdf", Edges([])) == ([], [])
    for number in (1, 4, 8):
        changed, cell = _with_cell(document, number)
        write_pdf(changed, pictures, tmp_path / "dossier.pdf", foot)
        found, near = check_pdf(document, pictures, foot, tmp_path / "dossier.pdf", Edges([]))
        assert near == []
        named = [line.split("set anew")[-1] for line in found if line.startswith("page")]
        assert any(cell in words for words in named), (cell, found)


@pytest.mark.proof
def test_a_spoilt_document_is_a_finding_and_no_traceback(
    small: tuple[Evaluation, Path], copy: Path
) -> None:
    for name in ("dossier.pdf", "index.html", "workbook.xlsx"):
        (copy / "data" / name).write_bytes(b"nothing of use")
    lines = audit(copy, small[0]).documents
    named = {line.split(":")[0] for line in lines if not line.startswith("bag-info.txt")}
    assert named == {"dossier.pdf", "index.html", "workbook.xlsx"}


@pytest.mark.proof
@pytest.mark.parametrize("name", ["data/study/data/run.csv", "data/study/study.toml"])
def test_a_changed_input_with_sums_made_anew_changes_numbers_and_documents(
    copy: Path, name: str
) -> None:
    file = copy / name
    text = file.read_text()
    if name.endswith("toml"):
        changed = re.sub(r"(?m)^(upper = \d+\.\d)", r"\g<1>3", text, count=1)
    else:
        changed = re.sub(r"(?m)(\d\.\d+)$", r"\g<1>4", text, count=1)
    assert changed != text
    file.write_text(changed)
    bagit.Bag(str(copy)).save(manifests=True)
    report = recompute(copy)
    assert not report.damaged
    assert report.differences
    assert report.documents
    assert not report.agrees
