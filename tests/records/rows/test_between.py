"""Rows between readings that are none."""

from __future__ import annotations

import pandas as pd

from linestudy.records.rows.between import rows_of_names, rows_of_remarks
from linestudy.study.model import Data

DATA = Data(role="run", file="r.csv", columns={"w": "Width"})


def table(*rows: tuple[str, str]) -> pd.DataFrame:
    return pd.DataFrame(list(rows), columns=["No", "Width"])


def test_names_again() -> None:
    cells = table(("1", "2.8"), ("No", "Width"), ("No", ""), ("No", "2.9"))
    assert rows_of_names(cells, DATA).tolist() == [False, True, False, False]


def test_a_number_with_nothing_beside_it_is_no_remark() -> None:
    cells = table(
        ("1", "2.8"), ("2", ""), ("Page 3 of 4", ""), ("# wiped", "x"), ("3", "2.7"), ("by M.", "")
    )
    assert rows_of_remarks(cells).tolist() == [False, False, True, True, False, True]


def test_names_of_parts_are_no_remarks() -> None:
    cells = table(("P-one", "2.8"), ("P-two", ""), ("P-three", "2.9"))
    assert not rows_of_remarks(cells).any()
    assert not rows_of_remarks(cells.iloc[:0]).any()
