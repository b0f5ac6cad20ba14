"""What an exercise is made of."""

from __future__ import annotations

from linestudy.simulate.exercises.exercise_kinds import decision, near


def test_near_is_relative_to_the_larger() -> None:
    assert near(0.96, 1.0)
    assert not near(0.94, 1.0)
    assert near(0.0, 0.0)
    assert not near(0.01, 0.0)


def test_one_letter_is_right_and_replies_are_made_when_asked() -> None:
    asked = []
    made = decision(
        "What now?", "b", a=("Go.", "No."), b=("Stop.", lambda: asked.append(1) or "Yes.")
    )
    assert [choice.right for choice in made.choices.values()] == [False, True]
    assert not asked
    assert made.choices["b"].reply() == "Yes."
    assert made.text() == "What now?\na: Go.\nb: Stop."
