"""Rules on judgements: parts near the limit, and kappa of rare kinds."""

from __future__ import annotations

from typing import Any

import pytest

from linestudy.gauges.judgement.rates import WorstRates
from linestudy.results import Absent, Interval
from linestudy.study.model import Criteria as StudyCriteria
from linestudy.verdict import rule_on
from linestudy.verdict.criteria import resolve
from linestudy.verdict.facts import CharacteristicFacts
from linestudy.verdict.measurement_facts import JudgementFacts
from linestudy.verdict.rules.judging import (
    kappa,
    missing,
    near_the_limit,
    parts_judged,
    repeats,
    who_judged,
)

APPROVAL, SUPPORTS, FAILS = "customer approval required", "supports", "does not meet"


def ruled(rule: Any, **facts: Any) -> tuple[str, str]:
    found = rule(CharacteristicFacts(judgement=JudgementFacts(parts=50, **facts)), resolve())
    return found.effect, found.reason


def share(low: float, value: float, high: float) -> Interval:
    return Interval(value, low, high, 0.95, "example")


def test_parts_that_everyone_recognises_ask_for_harder_ones() -> None:
    effect, said = ruled(near_the_limit, team_effectiveness=share(0.929, 1.0, 1.0))
    assert effect == APPROVAL
    assert "up to 7.1% of parts like these" in said
    assert ruled(near_the_limit, team_effectiveness=share(0.89, 0.98, 1.0))[0] == SUPPORTS
    assert ruled(near_the_limit, team_effectiveness=Absent("no reference"))[0] == "no evidence"


@pytest.mark.parametrize(("bad", "effect"), [(14, APPROVAL), (15, SUPPORTS)])
def test_either_kind_needs_its_parts(bad: int, effect: str) -> None:
    assert ruled(parts_judged, good=30, bad=bad)[0] == effect


@pytest.mark.parametrize(
    ("bad", "high", "effect"), [(2, 0.95, APPROVAL), (2, 0.70, FAILS), (20, 0.95, FAILS)]
)
def test_a_kappa_of_two_bad_parts_condemns_nobody(bad: int, high: float, effect: str) -> None:
    found = share(0.1, 0.6, high)
    assert ruled(kappa, kappa=found, kappa_between=Absent("one"), good=48, bad=bad)[0] == effect


@pytest.mark.parametrize(
    ("fact", "value", "effect"),
    [
        # AIAG MSA, 4th ed., ch. III section C: 90 and 80 %, 2 and 5 %, 5 and 10 % (values from memory).
        ("effectiveness", 0.90, SUPPORTS),
        ("effectiveness", 0.899, APPROVAL),
        ("effectiveness", 0.80, APPROVAL),
        ("effectiveness", 0.799, FAILS),
        ("miss", 0.02, SUPPORTS),
        ("miss", 0.021, APPROVAL),
        ("miss", 0.05, APPROVAL),
        ("miss", 0.051, FAILS),
        ("false_alarm", 0.05, SUPPORTS),
        ("false_alarm", 0.051, APPROVAL),
        ("false_alarm", 0.10, APPROVAL),
        ("false_alarm", 0.101, FAILS),
        ("kappa", 0.75, SUPPORTS),
        ("kappa", 0.749, FAILS),
    ],
)
def test_either_side_of_each_rate(fact: str, value: float, effect: str) -> None:
    """On the estimate, and on the bound by the end that speaks against the appraiser."""
    better, worse = (0.5, -0.001) if fact in ("effectiveness", "kappa") else (-0.01, 0.001)

    def said(found: Interval, on: str) -> str:
        facts = JudgementFacts(parts=50, good=25, bad=25, **{fact: found})  # type: ignore[arg-type]
        criteria = resolve(StudyCriteria(decide_measurement_on=on))  # type: ignore[arg-type]
        ruled = rule_on(CharacteristicFacts(kind="judgement", judgement=facts), criteria).rulings
        name = fact.replace("_", " ").replace("miss", "miss rate").replace("alarm", "alarm rate")
        return next(item.effect for item in ruled if item.rule == name)

    wide = sorted((value, value + better, value + 50 * worse))
    assert said(Interval(value, wide[0], wide[2], 0.95, "example"), "estimate") == effect
    ends = sorted((value, value + better))
    middle = sum(ends) / 2
    assert said(Interval(middle, ends[0], ends[1], 0.95, "example"), "lower bound") == effect


@pytest.mark.parametrize(
    ("facts", "effect"),
    [({"trials": 1}, APPROVAL), ({"trials": 2}, SUPPORTS), ({"trials": 3}, SUPPORTS)],
)
def test_a_part_judged_once_shows_no_agreement(facts: dict[str, Any], effect: str) -> None:
    assert ruled(repeats, **facts)[0] == effect
    nothing = CharacteristicFacts(judgement=JudgementFacts(parts=0, **facts))
    assert repeats(nothing, resolve()).effect == "no evidence"


@pytest.mark.parametrize(
    ("people", "effect", "words"),
    [
        (None, "no evidence", "A machine judged"),
        (0, APPROVAL, "No appraiser is named"),
        (1, APPROVAL, "One appraiser judged"),
        (2, SUPPORTS, "2 appraisers"),
    ],
)
def test_one_person_shows_nothing_of_others(people: int | None, effect: str, words: str) -> None:
    found, said = ruled(who_judged, appraisers=people)
    assert found == effect
    assert said.startswith(words)


@pytest.mark.parametrize(
    ("worst", "named"),
    [
        (WorstRates(0.90, 0.02, 0.05), ()),
        (WorstRates(0.89, 0.02, 0.05), ("effectiveness 89.0%",)),
        (WorstRates(0.90, 0.03, 0.05), ("miss rate 3.0%",)),
        (WorstRates(0.90, 0.02, 0.06), ("false alarm rate 6.0%",)),
        (WorstRates(0.89, 0.03, 0.05), ("effectiveness 89.0%", "miss rate 3.0%")),
    ],
)
def test_judgements_that_are_missing_count_as_wrong(
    worst: WorstRates, named: tuple[str, ...]
) -> None:
    effect, said = ruled(missing, incomplete=3, at_worst=worst)
    assert effect == (APPROVAL if named else SUPPORTS)
    for name in ("effectiveness", "miss rate", "false alarm rate"):
        assert (f"the {name} " in said) == any(one.startswith(name) for one in named)
    assert all(one in said for one in named)
    assert ruled(missing, incomplete=0, at_worst=worst)[0] == "no evidence"
    assert ruled(missing, incomplete=3, at_worst=None)[0] == "no evidence"


@pytest.mark.parametrize(
    ("good", "bad", "words"),
    [
        (14, 30, "14 parts that the reference accepts"),
        (30, 14, "14 parts that the reference rejects"),
        (1, 1, "1 part that the reference rejects and 1 part that the reference accepts"),
    ],
)
def test_the_kind_of_which_there_are_few_is_named(good: int, bad: int, words: str) -> None:
    effect, said = ruled(parts_judged, good=good, bad=bad)
    assert effect == APPROVAL
    assert said.startswith(f"Only {words}, at least 15")
    assert ruled(parts_judged, good=None, bad=bad)[0] == "no evidence"


def test_which_way_a_rate_is_held_is_said() -> None:
    judged = JudgementFacts(
        parts=50,
        effectiveness=share(0.9, 0.95, 1.0),
        miss=share(0.0, 0.01, 0.05),
        who={"miss": "Lea"},
    )
    found = rule_on(CharacteristicFacts(kind="judgement", judgement=judged), resolve()).rulings
    said = {item.rule: item.reason for item in found}
    assert said["effectiveness"].endswith("by part); criterion: at least 90%.")
    assert said["miss rate"].endswith("by part; Lea); criterion: at most 2%.")
