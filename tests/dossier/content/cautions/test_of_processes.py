"""Cautions of runs and distributions: each has one destination, and every condition says what it asks for."""

from __future__ import annotations

import pytest

from linestudy.dossier.content.cautions.destinations import destination
from linestudy.dossier.content.cautions.of_processes import OF_PROCESSES


@pytest.mark.parametrize(
    "caution",
    [
        "1 named reset of 3 came with a change of coil: what the reset leaves and what the coil brings cannot be told apart there.",
        "Of these 2 lie at an event that is not said to set the tool anew (lens wiped, punch changed).",
        "Neighbouring values differ more than chance lets them (p < 0.001): they alternate, so limits are too wide.",
        "Wear is not straight: the mean moves by 0.01 mm in the first half of a tool's life and by 0.03 mm in the second (mean of 4 lives), so a straight line does not say when the limit is reached.",
        "12 accepted parts lie outside the limits by the logged reading, more than measurement error explains: look.",
    ],
)
def test_what_asks_for_an_action_is_a_condition(caution: str) -> None:
    assert destination(caution)[0] == "condition"


def test_patterns_are_listed_once() -> None:
    patterns = [kind.pattern for kind in OF_PROCESSES]
    assert len(patterns) == len(set(patterns))


def test_a_condition_has_words_of_its_own_and_asks_for_something() -> None:
    asked = [kind for kind in OF_PROCESSES if kind.goes == "condition"]
    assert asked
    assert all(kind.words and kind.asks for kind in asked)
