"""Marks of no reading are words, signs, and numbers far from all others; a reading far from the others alone is none."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.records.infer.column_kinds import kinds
from linestudy.records.infer.notices.no_reading import marks_of_no_reading
from linestudy.records.text_table import TextTable

WIDTHS = [f"{w:.4f}" for w in np.random.default_rng(8).normal(2.8, 0.01, 60)]


def _marks(cells: list[str]) -> dict[str, int]:
    table = TextTable(pd.DataFrame({"Width": cells}))
    return marks_of_no_reading(table, kinds(table))


@pytest.mark.parametrize(
    "mark", ["OL", "---", "no part", "9999", "-9999.0", "32767", "-32768.0", "65535", "0.000"]
)
def test_marks_however_often(mark: str) -> None:
    for times in (3, 20):
        assert _marks([mark] * times + WIDTHS) == {mark: times}


@pytest.mark.parametrize("reading", ["2.9999", "2.7000", "3.0500", "2.801"])
def test_readings_are_no_marks(reading: str) -> None:
    assert _marks([reading] * 3 + WIDTHS) == {}


def test_one_full_byte_may_be_a_reading() -> None:
    assert _marks(["32767", *WIDTHS]) == {}


def test_noughts_among_small_readings_are_readings() -> None:
    assert _marks(["0.000"] * 5 + [f"{i / 1000:.3f}" for i in range(1, 30)]) == {}
