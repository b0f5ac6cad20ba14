"""A dossier is closed: what is added, hidden or left out is named, and honest words accuse nobody.

A few changes of each kind of file; the campaign of ``tests/proof`` runs thousands.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from beside import load

from linestudy.dossier import evaluate, write
from linestudy.dossier.audit.check_bag import damaged
from linestudy.dossier.audit.recomputation import audit
from linestudy.study import start_study

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


def test_an_untouched_dossier_agrees(auditor: Any) -> None:
    for pictures in (False, True):
        silent, said = auditor.audit(dict(auditor.honest), pictures)
        assert silent, said


@pytest.mark.parametrize("name", CLASSES)
def test_a_change_is_named(auditor: Any, name: str) -> None:
    for number in (1001, 1002):
        row = auditor.one(name, number)
        assert row["outcome"] == "named", row


@pytest.mark.parametrize(
    ("title", "part", "revision", "name"),
    [
        ("7", "7", "7", "7"),
        pytest.param("Blade width", "28", "28", "Blade width", marks=pytest.mark.proof),
        pytest.param(
            "QC-28 blade width", "QC-28", "1.99", "QC-28 blade width", marks=pytest.mark.proof
        ),
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
