"""An exercise that is not there is told; its answers are those the labs compute."""

from __future__ import annotations

import pytest

from linestudy.simulate import check
from linestudy.simulate.exercises.calculations import EXERCISES


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


@pytest.mark.parametrize("written", ["4", "4,0", "about 4", "4 times"])
def test_an_answer_is_read_as_people_write_it(written: str) -> None:
    assert check("interval", 2, written).right


def test_what_is_no_number_is_told_and_is_no_error() -> None:
    assert "Write one number" in check("interval", 2, "four").text
    assert check("interval", 2, "").waiting


def test_the_factor_of_the_solution_is_right_and_no_wrong_hint_stands_in_its_way() -> None:
    assert check("neighbours", 1, 3.0).right
    assert check("neighbours", 1, "3,2").right
