"""An expert who reads the student's folder gets at least 95 % of the points of practice studies, a naive student does not."""

from __future__ import annotations

import json
from pathlib import Path
from types import ModuleType

import pytest
from beside import load
from practice_students import expert, naive

from linestudy.simulate.practice import KINDS, grade, write_practice

HERE = Path(__file__).parent


def practising() -> ModuleType:
    return load("linestudy_practising", HERE / "practising.py")


@pytest.mark.proof
def test_an_expert_scores_and_a_naive_student_does_not() -> None:
    module = practising()
    kept = json.loads(module.KEPT.read_text(encoding="utf-8"))
    assert kept["seeds"] >= 200
    assert module.share(kept["expert"]) >= 0.95
    # Seeds that nobody has looked at.
    again = module.campaign(range(10_000, 10_012))
    assert module.share(again["expert"]) >= 0.95, again
    assert module.share(again["naive"]) <= 0.5
    # Whoever decides everything alike, names everything or guesses what is frequent gets less than half.
    for who in ("alike", "lister", "guesser"):
        assert max(most for _, most in again[who].values()) < 0.5, who
    assert max(most for _, most in kept["alike"].values()) < 0.5


@pytest.mark.proof
def test_each_kind_catches_a_naive_student_and_not_an_expert(tmp_path: Path) -> None:
    for kind in KINDS:
        folder = write_practice(tmp_path / kind, seed=3, salt=b"t", with_salt=True, kinds=(kind,))
        naive(folder)
        assert grade(folder).share < 0.75, kind
        expert(folder)
        assert grade(folder).share == 1.0, kind


def test_the_report_is_written_from_what_is_kept() -> None:
    module = practising()
    kept = json.loads(module.KEPT.read_text(encoding="utf-8"))
    assert module.REPORT.read_text(encoding="utf-8") == module.text(kept)
