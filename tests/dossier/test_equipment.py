"""What was measured with and by whom, as far as the study says it."""

from __future__ import annotations

from linestudy.dossier.content.blocks import Table
from linestudy.dossier.content.report.equipment import equipment, few
from linestudy.dossier.evaluation import Evaluation


def test_gauges_and_everybody_who_measured_are_listed(evaluation: Evaluation) -> None:
    gauges, people = [b for b in equipment(evaluation) if isinstance(b, Table)]
    assert [row[0] for row in gauges.rows] == ["In-die camera", "CMM", "Pull tester"]
    assert gauges.rows[0][2] == "0.001 mm"
    assert gauges.rows[0][4] == "0.001 mm (k = 2)"
    assert {row[1]: row[0] for row in people.rows}["judgements"] == "Ana, Bo, Cem"


def test_of_many_names_the_first_are_told_and_how_many_there_are() -> None:
    assert few(["a", "b"]) == "a, b"
    assert few(map(str, range(9)), 3) == "0, 1, 2, … (9)"
