"""Labels written once, and records of several kinds; and what only looks so."""

from __future__ import annotations

import pandas as pd

from linestudy.records.infer.arranged import arranged
from linestudy.records.text_table import TextTable


def keys_of(**columns: list[str]) -> dict[str, object]:
    _, keys = arranged(TextTable(pd.DataFrame(columns)))
    return {key: value for key, value, _ in keys}


def test_a_sparse_column_that_names_nothing_stays() -> None:
    assert keys_of(Remark=["a", "", "", "b", "", "", ""], Width=list("1234567")) == {}
    assert keys_of(Coil=["", "a", "", "b", "", "", ""], Width=list("1234567")) == {}
    assert keys_of(Coil=["a", "", "", "b", "", "", ""], Width=list("1234567")) == {
        "fill_down": ["Coil"]
    }


def test_stations_in_columns_of_their_own_are_no_kinds_of_record() -> None:
    station, left, right = ["L", "R"] * 10, ["2.8", ""] * 10, ["", "2.9"] * 10
    assert keys_of(Station=station, WidthL=left, WidthR=right) == {}
    assert keys_of(type=station, WidthL=["2.8"] * 20) == {}
