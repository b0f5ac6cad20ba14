"""Every decision has one right answer, and every wrong one is told which mistake it is."""

from __future__ import annotations

import pytest

from linestudy.simulate import decide
from linestudy.simulate.exercises.decision_questions import DECISIONS

ALL = [(lab, number) for lab, items in DECISIONS.items() for number in range(1, len(items) + 1)]


@pytest.mark.parametrize(("lab", "number"), ALL)
def test_one_is_right_and_each_reply_is_its_own(lab: str, number: int) -> None:
    choices = DECISIONS[lab][number - 1].choices
    replies = {letter: decide(lab, number, letter) for letter in choices}
    assert sum(reply.right for reply in replies.values()) == 1
    assert len({reply.text for reply in replies.values()}) == len(choices) >= 3
    for reply in replies.values():
        assert len(reply.text) > 40
        assert "nan" not in reply.text


def test_an_empty_cell_waits_and_shows_the_choices() -> None:
    reply = decide("two limits", 1, None)
    assert reply.waiting
    assert "\na: " in reply.text
    assert "Waiting for your answer" in reply._repr_html_()
    assert "<br>" in reply._repr_html_()


@pytest.mark.parametrize("written", ["B", " b ", "b)", "(b)", "b."])
def test_a_letter_as_people_write_it(written: str) -> None:
    assert decide("two limits", 1, written).right


@pytest.mark.parametrize("written", ["z", "b or c", "1"])
def test_what_is_no_letter_is_told_and_is_no_mistake(written: str) -> None:
    assert "Write one of the letters" in decide("two limits", 1, written).text


def test_no_such_decision() -> None:
    with pytest.raises(ValueError, match="two limits"):
        decide("two limit", 1, "a")
    with pytest.raises(ValueError, match="exercise"):
        decide("two limits", 9, "a")
