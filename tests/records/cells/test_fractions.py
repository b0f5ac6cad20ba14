"""Fractions of an inch are those of a ruler; what else has a stroke between numbers stays what it is."""

from __future__ import annotations

import pandas as pd
import pytest

from linestudy.records.cells.fractions import inches_as_decimals


def _read(cells: list[str], inches: bool = False) -> list[str]:
    return inches_as_decimals(pd.Series(cells, dtype="string"), inches).tolist()


def test_fractions_of_a_ruler() -> None:
    assert _read(["7/64", "1 3/32", "1-3/32", "-5/16", "2.5"]) == ["0.109375", "1.09375", "1.09375", "-0.3125", "2.5"]  # fmt: skip


@pytest.mark.parametrize("sign", ['"', " in", " in.", "″", " inch"])
def test_the_sign_of_inches_stays(sign: str) -> None:
    assert _read([f"1/8{sign}", f"1/4{sign}"]) == ['0.125 "', '0.25 "']


def test_the_name_of_the_column_may_say_inches() -> None:
    assert _read(["1/8", "1/4"], inches=True) == ["0.125", "0.25"]


@pytest.mark.parametrize(
    "cells",
    [["1/2", "2/2"], ["1/2", "1/4"], ["3/9/2026", "4/9/2026"], ["12/7", "1/16"], ["lot 1/16"], ["16/16"]],
)  # fmt: skip
def test_what_is_no_fraction_of_an_inch(cells: list[str]) -> None:
    assert _read(cells) == cells
