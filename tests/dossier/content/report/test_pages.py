"""The pages of one characteristic: its questions in order, its pictures those of the decision."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.dossier.content.contents import build
from linestudy.dossier.content.elements import Heading, Image, Table
from linestudy.dossier.content.report.pages import exact_mean_and_sd
from linestudy.dossier.content.sheet import sheets
from linestudy.dossier.evaluation import Evaluation
from linestudy.verdict.gather import readings_of
from linestudy.verdict.process import decision_chart


@pytest.mark.proof
def test_questions_come_in_the_order_of_the_manuals(evaluation: Evaluation) -> None:
    blade = next(s for s in build(evaluation).sections if s.heading == "Blade width")
    asked = [block.text for block in blade.blocks if isinstance(block, Heading)]
    assert asked == [
        "Is the measurement system adequate?",
        "Is the process in statistical control?",
        "What distribution is it, and does it fit the tolerance?",
        "Conditions of use",
    ]
    questions = [block.question for block in blade.blocks if isinstance(block, Image)]
    assert len(questions) == len(set(questions)) >= 6
    assert all(text.endswith("?") for text in questions)


def test_the_chart_drawn_is_the_one_decided_on(evaluation: Evaluation) -> None:
    points = 0
    for sheet in sheets(evaluation):
        facts = sheet.verdict.facts
        readings = readings_of(evaluation.study, evaluation.records, sheet.item)
        if readings is None or readings.role != "run" or not facts.circumstances.in_time:
            continue
        chart = decision_chart(readings.values, readings.tags)
        assert [(s.point, s.kind, s.value) for s in chart.signals] == [
            (p.point, p.kind, p.value) for p in facts.process.points
        ]
        points += len(chart.signals)
    assert points


@pytest.mark.proof
def test_streams_stand_side_by_side_with_the_index_of_each(evaluation: Evaluation) -> None:
    for sheet in sheets(evaluation)[:5]:
        section = next(s for s in build(evaluation).sections if s.heading == sheet.name)
        table = next(b for b in section.blocks if isinstance(b, Table) and "by stream" in b.caption)
        shown = {row[0]: row[-1] for row in table.rows}
        index = sheet.verdict.facts.index
        assert shown == {name: f"{value:.2f}" for name, value in index.by_stream.items()}


def test_means_do_not_hang_on_the_order_of_summing() -> None:
    values = np.random.default_rng(3).normal(2.8, 0.01, 5000)
    assert exact_mean_and_sd(values) == exact_mean_and_sd(values[::-1])
    mean, sd = exact_mean_and_sd(values)
    assert np.isclose(mean, values.mean())
    assert np.isclose(sd, values.std(ddof=1))
    assert exact_mean_and_sd(np.array([2.0])) == (2.0, 0.0)
