"""The table of rules: what limits a claim, and that criteria change decisions and nothing else.

Thresholds: AIAG PPAP 4th ed. 2.2.11.3 (1.67, 1.33) and AIAG MSA 4th ed. (10 %, 30 %, ndc 5),
values from memory.
"""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.results import Absent, Interval
from linestudy.study.model import Criteria as StudyCriteria
from linestudy.verdict.criteria import DEFAULTS, resolve
from linestudy.verdict.decisions import EFFECTS, Evidence, decide, rule_on


def known(value: float, half: float = 0.0) -> Interval:
    return Interval(value, value - half, value + half, 0.95, "example")


GOOD = Evidence(
    gauge="camera",
    gauge_share=known(0.06, 0.02),
    share_of="tolerance",
    distinct_categories=known(9.0, 2.0),
    separable=True,
    bias=known(0.0001),
    bias_p=0.6,
    tolerance=0.1,
    time_model="A1",
    signals=0.0,
    expected_signals=0.3,
    index_name="Ppk",
    index=known(2.0, 0.2),
    index_bound=None,
    rival_index=1.95,
    rival_name="lognormal",
    readings=625,
    subgroups=125,
    sorted_parts=False,
)


def decision(**changes: object) -> str:
    evidence = dataclasses.replace(GOOD, **changes)  # type: ignore[arg-type]
    return decide(rule_on(evidence, resolve()))


def test_good_evidence_meets() -> None:
    assert decision() == "meets"


@pytest.mark.parametrize(
    ("index", "expected"),
    [
        (1.68, "meets"),
        (1.67, "needs agreement"),
        (1.33, "needs agreement"),
        (1.32, "does not meet"),
    ],
)
def test_index_against_the_criteria(index: float, expected: str) -> None:
    assert decision(index=known(index), rival_index=None) == expected


@pytest.mark.parametrize(
    ("share", "expected"),
    [
        (0.10, "meets"),
        (0.11, "needs agreement"),
        (0.30, "needs agreement"),
        (0.31, "cannot be judged"),
    ],
)
def test_gauge_against_the_criteria(share: float, expected: str) -> None:
    assert decision(gauge_share=known(share)) == expected


@pytest.mark.parametrize(
    "changes",
    [
        {"gauge_share": known(0.5)},
        {"gauge_share": Absent("no gauge study is in the folder")},
        {"time_model": "D"},
        {"index": Absent("only three parts")},
    ],
)
def test_a_good_index_never_outweighs_missing_trust(changes: dict[str, object]) -> None:
    assert decision(**changes) == "cannot be judged"


@pytest.mark.parametrize(
    "changes",
    [
        {"distinct_categories": known(4.9)},
        {"bias_p": 0.001, "bias": known(0.01)},
        {"time_model": "C3"},
        {"readings": 99},
        {"subgroups": 24},
        {"rival_index": 1.5},
        {"sorted_parts": True},
        {"separable": False, "gauge_share": Absent("destructive")},
    ],
)
def test_what_the_customer_must_agree_to(changes: dict[str, object]) -> None:
    assert decision(**changes) == "needs agreement"


def test_on_the_bound_the_unfavourable_end_decides() -> None:
    criteria = resolve(StudyCriteria(decide_on="lower bound"))
    wide = dataclasses.replace(GOOD, index=known(1.8, 0.2))
    assert decide(rule_on(wide, resolve())) == "meets"
    assert decide(rule_on(wide, criteria)) == "needs agreement"
    assert any("confidence bound" in item.reason for item in rule_on(wide, criteria))


def test_on_the_bound_the_other_distribution_is_held_by_its_bound_too() -> None:
    # The index passes by its bound, 1.7; the rival passes by its estimate, 1.72, but not by its bound.
    close = dataclasses.replace(GOOD, index=known(1.9, 0.2), rival_index=1.72)
    bound = resolve(StudyCriteria(decide_on="lower bound"))
    assert decide(rule_on(close, resolve())) == "meets"
    assert decide(rule_on(close, bound)) == "needs agreement"


def test_gauge_and_categories_are_held_by_their_bounds() -> None:
    bound = resolve(StudyCriteria(decide_on="lower bound"))
    for changes in (
        {"gauge_share": known(0.09, 0.05)},
        {"distinct_categories": known(5.5, 1.0)},
        {"distinct_categories": known(5.5, math.inf)},
    ):
        found = dataclasses.replace(GOOD, **changes)  # type: ignore[arg-type]
        assert decide(rule_on(found, resolve())) == "meets"
        assert decide(rule_on(found, bound)) == "needs agreement"


def test_a_criterion_changes_decisions_and_no_number() -> None:
    strict = resolve(
        StudyCriteria(capability_accept=2.5, capability_review=2.2, source="Customer X")
    )
    rulings = {item.rule: item for item in rule_on(GOOD, strict)}
    assert rulings["capability"].effect == "does not meet"
    assert rulings["capability"].criterion is not None
    assert rulings["capability"].criterion.source == "Customer X"
    usual = {item.rule: item for item in rule_on(GOOD, resolve())}
    assert {
        k: v for k, v in rulings.items() if k not in ("capability", "choice of distribution")
    } == {k: v for k, v in usual.items() if k not in ("capability", "choice of distribution")}


def test_every_default_has_a_source() -> None:
    assert all(source for _, source in DEFAULTS.values())


finite = st.floats(0.01, 5)


@given(finite, finite, st.sampled_from(["A1", "B", "C3", "D", None]))
def test_a_better_index_never_makes_the_decision_worse(
    a: float, b: float, model: str | None
) -> None:
    order = ["cannot be judged", "does not meet", "needs agreement", "meets"]
    low, high = sorted((a, b))
    worse = decision(index=known(low), time_model=model, rival_index=None)
    better = decision(index=known(high), time_model=model, rival_index=None)
    assert order.index(better) >= order.index(worse)


@given(st.lists(st.sampled_from(EFFECTS), min_size=1))
def test_the_strongest_effect_decides(effects: list[str]) -> None:
    from linestudy.verdict.decisions import DECISIONS, Ruling

    rulings = tuple(Ruling("rule", effect, "Because.") for effect in effects)
    assert decide(rulings) == DECISIONS[max(effects, key=EFFECTS.index)]


def test_no_evidence_is_no_claim() -> None:
    assert decide(()) == "cannot be judged"
    assert math.isfinite(resolve()["ndc_min"].number)
