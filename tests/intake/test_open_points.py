"""Each question says what it is for, and is asked once."""

from __future__ import annotations

from linestudy.intake.draft import Draft, Item
from linestudy.intake.open_points import open_points


def keys(draft: Draft) -> list[str]:
    return [question.key for question in open_points(draft)]


def test_a_listed_characteristic_needs_nothing() -> None:
    assert keys(Draft(items=[Item("w", "Width", "mm", 2.8, 2.7, 2.9, listed=True)])) == [
        "title",
        "part",
        "revision",
    ]
    assert keys(Draft(items=[Item("s", "Seam", judged=True)]))[3:] == ["special"]


def test_a_position_has_an_upper_limit_only() -> None:
    found = keys(Draft(items=[Item("p", "Position", "mm", position=True)]))
    assert "item:p:upper" in found
    assert "item:p:lower" not in found


def test_every_question_says_why() -> None:
    questions = open_points(Draft(items=[Item("w", "Width")]))
    assert questions
    for question in questions:
        assert question.text
        assert question.why
