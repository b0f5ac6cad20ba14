"""An exercise that is not there is told; its answers are those the labs compute."""

from __future__ import annotations

import pytest

from linestudy.simulate import check
from linestudy.simulate.exercises import EXERCISES


@pytest.mark.parametrize(
    ("lab", "number", "told"),
    [
        ("intervall", 1, "lab = 'intervall' is not known; did you mean 'interval'"),
        ("interval", 0, "exercise = 0"),
        ("interval", 99, "exercise = 99"),
    ],
)
def test_no_such_exercise(lab: str, number: int, told: str) -> None:
    with pytest.raises(ValueError, match=told):
        check(lab, number, 1.0)


def test_an_empty_cell_is_asked_the_question() -> None:
    for lab, exercises in EXERCISES.items():
        for number, item in enumerate(exercises, start=1):
            reply = check(lab, number, None)
            assert not reply.right
            assert item.question in str(reply)
