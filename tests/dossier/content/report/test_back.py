"""Measurement systems, control plan and attachments."""

from __future__ import annotations

import hashlib
from pathlib import Path

import bagit
import pytest

from linestudy import start_study
from linestudy.dossier import evaluate, recompute, write
from linestudy.dossier.content.contents import build
from linestudy.dossier.content.elements import Image, Table
from linestudy.dossier.evaluation import Evaluation


def _section(evaluation: Evaluation, heading: str) -> tuple[object, ...]:
    return next(s for s in build(evaluation).sections if s.heading == heading).blocks


@pytest.mark.proof
def test_each_gauge_that_decides_has_a_picture_and_a_line_of_numbers(
    evaluation: Evaluation,
) -> None:
    pictures = [b for b in _section(evaluation, "Measurement systems") if isinstance(b, Image)]
    studies, budgets = pictures[::2], pictures[1::2]
    assert len(studies) == len(budgets) == 5
    assert all("%GRR" in one.answer and "ndc" in one.answer for one in studies)
    assert all("drift between resets" in one.answer for one in studies)
    assert all("Expanded uncertainty" in one.answer for one in budgets)


def test_the_control_plan_has_a_line_for_each_characteristic(evaluation: Evaluation) -> None:
    table = next(b for b in _section(evaluation, "Control plan") if isinstance(b, Table))
    assert len(table.rows) == 7
    assert dict(zip(table.head, table.rows[0], strict=True))["frequency"].startswith("every ")


@pytest.mark.proof
def test_attachments_go_into_the_bag_with_their_sums(tmp_path: Path) -> None:
    folder = start_study(tmp_path / "study")
    (folder / "docs").mkdir()
    (folder / "docs/flow.pdf").write_bytes(b"a flow chart")
    toml = folder / "study.toml"
    toml.write_text(
        toml.read_text(encoding="utf-8")
        + '\n[[attachment]]\ntitle = "Flow chart"\nfile = "docs/flow.pdf"\n[[attachment]]\ntitle = "FMEA"\n',
        encoding="utf-8",
    )
    found = evaluate(folder)
    table = next(b for b in _section(found, "Attachments") if isinstance(b, Table))
    assert table.rows[0][3] == hashlib.sha256(b"a flow chart").hexdigest()[:16]
    assert table.rows[1] == ("2", "FMEA", "", "")
    out = write(found, tmp_path / "out")
    assert bagit.Bag(str(out)).is_valid()
    assert (out / "data/study/docs/flow.pdf").read_bytes() == b"a flow chart"
    assert recompute(out).agrees
