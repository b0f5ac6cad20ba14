"""Criteria are typed as the trade writes them, and none goes without its source."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from linestudy import open_study
from linestudy.study_form.criteria_step import KEYS
from linestudy.verdict.criteria import DEFAULTS


def test_usual_values_are_those_of_the_verdict(filled: Any) -> None:
    for key, _, share in KEYS:
        if key != "source":
            hint = float(filled.criteria.fields["", key].placeholder)
            assert hint / (100 if share else 1) == pytest.approx(float(DEFAULTS[key].value))


def test_own_criteria_are_written(filled: Any, tmp_path: Path) -> None:
    fields = filled.criteria.fields
    fields["", "grr_accept"].value = "15 %"
    assert "say whose they are" in filled.said(filled.criteria)
    fields["", "source"].value = "Agreement 7"
    fields["special", "capability_accept"].value = "2,0"
    filled.criteria.held.value = "lower bound"
    filled.head.fields["part"].value = "P 1"
    filled.write.write.click()
    study = open_study(tmp_path / "study")
    assert study.criteria.grr_accept == pytest.approx(0.15)
    assert study.criteria.special.capability_accept == 2.0
    assert study.criteria.decide_capability_on == "lower bound"
    assert study.criteria.source == "Agreement 7"


#: Criterion, what is typed, what is said.
WRONG = [
    ("grr_accept", "0.1", "write 10, or 0.1 % if so little"),
    ("grr_accept", "120", "between 0 and 100"),
    ("capability_accept", "much", "is no number"),
    ("capability_accept", "0", "above 0"),
]


def test_what_cannot_be_meant_is_said(filled: Any) -> None:
    for key, typed, told in WRONG:
        filled.criteria.fields["", key].value = typed
        assert told in filled.said(filled.criteria)
        filled.criteria.fields["", key].value = ""
        assert filled.criteria.faults() == []


def test_approval_lies_below_acceptance(filled: Any) -> None:
    fields = filled.criteria.fields
    fields["", "source"].value = "Q"
    fields["", "capability_accept"].value = "1.33"
    fields["", "capability_review"].value = "1.67"
    assert "lies below" in filled.said(filled.criteria)


def test_title_and_part_are_needed(filled: Any) -> None:
    assert filled.head.faults() == ["Part number: is not given yet."]
    filled.head.fields["part"].value = "P 1"
    assert filled.head.faults() == []
