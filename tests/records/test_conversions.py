"""Numbers out of cells: a clean column at once, and every cell on its own, say the same."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from linestudy.records import conversions
from linestudy.results import InputError
from linestudy.study.model import Data

DATA = Data(
    role="run", gauge="g", file="f.csv", order="S", columns={"w": "W"}, missing=("", "NA", "9999")
)
number = st.decimals(-3, 12, places=3).map(str)
odd = st.sampled_from(
    [
        *("", " ", "NA", " NA ", "9999", "9999.000", "-", "nan", "NaN", "inf", "-inf", "1e400", "1e5", "+5"),
        *(".5", "5.", "5_0", "0x1A", "True", "1,5", "1 2", " 2.5 ", "2.801 mm", "\u00a05", "5\t", "null", "١"),
    ]
)  # fmt: skip


@pytest.mark.proof
@given(text=st.lists(st.one_of(number, number, number, odd), min_size=1, max_size=8))
@settings(max_examples=400, deadline=None)
@example(text=["2.5", "9999"])
@example(text=["2.5", "inf"])
@example(text=["1e308", "9999.0"])
def test_a_column_converted_at_once_is_what_its_cells_are(text: list[str]) -> None:
    """The conversion of a clean column against that of its cells one by one; both ways are ours."""

    def found(cells: list[str], first: int) -> Any:
        column = pd.Series(cells, name="W", dtype="str", index=range(first, first + len(cells)))
        try:
            return conversions.to_numbers(column, DATA)
        except InputError as error:
            return str(error)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(conversions, "_clean_numbers", lambda cells, data: None)
        slow = found(text, 2)
    together = found(text, 2)
    if isinstance(slow, str):
        assert together == slow
        return
    np.testing.assert_array_equal(together[0], slow[0])
    np.testing.assert_array_equal(together[1], slow[1])


@given(st.lists(st.floats(allow_nan=False, allow_infinity=False), min_size=1, max_size=20))
@settings(max_examples=200, deadline=None)
def test_numbers_are_those_python_reads(numbers: list[float]) -> None:
    """Python's float is the reference: it reads what repr writes, to the last bit."""
    cells = pd.Series(
        [repr(x) for x in numbers], name="W", dtype="str", index=range(2, 2 + len(numbers))
    )
    data = DATA.model_copy(update={"missing": ("",)})
    values, missing, _ = conversions.to_numbers(cells, data)
    np.testing.assert_array_equal(values, numbers)
    assert not missing.any()
