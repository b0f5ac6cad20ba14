"""Rules on the process: sample, stability, what was left out."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from sound_facts import (
    APPROVAL,
    index,
    process,
    ruling,
)

from linestudy.study.model import Criteria as StudyCriteria
from linestudy.verdict import (
    Circumstances,
    Tags,
    decide,
    resolve,
    rule_on,
)
from linestudy.verdict.facts import RecordFacts
from linestudy.verdict.measurement_facts import GaugeFacts
from linestudy.verdict.process import OutPoint


def test_the_sample_tells_how_long_the_run_was() -> None:
    def told(**more: object) -> str:
        rulings = rule_on(process(**more), resolve()).rulings
        return next(item.reason for item in rulings if item.rule == "sample")

    assert "within 7.5 h on 1 day" in told(hours=7.5, days=1)
    assert "within 120 h on 5 days" in told(hours=119.6, days=5)
    assert "within 8 minutes" in told(hours=8 / 60, days=1, coils=4)
    assert "within" not in told(coils=4)


def test_readings_of_few_lots_are_worth_less_than_they_are() -> None:
    def ruled(on_bound: bool = False, **more: object) -> tuple[str, str]:
        criteria = resolve(StudyCriteria(decide_capability_on="lower bound") if on_bound else None)
        rulings = rule_on(process(**more), criteria).rulings
        return next((item.effect, item.reason) for item in rulings if item.rule == "sample")

    # Worth for a spread (design effect of clusters, Kish 1965): 300 / (1 + 9 * 0.8 ** 2) = 44.4.
    effect, reason = ruled(n=300, lots=30, lot_share=0.8)
    assert effect == "customer approval required"
    assert "as 44 independent readings" in reason
    assert ruled(n=300, lots=30, lot_share=0.2)[0] == "supports"
    assert ruled(n=3000, lots=120, lot_share=0.8)[0] == "supports"
    # The bound allows for it.
    assert ruled(on_bound=True, n=300, lots=30, lot_share=0.8)[0] == "supports"


def test_periods_that_alone_carry_the_claim_require_approval() -> None:
    def decided(left_in: float, estimate: float = 1.9) -> tuple[str, str]:
        record = RecordFacts(periods=12, periods_index=left_in)
        found = rule_on(dataclasses.replace(index(estimate), record=record), resolve())
        return found.decision, next(r.reason for r in found.rulings if r.rule == "sorting")

    effect, reason = decided(1.2)
    assert effect == APPROVAL
    assert "With the 12 readings in excluded periods Ppk is 1.20, without them 1.90" in reason
    assert decided(1.8)[0] == "meets"


def point(order: float, cause: str = "") -> OutPoint:
    return OutPoint(1, order, "", "", "", "mean", "beyond", 6.4, cause)


def test_points_out_of_control_speak_against_the_claim_and_causes_are_told() -> None:
    points = tuple(point(float(i)) for i in range(32))
    moving = process(
        steady_p=1e-12, matters=True, points=points, expected_points=0.8, unexplained=32
    )
    found = rule_on(moving, resolve())
    ruling = next(item for item in found.rulings if item.rule == "stability")
    assert found.decision == APPROVAL
    assert "32 points" in ruling.reason
    assert "0.8 false alarms expected" in ruling.reason
    explained = process(
        steady_p=1e-12, matters=True, points=points[:1], expected_points=0.8, unexplained=0
    )
    ruling = next(r for r in rule_on(explained, resolve()).rulings if r.rule == "stability")
    assert ruling.effect == APPROVAL
    assert "causes named and acted upon" in ruling.reason


def test_movement_too_small_to_matter_is_said_and_does_not_count() -> None:
    ruling = next(
        r for r in rule_on(process(steady_p=1e-9), resolve()).rulings if r.rule == "stability"
    )
    assert ruling.effect == "supports"
    assert "too small" in ruling.reason


def test_streams_that_were_not_read_ask_for_approval() -> None:
    y = np.random.default_rng(2).normal(size=1000)
    for around, least in ((Circumstances(), False), (Circumstances(streams_unseen="of 2 …"), True)):
        found = decide(
            y, Tags(), GaugeFacts(), resolve(), lower=-8.0, upper=8.0, circumstances=around
        )
        sample = next(item for item in found.rulings if item.rule == "sample")
        assert (sample.effect == "customer approval required") is least


@pytest.mark.parametrize(
    ("changes", "effect"),
    [
        ({"n": 100}, "supports"),
        ({"n": 99}, APPROVAL),
        ({"subgroups": 25}, "supports"),
        ({"subgroups": 24}, APPROVAL),
        ({"coils": 2}, "supports"),
        ({"coils": 1}, APPROVAL),
        ({"regrinds": 1}, "supports"),
        ({"regrinds": 0}, APPROVAL),
    ],
)
def test_either_side_of_a_full_sample(changes: dict[str, object], effect: str) -> None:
    assert ruling("sample", process(**changes)).effect == effect


@pytest.mark.parametrize(("p", "effect"), [(0.005, "supports"), (0.00499, APPROVAL)])
def test_either_side_of_control(p: float, effect: str) -> None:
    assert ruling("stability", process(steady_p=p, matters=True)).effect == effect
