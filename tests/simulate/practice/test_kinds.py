"""Every kind says what a student needs and nothing that gives it away."""

from __future__ import annotations

import pytest

from linestudy.simulate.practice import KINDS
from linestudy.simulate.practice.decision_form import DECIDED
from linestudy.simulate.practice.kinds import ASKS, DECISIONS, FIRST, IN_ORDER, LAST, Kind


def test_there_are_twenty_or_more() -> None:
    assert len(KINDS) >= 20


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.key)
def test_a_kind_is_whole(kind: Kind) -> None:
    assert set(kind.about) <= set(DECIDED)
    assert kind.ask
    assert set(kind.ask) <= set(ASKS)
    assert kind.decision in DECISIONS
    assert 0 < kind.tolerance < 1
    assert kind.slots


def test_the_order_of_planting_names_kinds() -> None:
    assert {*FIRST, *LAST, *IN_ORDER} <= set(KINDS)
