"""Numbers for those who compute on, text for those who read."""

from __future__ import annotations

import math

import pytest

from linestudy.results import Absent, Interval
from linestudy.results.tables import (
    Quantity,
    names_as_given,
    numeric_table,
    over_strokes,
    text_table,
    typeset,
)

INDEX = Interval(1.5, 1.4, 1.6, 0.95, "example")


def test_quantities_are_numbers_with_their_unit() -> None:
    table = numeric_table(
        [Quantity("Ppk", INDEX), Quantity("%GRR", Interval(0.066, 0.058, 0.172, 0.95, "m"), "%")]
    )
    assert list(table.columns) == ["quantity", "estimate", "low", "high", "unit"]
    assert table.dtypes[["estimate", "low", "high"]].eq("float64").all()
    assert table.loc[1, "estimate"] == pytest.approx(6.6)
    assert table.loc[1, "unit"] == "%"


def test_what_cannot_be_given_is_missing_and_says_why() -> None:
    table = numeric_table([Quantity("Cp", Absent("the process moves")), Quantity("Ppk", INDEX)])
    assert math.isnan(table.loc[0, "estimate"])
    assert "the process moves" in table.loc[0, "note"]


def test_an_interval_in_a_record_becomes_three_columns() -> None:
    rows = [{"source": "EV", "SD (mm)": INDEX, "df": 60}, {"source": "AV", "SD (mm)": 0.0, "df": 2}]
    table = numeric_table(rows)
    assert list(table.columns) == ["source", "SD (mm)", "SD (mm) low", "SD (mm) high", "df"]
    assert table["SD (mm) low"].tolist()[0] == 1.4
    assert math.isnan(table["SD (mm) low"].tolist()[1])
    assert table["df"].dtype == "int64"


def test_a_reader_sees_digits_by_the_uncertainty_and_no_exponent() -> None:
    rows = [
        Quantity("bias", Interval(0.00087, -0.00013, 0.00187, 0.95, "t"), "mm"),
        Quantity("p, no bias", 3.2e-12, "p"),
        Quantity("expected outside", 1e-9, "ppm"),
        Quantity("share", 0.12345, "%"),
    ]
    shown = dict(text_table(rows).itertuples(index=False, name=None))
    assert shown["bias (mm)"] == "0.0009 (-0.0001 to 0.0019)"
    assert shown["p, no bias"] == "< 0.001"
    assert shown["expected outside (ppm)"] == "less than 0.001"
    assert shown["share (%)"] == "12.35"


def test_no_rows_give_an_empty_table() -> None:
    assert len(numeric_table([])) == 0
    assert len(text_table([])) == 0


@pytest.mark.parametrize(
    ("high", "over", "shown"),
    [
        (0.02, "per 1,000 strokes", 0.02),
        (2e-6, "per 100,000 strokes", 2e-4),
        (0.0, "per 1,000 strokes", 0),
    ],
)
def test_slow_wear_is_told_over_more_strokes(high: float, over: str, shown: float) -> None:
    found, said = over_strokes(Interval(high / 2, 0.0, high, 0.95, ""))
    assert (said, found.high) == (over, pytest.approx(shown))


def test_numbers_are_set_as_iso_80000_asks_and_names_stay_as_given() -> None:
    text = "2.5% tin, Heat -2%: 12.5% tin (-7 to 16%), p < 0.001"
    assert typeset(text, space=" ") == "2.5 % tin, Heat −2 %: 12.5 % tin (−7 to 16 %), p < 0.001"
    with names_as_given(["2.5% tin", "Heat -2%", "16%", "plain"]):
        # A name within another number is none, and without a letter there is no name.
        set_ = typeset(text, space=" ")
        assert set_ == "2.5% tin, Heat -2%: 12.5 % tin (−7 to 16 %), p < 0.001"
        assert typeset("p < 0.001").count("\u00a0") == 2
    assert typeset("2.5% tin", space=" ") == "2.5 % tin"


def test_the_longer_of_two_names_is_kept_whole() -> None:
    with names_as_given(["5% Sn", "5% Sn -3%"]):
        assert typeset("5% Sn -3% and 5% Sn: 5%", space=" ") == "5% Sn -3% and 5% Sn: 5 %"
