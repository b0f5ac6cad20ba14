"""Rules on crossed studies: what they say on either side of their criterion."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy import stats

from linestudy.plan import equivalence_size
from linestudy.results import Interval
from linestudy.verdict.criteria import resolve
from linestudy.verdict.facts import CharacteristicFacts
from linestudy.verdict.measurement_facts import GaugeFacts
from linestudy.verdict.rules.crossing import (
    another_gauge,
    appraisers,
    missing,
    over_time,
    study_size,
    two_studies,
)
from linestudy.verdict.rules.measuring import drift

APPROVAL, SUPPORTS, NONE = "customer approval required", "supports", "no evidence"


def at(value: float) -> Interval:
    return Interval(value, value - 0.001, value + 0.001, 0.9, "example")


#: Another gauge on the same parts, and a master in drift; the tolerance is 0.1 mm.
BESIDE = {
    "width": 0.1,
    "paired_with": "CMM",
    "paired_where": "on average",
    "paired_difference": at(0.0),
    "paired_spread": 0.1,
}
MOVING = {"width": 0.1, "drift": at(0.0)}


@pytest.mark.parametrize(
    ("rule", "facts", "effect"),
    [
        (missing, {}, NONE),
        (missing, {"missing": 2, "missing_share": 0.099}, SUPPORTS),
        (missing, {"missing": 2, "missing_share": 0.101}, APPROVAL),
        (missing, {"missing": 9, "missing_of": 90, "missing_share": 0.05}, SUPPORTS),
        (missing, {"missing": 10, "missing_of": 90, "missing_share": 0.05}, APPROVAL),
        (over_time, {}, NONE),
        (over_time, {"over_time_p": 0.01, "over_time_share": 0.4}, SUPPORTS),
        (over_time, {"over_time_p": 1e-6, "over_time_share": 0.09}, SUPPORTS),
        (over_time, {"over_time_p": 1e-6, "over_time_share": 0.11}, APPROVAL),
        (study_size, {}, NONE),
        (study_size, {"parts": 5, "appraisers": 2, "repeat_df": 10.0}, SUPPORTS),
        (study_size, {"parts": 5, "appraisers": 2, "repeat_df": 9.0}, APPROVAL),
        (study_size, {"parts": 5, "repeat_df": 10.0, "parts_beyond": 0.49}, SUPPORTS),
        (study_size, {"parts": 5, "repeat_df": 10.0, "parts_beyond": 0.51}, APPROVAL),
        (appraisers, {}, NONE),
        (appraisers, {"appraisers_p": 0.002, "appraisers_share": 0.2}, SUPPORTS),
        (appraisers, {"appraisers_p": 1e-4, "appraisers_share": 0.099}, SUPPORTS),
        (appraisers, {"appraisers_p": 1e-4, "appraisers_share": 0.101}, APPROVAL),
        (another_gauge, {}, NONE),
        (another_gauge, {**BESIDE, "paired_difference": at(0.0059)}, SUPPORTS),
        (another_gauge, {**BESIDE, "paired_difference": at(-0.0061)}, APPROVAL),
        (another_gauge, {**BESIDE, "paired_spread": 0.31}, APPROVAL),
        (another_gauge, {**BESIDE, "paired_spread": 0.30}, SUPPORTS),
        (another_gauge, {**BESIDE, "paired_difference": at(0.0061)}, APPROVAL),
        (another_gauge, {**BESIDE, "width": 0.0}, NONE),
        (missing, {"missing": 10, "missing_share": 0.05}, SUPPORTS),
        (over_time, {"over_time_p": 0.001, "over_time_share": 0.4}, SUPPORTS),
        (study_size, {"parts": 4, "repeat_df": 10.0}, APPROVAL),
        (study_size, {"parts": 5, "appraisers": 1, "repeat_df": 10.0}, APPROVAL),
        (study_size, {"parts": 5, "repeat_df": 10.0, "parts_beyond": 0.5}, SUPPORTS),
        (study_size, {"parts": 5}, SUPPORTS),
        (appraisers, {"appraisers_p": 0.001, "appraisers_share": 0.2}, SUPPORTS),
        (two_studies, {}, NONE),
        # Half of what a rule needs is no evidence.
        (two_studies, {"repeat_ratio": 2.0}, NONE),
        (missing, {"missing": 2}, NONE),
        (missing, {"missing_share": 0.2}, NONE),
        (over_time, {"over_time_share": 0.4}, NONE),
        (over_time, {"over_time_p": 1e-6}, NONE),
        (appraisers, {"appraisers_share": 0.2}, NONE),
        (appraisers, {"appraisers_p": 1e-6}, NONE),
        (two_studies, {"repeat_p": 0.001, "repeat_ratio": 2.0}, SUPPORTS),
        (drift, {"drift_refused": "Two readings are too few"}, APPROVAL),
        (drift, {**MOVING, "drift_level": at(0.0049)}, SUPPORTS),
        (drift, {**MOVING, "drift_level": at(-0.0051)}, APPROVAL),
        (two_studies, {"repeat_p": 0.002, "repeat_ratio": 2.0}, SUPPORTS),
        (two_studies, {"repeat_p": 0.0005, "repeat_ratio": 2.0}, APPROVAL),
    ],
)
def test_either_side_of_the_criterion(rule: Any, facts: dict[str, Any], effect: str) -> None:
    found = rule(
        CharacteristicFacts(unit="mm", gauge=GaugeFacts(name="camera", **facts)), resolve()
    )
    assert found.effect == effect
    assert effect == NONE or found.reason.startswith("camera")


def test_what_is_counted_is_said() -> None:
    facts = GaugeFacts(name="camera", missing=1, missing_share=0.12)
    said = missing(CharacteristicFacts(gauge=facts), resolve()).reason
    assert "1 reading of the crossed study missing; three standard deviations off" in said
    assert "complete the study, or customer approval required" in said


def test_a_paired_study_as_large_as_planned_is_said_to_lie_within_as_often_as_planned() -> None:
    planned = equivalence_size(sd=0.006, allowed_bias=0.005, power=0.8)
    rng = np.random.default_rng(24)
    within = 0
    for _ in range(400):
        differences = rng.normal(0.0, 0.006, planned.n)
        mean, error = differences.mean(), differences.std(ddof=1) / np.sqrt(planned.n)
        half = stats.t.ppf(0.95, planned.n - 1) * error
        seen = Interval(mean, mean - half, mean + half, 0.9, "example")
        facts = GaugeFacts(name="camera", **{**BESIDE, "paired_difference": seen})
        found = another_gauge(CharacteristicFacts(unit="mm", gauge=facts), resolve())
        within += ", within 5%" in found.reason
    # Three standard errors of a share of 400.
    assert abs(within / 400 - 0.8) < 0.06


def test_an_appraiser_between_the_usual_level_and_a_contradiction_is_named() -> None:
    def said(p: float) -> str:
        facts = GaugeFacts(appraisers_p=p, appraisers_share=0.2, worst_appraiser="Lea")
        return appraisers(CharacteristicFacts(gauge=facts), resolve()).reason

    assert "Lea may repeat worse" in said(0.049)
    assert "no appraiser repeats worse" in said(0.05)


def test_a_difference_between_gauges_is_within_beyond_or_neither() -> None:
    def said(value: float) -> str:
        facts = GaugeFacts(name="camera", **{**BESIDE, "paired_difference": at(value)})
        return another_gauge(CharacteristicFacts(unit="mm", gauge=facts), resolve()).reason

    # The interval is 0.001 mm to either side, the share allowed 0.005 mm.
    for sign in (1, -1):
        assert ", within 5%" in said(sign * 0.0039)
        assert "neither within nor beyond" in said(sign * 0.0041)
