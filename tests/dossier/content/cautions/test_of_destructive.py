"""Cautions of tests that destroy the part reach whom they are for."""

from __future__ import annotations

import pytest

from linestudy.dossier.content.cautions.destinations import destination
from linestudy.dossier.content.cautions.of_destructive import OF_DESTRUCTIVE_TESTS


@pytest.mark.parametrize(
    ("caution", "goes"),
    [
        ("2 forces of 30 are nought: a part without a weld is another fault.", "condition"),
        ("Strength falls with size: larger parts are weaker ones.", "condition"),
        ("3 batches say little about the next one; the bounds hold that.", "condition"),
        (
            "Distances from the line are not normal (p = 0.004); a weak part may be weaker.",
            "condition",
        ),
        ("The spread about the line changes with size (p = 0.004); the bounds.", "method"),
        ("Each tester had batches of their own, so nothing is known.", "condition"),
        ("Batches are taken as homogeneous: specimens were divided at random.", "method"),
    ],
)
def test_each_has_its_destination(caution: str, goes: str) -> None:
    assert destination(caution)[0] == goes


def test_a_condition_has_words_of_its_own_and_asks_for_something() -> None:
    asked = [kind for kind in OF_DESTRUCTIVE_TESTS if kind.goes == "condition"]
    assert asked
    assert all(kind.words and kind.asks for kind in asked)
