"""Verdicts of odd studies: what is missing is said, and nothing is judged by default."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from linestudy import evaluate
from linestudy.core import Unjudged

HEAD = 'format = 1\n[study]\ntitle = "Odd"\npart = "O"\n'
RUN = '[[data]]\nrole = "run"\nfile = "r.csv"\ncolumns = { a = "a" }\norder = "n"\nsubgroup = { size = 5 }\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    draw = random.Random(1)
    rows = [f"{n},{draw.gauss(5, 0.1):.3f}" for n in range(200)]
    (tmp_path / "r.csv").write_text("n,a\n" + "\n".join(rows) + "\n")
    return tmp_path


def verdict(folder: Path, characteristic: str, more: str = ""):
    text = (
        HEAD
        + '[[characteristic]]\nid = "a"\nname = "A"\nunit = "mm"\n'
        + characteristic
        + RUN
        + more
    )
    (folder / "study.toml").write_text(text)
    evaluation = evaluate(folder)
    return evaluation, evaluation.findings.get("a", "verdict")


def test_readings_without_limits(folder: Path) -> None:
    _, found = verdict(folder, "")
    assert found.decision == "cannot be judged"
    assert "Neither limit" in found.reasons[0]


def test_an_unknown_family_is_not_replaced_by_the_normal(folder: Path) -> None:
    evaluation, found = verdict(folder, 'lower = 4.0\nupper = 6.0\nfamily = "triangle"\n')
    assert isinstance(evaluation.findings.get("a", "capability"), Unjudged)
    assert any("triangle" in reason for reason in found.objections)


def test_both_results_appear_where_a_period_is_set_aside(folder: Path) -> None:
    period = '[[set_aside]]\nfirst = 10\nlast = 60\nreason = "strip jam"\n'
    evaluation, _ = verdict(folder, "lower = 4.0\nupper = 6.0\n", period)
    without = evaluation.findings.get("a", "capability")
    with_it = evaluation.findings.get("a", "capability", "with_set_aside")
    assert without.n == 149
    assert with_it.n == 200
    results = evaluation.results()["characteristics"]["a"]
    assert results["stability"]["with_set_aside"]["n"] > results["stability"]["n"]


def test_no_gauge_study_no_claim(folder: Path) -> None:
    _, found = verdict(folder, "lower = 4.0\nupper = 6.0\n")
    assert found.decision == "cannot be judged"
    assert any("no crossed study" in reason for reason in found.reasons)
    assert "cannot be judged" in found.statement
