"""Rules on the measurement system, on either side of their criteria."""

from __future__ import annotations

import math

import pytest
from sound_facts import (
    APPROVAL,
    decision,
    gauge,
    index,
    known,
    ruling,
)

from linestudy.results import Absent, Interval


@pytest.mark.parametrize(
    ("share", "expected"),
    [(0.10, "meets"), (0.11, APPROVAL), (0.30, APPROVAL), (0.31, "cannot be judged")],
)
def test_gauge_spread(share: float, expected: str) -> None:
    assert decision(gauge(share=known(share))) == expected


def test_capability_and_measurement_are_held_apart() -> None:
    wide = gauge(share=known(0.09, 0.05))
    assert decision(wide) == "meets"
    assert decision(wide, decide_capability_on="lower bound") == "meets"
    assert decision(wide, decide_measurement_on="lower bound") == APPROVAL
    low = index(1.9, bound=1.5)
    assert decision(low, decide_measurement_on="lower bound") == "meets"
    assert decision(low, decide_capability_on="lower bound") == APPROVAL
    # The old key sets both.
    assert decision(low, decide_on="lower bound") == APPROVAL
    assert decision(wide, decide_on="lower bound") == APPROVAL
    assert decision(gauge(ndc=known(5.5, math.inf)), decide_on="lower bound") == APPROVAL


def between(low: float, estimate: float, high: float) -> Interval:
    return Interval(estimate, low, high, 0.9, "example")


@pytest.mark.parametrize(
    ("rule", "changes", "effect"),
    [
        # The tolerance is 0.1 mm and a twentieth of it allowed: the whole interval is held against it, either end.
        ("bias", {"bias": {"x": between(-0.001, 0.0, 0.005)}}, "supports"),
        ("bias", {"bias": {"x": between(-0.001, 0.0, 0.0051)}}, APPROVAL),
        ("bias", {"bias": {"x": between(-0.0051, 0.0, 0.001)}}, APPROVAL),
        ("bias", {"bias": {"x": known(0.0), "y": between(-0.006, -0.0055, -0.005)}}, APPROVAL),
        ("bias", {"bias": {}, "separable": False}, "no evidence"),
        ("bias", {"width": None}, APPROVAL),
        ("drift", {"drift": between(-0.005, 0.0, 0.001)}, "supports"),
        ("drift", {"drift": between(-0.0051, 0.0, 0.001)}, APPROVAL),
        ("resolution", {"step_share": 0.1}, "supports"),
        ("resolution", {"step_share": 0.1001}, APPROVAL),
        ("resolution", {"step_share": None}, "no evidence"),
        ("uncertainty", {"q_ms": known(0.15), "q_mp": known(0.30)}, "supports"),
        ("uncertainty", {"q_ms": known(0.1501), "q_mp": None}, APPROVAL),
        ("uncertainty", {"q_ms": None, "q_mp": known(0.3001)}, APPROVAL),
        ("categories", {"ndc": known(5.0), "ndc_by_run": None}, "supports"),
        # Categories are whole: 4.99 of them are four.
        ("categories", {"ndc": known(4.99), "ndc_by_run": None}, APPROVAL),
        ("categories", {"ndc": known(12.0), "ndc_by_run": 4.9}, APPROVAL),
        ("categories", {"ndc": known(math.inf), "ndc_by_run": math.inf}, "supports"),
        ("certificates", {"expired": ()}, "no evidence"),
    ],
)
def test_either_side_of_the_criterion(rule: str, changes: dict[str, object], effect: str) -> None:
    assert ruling(rule, gauge(**changes)).effect == effect


@pytest.mark.parametrize(
    ("cg", "cgk", "effect"),
    [(1.33, 1.33, "supports"), (1.32, 1.5, APPROVAL), (1.5, 1.32, APPROVAL)],
)
def test_one_master_is_asked_where_no_parts_were_read(cg: float, cgk: float, effect: str) -> None:
    alone = gauge(share=Absent("no study"), cg=known(cg), cgk=known(cgk))
    assert ruling("Cg and Cgk", alone).effect == effect
    # However good, it stands for no parts and no people.
    assert ruling("gauge spread", alone).effect == APPROVAL
    beside = gauge(cg=known(cg), cgk=known(cgk))
    assert ruling("Cg and Cgk", beside).effect == "no evidence"


def test_on_the_bound_the_unfavourable_end_is_held() -> None:
    def on_bound(rule: str, **changes: object) -> str:
        return ruling(rule, gauge(**changes), decide_measurement_on="lower bound").effect

    assert on_bound("gauge spread", share=between(0.05, 0.06, 0.1)) == "supports"
    assert on_bound("gauge spread", share=between(0.05, 0.06, 0.101)) == APPROVAL
    assert on_bound("categories", ndc=between(4.9, 9.0, 12.0)) == APPROVAL
    assert on_bound("uncertainty", q_ms=between(0.1, 0.14, 0.16)) == APPROVAL
    cg = {"share": Absent("none"), "cgk": known(2.0)}
    assert on_bound("Cg and Cgk", cg=between(1.3, 1.5, 1.7), **cg) == APPROVAL


def test_a_crossed_study_that_failed_is_replaced_by_nothing() -> None:
    """A budget or a certificate may stand where no study was made, not where one was made and says nothing."""
    none = {"share": Absent("no repeated readings"), "cg": known(2.0), "cgk": known(2.0)}
    assert ruling("gauge spread", gauge(**none)).effect == APPROVAL
    assert ruling("gauge spread", gauge(**none, failed=True)).effect == "cannot be judged"


def test_a_criterion_is_written_as_it_is_held_against() -> None:
    """A criterion of 12.5 % is not told as one of 12 %, beside which 12.3 % would not be within."""
    said = ruling("gauge spread", gauge(share=known(0.123)), grr_accept=0.125)
    assert (said.effect, "at most 12.5%" in said.reason) == ("supports", True)
    said = ruling("bias", gauge(), bias_share=0.025)
    assert "allowed 2.5%" in said.reason
    assert "at most 10%" in ruling("gauge spread", gauge()).reason
