"""Numbers are read however a country writes them, and the marks of a file are said with what shows them."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.records.infer.number_marks import numbers_written, numeric, only_grouped
from linestudy.records.text_table import TextTable


def cells(*texts: str) -> pd.Series:
    return pd.Series(list(texts), dtype="string")


@pytest.mark.parametrize(
    ("written", "number"),
    [
        ("2.80", 2.80),
        ("2,80", 2.80),
        ("1.234,5", 1234.5),
        ("1,234.5", 1234.5),
        ("1'234.5", 1234.5),
        ("1 234,5", 1234.5),
        ("1,234,567", 1234567.0),
        ("2.80 mm", 2.80),
        ("(0.02)", -0.02),
        ("-0,5", -0.5),
        ("3.1e-3", 0.0031),
    ],
)
def test_numbers_are_read_whatever_their_marks(written: str, number: float) -> None:
    assert numeric(cells(written))[0] == pytest.approx(number)


@pytest.mark.parametrize("written", ["", "ok", "03.09.2026", "1/8", "2.80 3.10", "1e99", "<0.01"])
def test_what_is_no_number_is_none(written: str) -> None:
    assert np.isnan(numeric(cells(written))[0])


@given(st.lists(st.floats(-1e6, 1e6, allow_nan=False).map(lambda v: round(v, 4)), min_size=1))
def test_points_and_commas_give_the_same_numbers(numbers: list[float]) -> None:
    points = cells(*(f"{v:.4f}" for v in numbers))
    commas = cells(*(f"{v:.4f}".replace(".", ",") for v in numbers))
    assert numeric(points).tolist() == numeric(commas).tolist() == numbers


def test_marks_of_a_file_are_told_with_what_shows_them() -> None:
    comma = TextTable(pd.DataFrame({"Breite": ["2,80", "2,81", "2,79"]}))
    assert numbers_written(comma, ["Breite"]) == [
        ("decimal", ",", '3 of 3 cells in "Breite" have a comma')
    ]
    point = TextTable(pd.DataFrame({"Width": ["2.80", "2.81"]}))
    assert numbers_written(point, ["Width"]) == []
    mixed = TextTable(pd.DataFrame({"Width": ["2.80", "2,81", "2.79", "2,80"] * 3}))
    assert numbers_written(mixed, ["Width"])[0][:2] == ("decimal", "both")


def test_digits_are_grouped_where_most_cells_have_a_mark_before_three() -> None:
    assert only_grouped(cells("12.000", "12.001", "999"), ",")
    assert not only_grouped(cells("12.000", "12.01"), ",")
    assert not only_grouped(cells("1", "2", "12.000"), ",")
    assert not only_grouped(cells(), ",")
