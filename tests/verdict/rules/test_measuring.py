"""Rules on the measurement system, on either side of their criteria."""

from __future__ import annotations

import dataclasses
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


@pytest.mark.parametrize(
    ("changes", "kind", "effect"),
    [
        # A spread of specimens taken off by declaration is shown by no study.
        ({"share": known(0.10), "declared": True}, "process", APPROVAL),
        ({"share": known(0.31), "declared": True}, "process", "cannot be judged"),
        # A study of the gauge alone is answered; readings of such a gauge carry no claim.
        ({"share": known(0.31)}, "gauge", "does not meet"),
        ({"share": known(0.31)}, "process", "cannot be judged"),
        # What the step hides counts where it is more than what was seen, and only there.
        ({"share": known(0.05), "least_share": 0.31}, "process", "cannot be judged"),
        ({"share": known(0.11), "least_share": 0.02}, "process", APPROVAL),
        ({"share": Absent("none"), "separable": False, "cg": known(2.0)}, "gauge", APPROVAL),
        ({"share": Absent("none"), "q_mp": known(0.1)}, "process", APPROVAL),
        ({"share": Absent("none"), "certified": 0.1}, "process", APPROVAL),
        (
            {"share": Absent("none"), "cg": None, "q_mp": None, "certified": None},
            "process",
            "cannot be judged",
        ),
    ],
)
def test_spread_by_what_it_rests_on(changes: dict[str, object], kind: str, effect: str) -> None:
    facts = dataclasses.replace(gauge(**changes), kind=kind)
    assert ruling("gauge spread", facts).effect == effect


@pytest.mark.parametrize(
    ("changes", "whose", "effect"),
    [
        ({"ndc": known(9.0), "ndc_by_run": 8.0, "least_ndc": 4.9}, "the resolution", APPROVAL),
        ({"ndc": known(9.0), "ndc_by_run": 8.0, "least_ndc": 12.0}, "the run", "supports"),
        ({"ndc": known(7.0), "ndc_by_run": 8.0, "least_ndc": None}, "of the study", "supports"),
        ({"ndc": Absent("none"), "ndc_by_run": 2.0}, "", "no evidence"),
        # An estimate of no categories is no gauge without spread.
        ({"ndc": known(-math.inf), "ndc_by_run": None}, "of the study", APPROVAL),
    ],
)
def test_the_fewest_categories_count(changes: dict[str, object], whose: str, effect: str) -> None:
    said = ruling("categories", gauge(**changes))
    assert said.effect == effect
    assert whose in said.reason


def test_a_bias_within_its_share_is_held_to_its_masters() -> None:
    inside = {"bias": {"x": between(-0.001, 0.0, 0.005)}}
    assert ruling("bias", gauge(**inside, masters_stated=False)).effect == APPROVAL
    assert ruling("bias", gauge(**inside, masters_short="the upper limit")).effect == APPROVAL
    shown = ruling("bias", gauge(bias={"x": between(0.0, 0.005, 0.01)}))
    assert "not shown to be within 5%" in shown.reason
    beyond = ruling("bias", gauge(bias={"x": between(0.005, 0.0051, 0.0052)}))
    assert "more than 5%: correct it" in beyond.reason


@pytest.mark.parametrize("width", [None, 0.0])
def test_what_was_read_on_masters_is_said_where_nothing_holds_it(width: float | None) -> None:
    """Masters that were read are not said to be missing where there is neither tolerance nor run."""
    said = ruling("bias", gauge(width=width))
    assert said.effect == APPROVAL
    assert "No masters" not in said.reason
    assert "+0.0005" in said.reason
    none = ruling("bias", gauge(width=width, bias={}))
    assert (none.effect, "No masters were measured" in none.reason) == (APPROVAL, True)
    moved = ruling("drift", gauge(width=width))
    assert (moved.effect, "drift" in moved.reason) == (APPROVAL, True)
    assert ruling("drift", gauge(width=width, drift=None)).effect == "no evidence"


def test_a_drift_far_from_the_master_is_reached_by_reading_it_more_often() -> None:
    wide = between(-0.0051, 0.0, 0.001)
    assert "reset more often" in ruling("drift", gauge(drift=wide)).reason
    said = ruling("drift", gauge(drift=wide, drift_gap=12_000.0)).reason
    assert "over the 12,000 strokes" in said
    assert "read the master all along the run" in said


def test_cg_without_cgk_is_no_evidence() -> None:
    for missing in ("cg", "cgk"):
        alone = {"share": Absent("none"), "cg": known(2.0), "cgk": known(2.0), missing: None}
        assert ruling("Cg and Cgk", gauge(**alone)).effect == "no evidence"


def test_a_step_too_fine_to_print_is_told_as_less() -> None:
    assert "resolution less than 0.1% of" in ruling("resolution", gauge(step_share=0.0009)).reason
    assert "resolution 0.1% of" in ruling("resolution", gauge(step_share=0.001)).reason


def test_the_criterion_held_is_the_one_that_is_missed() -> None:
    def key(rule: str, **changes: object) -> str:
        found = ruling(rule, gauge(**changes)).criterion
        assert found is not None
        return found.key

    both = {"q_ms": known(0.1), "q_mp": known(0.2)}
    assert key("uncertainty", **both) == "q_ms_max"
    assert key("uncertainty", **{**both, "q_mp": known(0.4)}) == "q_mp_max"
    none = {"share": Absent("none"), "cg": known(2.0), "cgk": known(2.0)}
    assert key("Cg and Cgk", **none) == "cg_min"
    assert key("Cg and Cgk", **{**none, "cgk": known(1.0)}) == "cgk_min"
    assert key("Cg and Cgk", **{**none, "cgk": known(1.0), "cg": known(1.0)}) == "cg_min"


def test_an_estimate_decides_where_no_bound_is_asked_for() -> None:
    wide = {"cg": between(1.2, 1.4, 1.6), "cgk": between(1.2, 1.4, 1.6)}
    said = ruling("Cg and Cgk", gauge(share=Absent("none"), **wide))
    assert said.effect == "supports"
    assert "Cg = 1.40 (at least 1.33), Cgk = 1.40 (at least 1.33)." in said.reason
    said = ruling("uncertainty", gauge(q_ms=between(0.1, 0.14, 0.16), q_mp=None))
    assert said.effect == "supports"
    assert said.reason == "camera: Q_MS 14.0% (criterion: at most 15%)."
