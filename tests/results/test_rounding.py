"""Numbers as a reader sees them: decimals by the uncertainty, units in brackets, no exponent."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.results import (
    Absent,
    Interval,
    counted,
    decimals_for,
    p_text,
    show,
    show_in,
    show_ppm,
    with_unit,
)


@pytest.mark.parametrize(
    ("uncertainty", "places"),
    # JCGM 100:2008, 7.2.6: two significant digits of the uncertainty.
    [(0.35, 2), (0.035, 3), (3.5, 1), (35.0, 0), (3500.0, 0), (0.0999, 2), (0.00996, 3)],
)
def test_decimals_follow_the_uncertainty(uncertainty: float, places: int) -> None:
    assert decimals_for(uncertainty) == places


def test_the_gum_example_of_a_mass() -> None:
    # JCGM 100:2008, 7.2.2: m = 100.02147 g with u = 0.35 mg.
    assert show(100.021471, uncertainty=0.00035) == "100.02147"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Interval(1.6, 1.449, 1.751, 0.95, "m"), "1.60 (1.45 to 1.75)"),
        (Interval(1.6, 1.4, math.inf, 0.95, "m"), "1.60 (at least 1.40)"),
        (Interval(1.6, -math.inf, 1.8, 0.95, "m"), "1.60 (at most 1.80)"),
        (Interval(2.0, 2.0, 2.0, 0.95, "m"), "2.0000 (2.0000 to 2.0000)"),
        (Absent("one part"), "not given: one part"),
        (None, ""),
        (7, "7"),
        (0.0, "0"),
        (float("nan"), "not determined"),
        (-0.00001, "-0.000010"),
        (3.2e-15, "less than 0.000001"),
        (-2345678.9, "-2,345,679"),
    ],
)
def test_what_a_reader_sees(value: object, text: str) -> None:
    assert show(value) == text  # type: ignore[arg-type]


def test_a_rounded_zero_has_no_sign() -> None:
    assert show(-0.0001, uncertainty=0.1) == "0.00"


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_no_number_is_shown_with_an_exponent(number: float) -> None:
    text = show(number)
    if abs(number) < 1e-6:
        assert text in ("0", "less than 0.000001", "above -0.000001")
    else:
        assert float(text.replace(",", "")) == pytest.approx(number, rel=0.06)


@given(st.floats(0, 1))
def test_a_p_value_is_written_for_a_sentence(p: float) -> None:
    text = p_text(p)
    if p < 0.001:
        assert text == "p < 0.001"
    else:
        assert text.startswith("p = ")
        assert float(text[4:]) == pytest.approx(p, rel=0.06)


def test_units_stand_in_brackets_or_behind() -> None:
    assert with_unit("SD", "mm") == "SD (mm)"
    assert with_unit("SD", "") == "SD"
    assert show_in(Interval(1.6, 1.449, 1.751, 0.95, "m"), "mm") == "1.60 (1.45 to 1.75) mm"
    assert show_in(7, "") == "7"


def test_rates_keep_what_matters() -> None:
    assert show_ppm(0.0) == "0"
    assert show_ppm(12345.6) == "12,346"
    assert show_ppm(1.234) == "1.2"


@pytest.mark.parametrize(
    ("number", "word", "text"),
    [(1, "part", "1 part"), (2, "part", "2 parts"), (0, "mass", "0 masses")],
)
def test_singular_and_plural(number: float, word: str, text: str) -> None:
    assert counted(number, word) == text


@pytest.mark.parametrize(
    ("number", "text"),
    [(12500.0, "12,500"), (-1234.5, "−1,234.5"), (999.0, "999"), (0.00005, "0.00005"), (0.0, "0")],
)
def test_thousands_stand_apart_wherever_a_number_was_given(number: float, text: str) -> None:
    from linestudy.results.rounding import alike, as_given

    assert as_given(number) == text
    assert alike([number]) == [text]
    assert show(12488.4, uncertainty=300.0) == "12,488"
    assert show(Interval(-12488.0, -12800.0, -12100.0, 0.95, "x")) == "-12,488 (-12,800 to -12,100)"


def test_what_a_subtraction_leaves_is_no_uncertainty() -> None:
    left = Interval(0.03, 0.03 - 4e-18, 0.03 + 4e-18, 0.95, "differences that are all alike")
    assert show(left) == "0.0300 (0.0300 to 0.0300)"
