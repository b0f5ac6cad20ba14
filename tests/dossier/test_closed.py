"""A dossier is closed: what is added, hidden or left out is named, and honest words accuse nobody.

A few changes of each kind of file; the campaign of ``tests/proof`` runs thousands.
"""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
from beside import load

from linestudy.dossier import evaluate, write
from linestudy.dossier.audit.check_bag import damaged, unexpected, words_of_the_bag
from linestudy.dossier.audit.recomputation import audit, recompute
from linestudy.dossier.bag.ownership import strange
from linestudy.study import open_study, start_study

CLASSES = [
    "page: a rule of style",
    "page: an attribute that runs",
    "page: a thing laid over",
    "page: a sign written otherwise",
    "picture: what no picture holds",
    "pdf: an annotation",
    "pdf: a form an action an attachment",
    "pdf: pages moved turned cut",
    "pdf: written on after its end",
    "workbook: a part more or less",
    "workbook: a formula",
    "results: a key twice",
    "results: the same written otherwise",
    "files: one more",
    "files: one less",
    "bag: its facts",
]


@pytest.fixture(scope="module")
def auditor(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Any:
    file = request.config.rootpath / "tests" / "proof" / "campaign.py"
    return load("linestudy_proof_campaign", file).Auditor(tmp_path_factory.mktemp("closed"))


@pytest.mark.proof
def test_an_untouched_dossier_agrees(auditor: Any) -> None:
    for pictures in (False, True):
        silent, said = auditor.audit(dict(auditor.honest), pictures)
        assert silent, said


@pytest.mark.proof
@pytest.mark.parametrize("name", CLASSES)
def test_a_change_is_named(auditor: Any, name: str) -> None:
    for number in (1001, 1002):
        row = auditor.one(name, number)
        assert row["outcome"] == "named", row


@pytest.mark.proof
@pytest.mark.parametrize(
    ("title", "part", "revision", "name"),
    [
        ("7", "7", "7", "7"),
        ("Blade width", "28", "28", "Blade width"),
        ("QC-28 blade width", "QC-28", "1.99", "QC-28 blade width"),
        ("<b>&amp;</b>", "9" * 120, "Page 1 of 9", "</main><!-- 1.99 -->"),
    ],
)
def test_honest_words_accuse_nobody(
    title: str, part: str, revision: str, name: str, tmp_path: Path
) -> None:
    folder = start_study(tmp_path / "study")
    file = folder / "study.toml"
    text = file.read_text(encoding="utf-8")
    for old, new in (
        ('title = "Initial study of my part"', f'title = "{title}"'),
        ('part = "part number"', f'part = "{part}"'),
        ('revision = "A"', f'revision = "{revision}"'),
        ('name = "Blade width"', f'name = "{name}"'),
    ):
        assert old in text
        text = text.replace(old, new)
    file.write_text(text, encoding="utf-8")
    evaluation = evaluate(folder)
    dossier = write(evaluation, tmp_path / "out")
    report = audit(dossier, evaluation, damaged(dossier), pictures=True)
    assert report.agrees, report.details()
    assert report.remarks == ()


def test_what_a_system_lays_into_folders_is_named_as_that(
    starter_dossier: Path, tmp_path: Path
) -> None:
    copy = Path(shutil.copytree(starter_dossier, tmp_path / "copy"))
    for name in (".DS_Store", "data/Thumbs.db", "data/~$workbook.xlsx"):
        (copy / name).write_bytes(b"\x00")
    lines = [*damaged(copy), *unexpected(copy, open_study(copy / "data" / "study"))[0]]
    assert len(lines) == 3
    assert all("laid there by a system or an open program" in line for line in lines)
    assert not words_of_the_bag(copy, open_study(copy / "data" / "study"))
    # It keeps no newer dossier from taking this one's place, where notes of a person do.
    assert strange(copy) is None
    (copy / "data" / "notes.txt").write_text("mine\n", encoding="utf-8")
    assert "data/notes.txt was added" in damaged(copy)
    assert "notes.txt" in str(strange(copy))


@pytest.mark.proof
def test_line_ends_that_a_transfer_turned_are_one_sentence(
    starter_dossier: Path, tmp_path: Path
) -> None:
    copy = Path(shutil.copytree(starter_dossier, tmp_path / "copy"))
    turned = [file for file in copy.rglob("*") if file.suffix in (".txt", ".json", ".html")]
    for file in turned:
        file.write_bytes(file.read_bytes().replace(b"\n", b"\r\n"))
    report = recompute(copy)
    assert not report.agrees
    assert len(report.damaged) == 1
    assert f"line ends of {len(turned)} files" in report.damaged[0]
    assert not report.differences
    assert not report.documents
    # Somebody who changes a word besides is named.
    page = copy / "data" / "index.html"
    page.write_bytes(page.read_bytes().replace(b"Blade", b"Plate", 1))
    assert any("index.html" in line for line in recompute(copy).damaged[1:])
