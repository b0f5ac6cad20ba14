"""Answers as people type them, and what cannot be used is asked again."""

from __future__ import annotations

import pytest

from linestudy.intake.draft import Draft, Item
from linestudy.intake.questions import as_number, as_words, ask_all, pick


@pytest.mark.parametrize(
    ("text", "number"),
    [("2,85", 2.85), (" 2.85 ", 2.85), ("−1", -1.0), (".5", 0.5), ("", None), ("-", None)],
)
def test_numbers(text: str, number: float | None) -> None:
    assert as_number(text) == number


@pytest.mark.parametrize("text", ["2.8 mm", "1,000.5", "two"])
def test_no_numbers(text: str) -> None:
    with pytest.raises(ValueError, match="is no number"):
        as_number(text)


def test_choices() -> None:
    assert pick("2", ["Width", "Gap"]) == "Gap"
    assert pick("width", ["Width", "Gap"]) == "Width"
    assert pick("widht", ["Width", "Gap"]) == "Width"
    with pytest.raises(ValueError, match="none of: Width, Gap"):
        pick("9", ["Width", "Gap"])
    assert as_words("a, b;c,") == ["a", "b", "c"]


def answers(draft: Draft, *typed: str) -> list[str]:
    told: list[str] = []
    left = iter(typed)

    def ask(_: str) -> str:
        try:
            return next(left)
        except StopIteration:
            raise EOFError from None

    ask_all(draft, ask, told.append)
    return told


def test_limits_are_asked_until_they_can_be() -> None:
    draft = Draft(items=[Item("w", "Width")])
    told = answers(draft, "T", "P-1", "B", "mm", "2,75", "2.70", "2.85", "Width")
    assert any("has to lie below the upper" in line for line in told)
    item = draft.items[0]
    assert (item.unit, item.lower, item.upper, item.special) == ("mm", 2.75, 2.85, True)
    assert draft.head == {"title": "T", "part": "P-1", "revision": "B"}
    assert draft.questions() == []


def test_where_nobody_answers_the_defaults_hold() -> None:
    draft = Draft(items=[Item("w", "Width")])
    answers(draft, "T")
    assert draft.head["title"] == "T"
    assert (draft.items[0].unit, draft.items[0].lower) == ("mm", None)
    assert draft.questions() == []


def test_nought_as_bound_or_as_limit() -> None:
    for answer, expected in (("1", (None, 0.0)), ("2", (0.0, None))):
        draft = Draft(items=[Item("b", "Burr", "mm", 0.0, 0.0, 0.1, listed=True)])
        answers(draft, "T", "P", "A", answer)
        assert (draft.items[0].lower, draft.items[0].bound) == expected


def test_a_unit_that_is_none_is_asked_for_again_and_kept_when_it_is_meant() -> None:
    draft = Draft(items=[Item("w", "Width")])
    told = answers(draft, "T", "P", "A", "mn", "mm")
    assert any('"mn" is no unit' in line for line in told)
    assert (draft.items[0].unit, draft.items[0].unit_taken) == ("mm", False)
    draft = Draft(items=[Item("w", "Hardness")])
    answers(draft, "T", "P", "A", "HV0,3", "HV0,3")
    assert draft.items[0].unit == "HV0,3"


def test_a_unit_that_nobody_said_is_known_as_such() -> None:
    draft = Draft(items=[Item("w", "Width")])
    answers(draft, "T", "P", "A")
    assert (draft.items[0].unit, draft.items[0].unit_taken) == ("mm", True)
