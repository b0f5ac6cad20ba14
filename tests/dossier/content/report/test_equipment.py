"""What was measured with and by whom, as far as the study says it."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest

from linestudy.dossier.content.contents import build
from linestudy.dossier.content.elements import Bullets, Table
from linestudy.dossier.content.report.equipment import equipment, expired, few, first_day
from linestudy.dossier.evaluation import Evaluation


def test_gauges_and_everybody_who_measured_are_listed(evaluation: Evaluation) -> None:
    gauges, masters, people = [b for b in equipment(evaluation) if isinstance(b, Table)]
    assert [row[0] for row in gauges.rows] == ["In-die camera", "CMM", "Pull tester"]
    assert gauges.rows[0][2] == "0.001 mm"
    assert gauges.rows[0][4] == "0.001 mm (k = 2)"
    assert masters.rows[0][3] == "0.0004 mm (k = 2)"
    assert {row[1]: row[0] for row in people.rows}["judgements"] == "Ana, Bo, Cem"


def test_of_many_names_the_first_are_told_and_how_many_there_are() -> None:
    assert few(["a", "b"]) == "a, b"
    assert few(map(str, range(9)), 3) == "0, 1, 2, … (9)"


@pytest.mark.proof
@pytest.mark.parametrize(
    ("due", "over"),
    [("2025-10-25", True), ("2025-10-26", False), ("next spring", False), (None, False)],
)
def test_a_certificate_that_had_expired_is_told_on_the_decision_sheet(
    evaluation: Evaluation, due: str | None, over: bool
) -> None:
    # The run began on 26 October 2025.
    assert first_day(evaluation) == datetime.date(2025, 10, 26)
    study = evaluation.study
    camera, *others = study.gauges
    gauges = (camera.model_copy(update={"due": due}), *others)
    told = replace(study, file=study.file.model_copy(update={"gauge": gauges}))
    found = replace(evaluation, study=told)
    assert bool(expired(found)) == over
    sheet = build(found).sections[0].blocks
    said = [line for b in sheet if isinstance(b, Bullets) for line in b.items]
    assert any("In-die camera: the certificate was due on" in line for line in said) == over
    table = next(b for b in equipment(found) if isinstance(b, Table))
    assert table.rows[0][-1] == (f"{due}, expired" if over else due or "")
