"""Cells of tables have the digits and the order that a reader expects."""

from __future__ import annotations

import pandas as pd

from linestudy.dossier.content.elements import from_frame, in_parts
from linestudy.dossier.forms.gauge_sheets import _numbered


def test_shares_have_one_decimal_and_small_numbers_a_sign() -> None:
    frame = pd.DataFrame(
        {
            "characteristic": ["A", "B", "C"],
            "at worst (%)": [1.22481, 0.76921, 0.0],
            "expected (ppm)": ["less than 0.001", "16", "3,629"],
        }
    )
    table = from_frame("", frame)
    assert [row[1] for row in table.rows] == ["1.2", "0.77", "0.0"]
    assert [row[2] for row in table.rows] == ["< 0.001", "16", "3,629"]
    assert table.numeric == (False, True, True)


def test_part_ten_comes_after_part_nine_and_bears_its_own_number() -> None:
    names, codes = _numbered(pd.Series(["10", "9", "1", "2", "2", "10"]))
    assert names == ["1", "2", "9", "10"]
    assert codes.tolist() == [4, 3, 1, 2, 2, 4]


def test_what_is_given_of_no_row_is_said_once() -> None:
    frame = pd.DataFrame(
        {
            "source": ["EV", "GRR"],
            "% tolerance": ["not given: there is no two-sided tolerance"] * 2,
            "ndc": ["not given: no spread left", "5"],
        }
    )
    table = from_frame("Crossed study", frame)
    assert table.head == ("source", "ndc")
    assert table.caption == "Crossed study (% tolerance not given: there is no two-sided tolerance)"


def test_rows_of_two_kinds_are_two_tables() -> None:
    """Systems and what one is against the other fill no column in common: side by side no column has room."""
    frame = pd.DataFrame(
        {
            "system": ["before", "after", "after against before"],
            "EV (mm)": ["0.003 (0.002 to 0.004)", "0.001 (0.000 to 0.002)", None],
            "bias (mm)": [None, None, "0.002 (0.001 to 0.003)"],
            "ratio": ["", "", "0.36"],
        }
    )
    own, pairs = in_parts("Systems", frame)
    assert own.caption == "Systems"
    assert own.head == ("system", "EV (mm)", "interval")
    assert [row[0] for row in own.rows] == ["before", "after"]
    assert pairs.caption == "Systems (bias and ratio)"
    assert pairs.rows == (("after against before", "0.002", "0.001 to 0.003", "0.36"),)
    assert len(in_parts("Systems", frame.assign(n=["9", "9", "9"]))) == 1
