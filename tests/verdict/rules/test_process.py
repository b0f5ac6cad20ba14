"""Rules on the process: sample, stability, what was left out."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from sound_facts import (
    APPROVAL,
    GOOD,
    gauge,
    index,
    process,
    ruling,
)

from linestudy.study.model import Criteria as StudyCriteria
from linestudy.verdict import (
    CharacteristicFacts,
    Circumstances,
    Tags,
    decide,
    resolve,
    rule_on,
)
from linestudy.verdict.facts import BEFORE_SORTING, IndexFacts, LeftOut, RecordFacts
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


def untimed(facts: CharacteristicFacts) -> CharacteristicFacts:
    return dataclasses.replace(facts, circumstances=Circumstances(in_time=False))


@pytest.mark.parametrize(
    ("changes", "in_order", "in_no_order"),
    [
        # Effective readings of the mean: ten, common practice.
        ({"n_eff_mean": 10.0}, "supports", "supports"),
        ({"n_eff_mean": 9.9}, APPROVAL, "supports"),
        ({"coils": 1}, APPROVAL, "supports"),
        ({"regrinds": 0}, APPROVAL, "supports"),
        # AIAG PPAP, 4th ed., 2.1: a significant production run takes an hour at least (value from memory).
        ({"hours": 1.0, "days": 1}, "supports", "supports"),
        ({"hours": 0.99, "days": 1}, APPROVAL, "supports"),
        ({"hours": 0.99, "days": 1, "coils": 2}, "supports", "supports"),
        # Parts of one lot show no lot but their own; of a run that is said of its coil.
        ({"lots": 1}, "supports", APPROVAL),
        ({"lots": 2}, "supports", "supports"),
        ({"lots": 6, "lot_bound_share": 0.50}, "supports", "supports"),
        ({"lots": 6, "lot_bound_share": 0.49}, APPROVAL, APPROVAL),
        # Effective readings of a spread (Kish 1965): 300 / (1 + 9 * 0.5 ** 2) = 92, 330 in 33 lots 102.
        ({"n": 300, "lots": 30, "lot_share": 0.5}, APPROVAL, APPROVAL),
        ({"n": 330, "lots": 33, "lot_share": 0.5}, "supports", "supports"),
        # Below half of the variance it is not asked: 300 / (1 + 9 * 0.49 ** 2) = 95.
        ({"n": 300, "lots": 30, "lot_share": 0.49}, "supports", "supports"),
    ],
)
def test_what_a_run_and_what_readings_in_no_order_must_have_seen(
    changes: dict[str, object], in_order: str, in_no_order: str
) -> None:
    assert ruling("sample", process(**changes)).effect == in_order
    assert ruling("sample", untimed(process(**changes))).effect == in_no_order


def test_readings_in_no_order_are_no_evidence_of_control() -> None:
    moving = process(steady_p=1e-9, matters=True)
    moving = dataclasses.replace(moving, gauge=gauge(separable=False).gauge)
    assert ruling("stability", untimed(moving)).effect == "no evidence"


@pytest.mark.parametrize(
    ("outside", "expected", "effect"),
    [
        # Poisson: at least one where m are expected has p = 1 - exp(-m), which is 0.001 at m = 0.0010005.
        (1, 0.00101, "supports"),
        (1, 0.00099, APPROVAL),
        # At least two: 1 - exp(-m) (1 + m), which is 0.001 at m = 0.0454.
        (2, 0.046, "supports"),
        (2, 0.045, APPROVAL),
        (0, 0.0, "supports"),
        (0, 50.0, "supports"),
        (1, 0.0, APPROVAL),
    ],
)
def test_readings_outside_against_what_chance_gives(
    outside: int, expected: float, effect: str
) -> None:
    facts = process(outside=outside, expected_outside=expected)
    assert ruling("observed against expected", facts).effect == effect


def test_after_sorting_no_reading_outside_is_no_evidence_but_one_is() -> None:
    before = IndexFacts(BEFORE_SORTING, 1.9, 1.8, 2.0)
    none = dataclasses.replace(process(outside=0, expected_outside=1e-6), index=before)
    said = ruling("observed against expected", none)
    assert (said.effect, "were sorted out" in said.reason) == ("supports", True)
    one = dataclasses.replace(process(outside=1, expected_outside=1e-6), index=before)
    assert ruling("observed against expected", one).effect == APPROVAL


@pytest.mark.parametrize(
    ("around", "record", "effect"),
    [
        ({"sorted_with": "Height"}, {}, APPROVAL),
        ({"set_aside": 0.05}, {}, "supports"),
        ({"set_aside": 0.051}, {}, APPROVAL),
        ({"excluded": 0.01}, {}, "supports"),
        ({"excluded": 0.011}, {}, APPROVAL),
        # One reason that leaves out as much is said by the rule on exclusions instead.
        ({"excluded": 0.5, "left_out": (LeftOut("no reading", 9, 0.5, False),)}, {}, "supports"),
        ({"excluded": 0.5, "left_out": (LeftOut("purge", 9, 0.5, True),)}, {}, APPROVAL),
        ({}, {"suspect": 1}, APPROVAL),
        ({}, {"periods": 9, "periods_outside": 1}, APPROVAL),
        # 1.67 is not above what is asked, so the periods alone carry the claim of 2.0.
        ({}, {"periods": 9, "periods_index": 1.67}, APPROVAL),
        ({}, {"periods": 9, "periods_index": 1.68}, "supports"),
    ],
)
def test_either_side_of_what_may_be_left_out(
    around: dict[str, object], record: dict[str, object], effect: str
) -> None:
    facts = dataclasses.replace(
        GOOD,
        circumstances=Circumstances(**around),  # type: ignore[arg-type]
        record=RecordFacts(**record),  # type: ignore[arg-type]
    )
    assert ruling("sorting", facts).effect == effect


def test_periods_change_nothing_where_the_claim_fails_with_and_without_them() -> None:
    facts = dataclasses.replace(index(1.67), record=RecordFacts(periods=9, periods_index=1.2))
    assert ruling("sorting", facts).effect == "supports"


def test_sorted_parts_are_told_even_where_none_was_read() -> None:
    nothing = dataclasses.replace(process(n=0), circumstances=Circumstances(sorted_parts=True))
    assert ruling("sorting", nothing).effect == APPROVAL
    assert ruling("sorting", process(n=0)).effect == "no evidence"


@pytest.mark.parametrize(
    ("described", "carried", "effect"),
    [(True, False, "supports"), (False, True, "supports"), (False, False, APPROVAL)],
)
def test_what_describes_the_readings(described: bool, carried: bool, effect: str) -> None:
    facts = process(described=described, carried=carried)
    assert ruling("distribution", facts).effect == effect


def test_control_is_told_by_its_chance_and_points_by_their_causes() -> None:
    assert "(p = 0.050)" in ruling("stability", process(steady_p=0.05)).reason
    assert "(p > 0.1)" in ruling("stability", process(steady_p=0.5)).reason

    def moving(points: int, unexplained: int) -> str:
        some = tuple(point(float(i)) for i in range(points))
        facts = process(steady_p=1e-9, matters=True, points=some, unexplained=unexplained)
        return ruling("stability", facts).reason

    # Without points out of control there is nothing that a cause could explain.
    assert "cause" not in moving(0, 0)
    assert "no assignable cause with an action. " in moving(1, 1)
    assert "no assignable cause with an action for 2 of them. " in moving(3, 2)
    assert "causes named and acted upon" in moving(3, 0)


def test_shares_left_out_for_named_reasons_are_told_where_there_are_any() -> None:
    some = dataclasses.replace(GOOD, circumstances=Circumstances(set_aside=0.03))
    assert ruling("sorting", some).reason == (
        "No sign of sorting. 3.0% of the readings excluded for named reasons."
    )
    assert ruling("sorting", GOOD).reason == "No sign of sorting."


def test_before_sorting_no_description_of_the_readings_is_claimed() -> None:
    before = IndexFacts(BEFORE_SORTING, 1.9, 1.8, 2.0)
    said = ruling("distribution", dataclasses.replace(process(described=False), index=before))
    assert said.effect == "supports"
    assert said.reason.startswith("Ppk before sorting is the middle")


@pytest.mark.parametrize(
    ("hours", "words"), [(0.001, "1 minute"), (0.99, "59 minutes"), (1.0, "1.0 h"), (10.0, "10 h")]
)
def test_a_length_of_time_in_its_unit(hours: float, words: str) -> None:
    assert f"within {words} on" in ruling("sample", process(hours=hours, days=1, coils=4)).reason


@pytest.mark.parametrize(
    ("separable", "effect"), [(True, "customer approval required"), (False, "no evidence")]
)
def test_readings_in_no_order_say_nothing_of_stability_unless_parts_are_destroyed(
    separable: bool, effect: str
) -> None:
    facts = dataclasses.replace(
        gauge(separable=separable), circumstances=Circumstances(in_time=False)
    )
    assert ruling("stability", facts).effect == effect


@pytest.mark.parametrize(("n", "effect"), [(49, "customer approval required"), (50, "supports")])
def test_a_short_run_takes_fifty_parts(n: int, effect: str) -> None:
    assert ruling("sample", dataclasses.replace(process(n=n), kind="machine")).effect == effect
