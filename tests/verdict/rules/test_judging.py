"""Rules on judgements: parts near the limit, and kappa of rare kinds."""

from __future__ import annotations

from typing import Any

import pytest

from linestudy.results import Absent, Interval
from linestudy.verdict.criteria import resolve
from linestudy.verdict.facts import CharacteristicFacts
from linestudy.verdict.measurement_facts import JudgementFacts
from linestudy.verdict.rules.judging import kappa, near_the_limit, parts_judged

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
