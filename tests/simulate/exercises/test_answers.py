"""Numbers are read as people write them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from linestudy.simulate import check, decide
from linestudy.simulate.exercises.answers import number_in, numbers_meant, unit_not_asked
from linestudy.simulate.exercises.calculations import (
    A_SHARE,
    NO_SHARE,
    OTHER_SIGN,
    OTHER_WAY,
)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("3,25", 3.25), ("3.25 times", 3.25), ("10 %", 10.0), ("about 3", 3.0), ((3, 25), 3.25), ("−2,5", -2.5),
        ("1e-3", 0.001), (np.float64(2), 2.0), (7, 7.0), ("", None), ("2 or 3", None), (None, None), (True, None),
        (float("nan"), None), ((1, 2, 3), None), ((3, -1), None), ("three", None), ([3], None),
    ],
)  # fmt: skip
def test_a_number_in_an_answer(written: Any, meant: float | None) -> None:
    assert number_in(written) == meant


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        (".5", 0.5), (",5", 0.5), ("-.5", -0.5), ("x = .5", 0.5), ("approx.5", 5.0), ("３．２５", 3.25), ("３,２５", 3.25),
        ("–0.3", -0.3), ("— 0,3", -0.3), ("－0.3", -0.3), ("3–4", None), ("3-4", None), ("½", 0.5), ("2½", 2.5), ("1 1/2", 1.5),
        ("-1/3", -1 / 3), ("1,5/3", 0.5), ("about 1/3", 1 / 3), ("1/3 %", 1 / 3), ("1/0", None), ("1/3/4", None),
        ("1/2 or 1/3", None), ("10⁻³", 0.001), ("1·10^3", 1000.0), ("5x10**-3", 0.005), ("3²", None), ("3^2", None),
        ("1e999", None), ("9" * 400, None), (10**400, None), (Decimal("3.25"), 3.25), ("10 ％", 10.0),
    ],
)  # fmt: skip
def test_a_number_however_it_is_typed(written: Any, meant: float | None) -> None:
    found = number_in(written)
    assert found == (meant if meant is None else pytest.approx(meant, rel=1e-12))


def test_a_per_cent_sign_of_any_kind_is_no_number() -> None:
    for written in ("10 %", "10 ％", "10 per cent", "10 percent"):
        assert check("interval", 1, written).text == NO_SHARE
    assert not check("interval", 1, "10 ‰").right


@pytest.mark.parametrize("written", ["b", " B) ", "ｂ", "(b)"])
def test_a_letter_however_it_is_typed(written: str) -> None:
    assert decide("two limits", 1, written).right


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("7,933", (7.933, 7933.0)), ("7.933", (7.933, 7933.0)), ("7 933", (7933.0,)), ((7, 933), (7.933, 7933.0)),
        ("-7,933", (-7.933, -7933.0)), ("1,234,567", (1234567.0,)), ("7,93", (7.93,)), ("7933", (7933.0,)),
        ("2 or 300", ()), ("12 100", (12100.0,)), ("0.137", (0.137,)), ("three", ()), (None, ()),
    ],
)  # fmt: skip
def test_every_way_a_number_may_be_meant(written: Any, meant: tuple[float, ...]) -> None:
    assert numbers_meant(written) == meant


@pytest.mark.parametrize(
    "written", [7933, "7,933", "7.933", (7, 933), "about 7 933", "7'933 parts"]
)
def test_the_printed_solution_is_right_as_it_is_printed(written: Any) -> None:
    assert check("mixture", 1, written).right


@pytest.mark.parametrize(
    ("lab", "exercise", "answer", "reply"),
    [
        ("interval", 1, "10 %", NO_SHARE),
        ("neighbours", 1, "300%", NO_SHARE),
        ("size", 2, 0.05, A_SHARE),
        ("vision", 2, "0,9174", A_SHARE),
        ("vision", 1, -2.046, OTHER_SIGN),
        ("vision", 1, 1 / 2.046, OTHER_WAY),
    ],
)
def test_slips_of_any_exercise_are_named(lab: str, exercise: int, answer: Any, reply: str) -> None:
    said = check(lab, exercise, answer)
    assert not said.right
    assert said.text == reply


@pytest.mark.parametrize("answer", ["10 ppm", "10 mm", "0.1 µm", "10 in"])
def test_a_unit_that_is_not_asked_for_is_no_right_answer(answer: str) -> None:
    said = check("size" if answer == "10 in" else "interval", 1, answer)
    assert not said.right


def test_a_unit_is_named_and_a_fraction_is_a_number() -> None:
    assert check("interval", 1, "10 ppm").text.startswith("ppm is not what is asked for")
    assert check("interval", 1, "10 studies").right
    assert check("interval", 1, "20/2").right
    assert number_in("1/0") is None
    assert number_in("1 / 8") == 0.125
    counts = "Of 3,000 independent parts none is outside. Up to how many parts per million?"
    assert not unit_not_asked("1,000 ppm", counts)
    assert unit_not_asked("1 mm", counts) == "mm"
