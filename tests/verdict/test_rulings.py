"""One decision of many rulings: the strongest effect."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.verdict import (
    strongest,
)
from linestudy.verdict.rulings import EFFECTS, Ruling


@given(st.lists(st.sampled_from(EFFECTS), min_size=1))
def test_the_strongest_effect_decides(effects: list[str]) -> None:
    found = strongest(tuple(Ruling("rule", effect, "Because.") for effect in effects))
    worst = max(effects, key=EFFECTS.index)
    if set(effects) == {"no evidence"}:
        assert found == "cannot be judged"
    else:
        assert found == ("meets" if worst in ("supports", "no evidence") else worst)


def test_no_evidence_is_no_claim() -> None:
    assert strongest(()) == "cannot be judged"


def test_the_order_of_rules_decides_nothing() -> None:
    rulings = [Ruling(effect, effect, "Because.") for effect in EFFECTS]
    assert strongest(tuple(rulings)) == strongest(tuple(reversed(rulings))) == "cannot be judged"


@pytest.mark.parametrize(
    ("pair", "decision"),
    [
        (("supports", "supports"), "meets"),
        (("supports", "no evidence"), "meets"),
        (("no evidence", "no evidence"), "cannot be judged"),
        (("supports", "customer approval required"), "customer approval required"),
        (("customer approval required", "does not meet"), "does not meet"),
        (("does not meet", "cannot be judged"), "cannot be judged"),
    ],
)
def test_each_step_of_the_table(pair: tuple[str, str], decision: str) -> None:
    assert strongest(tuple(Ruling("x", effect, "") for effect in pair)) == decision
