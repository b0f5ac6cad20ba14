"""The index against what is asked, and whether what is asked was weakened."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sound_facts import (
    APPROVAL,
    GOOD,
    decision,
    index,
    process,
)
from sound_facts import (
    ruling as said_by,
)

from linestudy.results import Absent
from linestudy.study.model import Criteria as StudyCriteria
from linestudy.verdict import Circumstances, IndexFacts, resolve, rule_on
from linestudy.verdict.rulings import DECISIONS, Ruling


@pytest.mark.parametrize(
    ("value", "expected"),
    [(1.68, "meets"), (1.67, APPROVAL), (1.33, APPROVAL), (1.32, "does not meet")],
)
def test_index_against_the_criteria(value: float, expected: str) -> None:
    assert decision(index(value)) == expected


def test_below_the_lower_criterion_only_where_every_description_says_so() -> None:
    assert decision(index(1.2, highest=1.5)) == APPROVAL
    assert decision(index(1.2, highest=1.25)) == "does not meet"


def test_a_bound_of_little_confidence_requires_approval() -> None:
    on_bound = resolve(StudyCriteria(decide_capability_on="lower bound"))

    def decided(confidence: float) -> str:
        held = dataclasses.replace(index(1.9, 1.75).index, confidence=confidence)  # type: ignore[type-var]
        return rule_on(dataclasses.replace(GOOD, index=held), on_bound).decision

    assert [decided(0.95), decided(0.99), decided(0.5)] == ["meets", "meets", APPROVAL]


def test_weakened_criteria_are_said_under_their_true_source() -> None:
    def ruling(**keys: object) -> Ruling:
        found = rule_on(GOOD, resolve(StudyCriteria(**keys)))  # type: ignore[arg-type]
        return next(item for item in found.rulings if item.rule == "criteria")

    assert (
        ruling(capability_accept=1.0, source="AIAG PPAP, 4th ed. (2006), 2.2.11.3").effect
        == APPROVAL
    )
    assert ruling(capability_accept=1.0).effect == APPROVAL
    asked = ruling(capability_accept=1.0, source="Customer X, letter of 3 May")
    assert asked.effect == "supports"
    assert "Customer X" in asked.reason
    assert ruling(capability_accept=2.0).effect == "supports"
    assert ruling(stability_alpha=1e-9, source="ISO 22514-2").effect == APPROVAL


@given(st.floats(0.01, 5), st.floats(0.01, 5), st.floats(1e-6, 1), st.booleans())
def test_a_better_index_never_makes_the_decision_worse(
    a: float, b: float, p: float, matters: bool
) -> None:
    low, high = sorted((a, b))
    steady = process(steady_p=p, matters=matters).process
    worse = decision(dataclasses.replace(index(low), process=steady))
    better = decision(dataclasses.replace(index(high), process=steady))
    assert DECISIONS.index(better) <= DECISIONS.index(worse)


@pytest.mark.parametrize(
    ("source", "effect"),
    [
        ("ISO22514-2:2020", APPROVAL),
        ("AIAG-PPAP", APPROVAL),
        ("the usual standard", APPROVAL),
        # Names of customers that begin as a standard's name does.
        ("Dinkelmann GmbH, letter of 3 May", "supports"),
        ("Isola Connect, drawing 4711", "supports"),
        ("Spcform Ltd, order 12", "supports"),
    ],
)
def test_only_a_standard_is_held_to_what_stands_in_it(source: str, effect: str) -> None:
    assert said_by("criteria", capability_accept=1.0, source=source).effect == effect


def test_what_is_stricter_or_only_other_is_told_as_such() -> None:
    assert "Stricter than usual" in said_by("criteria", capability_accept=2.0).reason
    assert said_by("criteria").reason == "No criterion is weaker than usual."
    other = said_by("criteria", grr_of="process variation", source="Customer X")
    assert other.reason.startswith("Other than usual: ")
    assert other.reason.endswith("as Customer X asks.")


def test_the_worst_stream_is_told_beside_the_others() -> None:
    found = IndexFacts(
        "Ppk, worst stream", 1.4, 1.2, 1.5, stream="C", by_stream={"A": 2.0, "C": 1.4, "B": 1.9}
    )
    said = said_by("index", dataclasses.replace(GOOD, index=found))
    assert said.effect == APPROVAL
    assert "Ppk, worst stream (C) = 1.40" in said.reason
    assert "(A: 2.00, B: 1.90)" in said.reason
    assert "C: 1.40" not in said.reason


def test_why_there_is_no_index_is_said() -> None:
    absent = dataclasses.replace(GOOD, index=Absent("only three parts"))
    assert said_by("index", absent).reason == "No index can be given: only three parts."
    refused = dataclasses.replace(absent, circumstances=Circumstances(refused="they were sorted"))
    assert said_by("index", refused).reason == "No index can be given: they were sorted."


def test_on_the_bound_the_highest_description_saves_nothing() -> None:
    facts = index(1.5, bound=1.2, highest=1.9)
    assert said_by("index", facts, decide_capability_on="lower bound").effect == "does not meet"
    assert said_by("index", facts).effect == APPROVAL


@pytest.mark.parametrize(
    ("largest", "described", "expected"),
    [
        # Limits at 1 and -1 about nought: readings within 0.6 are those of an index of at most 1.67, within 0.8 of 1.25.
        (0.6, False, APPROVAL),
        (0.8, False, "does not meet"),
        (1.2, False, "does not meet"),
        (0.6, True, "does not meet"),
    ],
)
def test_what_no_distribution_describes_fails_where_its_readings_reach_too_far(
    largest: float, described: bool, expected: str
) -> None:
    reach = process(described=described, mean=0.0, smallest=-0.3, largest=largest).process
    facts = dataclasses.replace(index(0.96), process=reach, lower=-1.0, upper=1.0)
    assert decision(facts) == expected
    # Who decides on the bound asks for what is shown.
    strict = resolve(StudyCriteria(decide_capability_on="lower bound"))
    assert rule_on(facts, strict).decision == "does not meet"


@pytest.mark.parametrize(
    ("lower", "upper", "smallest", "largest", "expected"),
    [
        # 1 / 0.8 = 1.25 at either limit, whichever is given; 1 / 0.6 = 1.67.
        (-1.0, 1.0, -0.8, 0.6, "does not meet"),
        (-1.0, None, -0.8, 0.6, "does not meet"),
        (None, 1.0, -0.8, 0.6, APPROVAL),
        (-1.0, None, -0.6, 0.8, APPROVAL),
        # Readings that never leave their mean show no reach.
        (-1.0, 1.0, 0.0, 0.0, "does not meet"),
    ],
)
def test_the_reach_is_that_towards_the_nearer_limit(
    lower: float | None, upper: float | None, smallest: float, largest: float, expected: str
) -> None:
    reach = process(described=False, mean=0.0, smallest=smallest, largest=largest).process
    facts = dataclasses.replace(index(0.96), process=reach, lower=lower, upper=upper)
    assert said_by("index", facts).effect == expected


@pytest.mark.parametrize(
    ("bound", "effect"),
    [(1.68, "supports"), (1.67, APPROVAL), (1.33, APPROVAL), (1.32, "does not meet")],
)
def test_a_bound_that_decides_against_the_criteria(bound: float, effect: str) -> None:
    facts = index(2.5, bound=bound)
    assert said_by("index", facts, decide_capability_on="lower bound").effect == effect


def test_a_description_that_reaches_what_is_asked_for_by_approval_is_enough_for_it() -> None:
    assert said_by("index", index(1.2, highest=1.33)).effect == APPROVAL
    assert said_by("index", index(1.2, highest=1.329)).effect == "does not meet"


def test_confidence_of_a_bound_just_below_the_usual_one() -> None:
    held = dataclasses.replace(index(1.9, 1.75).index, confidence=0.949)  # type: ignore[type-var]
    facts = dataclasses.replace(GOOD, index=held)
    assert said_by("index", facts, decide_capability_on="lower bound").effect == APPROVAL
    # The estimate has no confidence that could be lowered.
    assert said_by("index", facts).effect == "supports"


def test_no_standard_makes_a_choice_for_the_customer() -> None:
    said = said_by("criteria", grr_of="process variation", source="AIAG MSA, 4th ed.")
    assert said.effect == APPROVAL
    assert "No standard makes this choice" in said.reason
    # The choice is held first, whatever else is weaker.
    more = said_by("criteria", grr_of="process variation", ndc_min=3.0, source="AIAG MSA, 4th ed.")
    assert "No standard makes this choice" in more.reason
    assert more.criterion is not None
    assert more.criterion.key == "grr_of"


def test_one_weaker_criterion_without_a_source_is_enough() -> None:
    named = StudyCriteria(
        capability_accept=1.0,
        source="Customer X, letter of 3 May",
        other={"grr_accept": 0.2},  # type: ignore[arg-type]
    )
    from linestudy.study.model import Characteristic

    of = Characteristic(id="a", name="A", lower=0.0, upper=1.0)
    found = rule_on(GOOD, resolve(named, of))
    said = next(item for item in found.rulings if item.rule == "criteria")
    assert said.effect == APPROVAL
    assert "without a source" in said.reason


def test_no_more_than_six_other_streams_are_told() -> None:
    def told(others: int) -> str:
        streams = {"C": 1.4, **{str(number): 2.0 for number in range(others)}}
        found = IndexFacts("Ppk, worst stream", 1.4, 1.2, 1.5, stream="C", by_stream=streams)
        return said_by("index", dataclasses.replace(GOOD, index=found)).reason

    assert "stream 5: 2.00)" in told(6)
    assert "stream 5: 2.00, …)" in told(7)


def test_what_decides_is_told_with_its_confidence() -> None:
    facts = index(1.9, bound=1.7)
    on_bound = said_by("index", facts, decide_capability_on="lower bound").reason
    assert (
        "Ppk = 1.90, at least 1.70 (one-sided, 95% confidence, on which it is decided)" in on_bound
    )
    assert "at least" not in said_by("index", facts).reason


def test_of_several_weaker_criteria_each_is_listed_and_the_first_is_held() -> None:
    weak = {"capability_accept": 1.0, "grr_accept": 0.2, "grr_of": "process variation"}
    found = said_by("criteria", **weak, source="Customer X")
    assert found.reason.startswith("Weaker than usual: ")
    assert found.criterion is not None
    assert found.criterion.key == "capability_accept"
    standard = said_by("criteria", **weak, source="AIAG PPAP")
    assert standard.criterion is not None
    assert standard.criterion.key == "capability_accept"
    assert "the usual value is 1.67 (AIAG PPAP, 4th ed. (2006), 2.2.11.3)" in standard.reason
    unnamed = said_by("criteria", capability_accept=1.0, grr_accept=0.2).criterion
    assert unnamed is not None
    assert unnamed.key == "capability_accept"
