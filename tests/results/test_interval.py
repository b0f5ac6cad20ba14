"""Intervals refuse what is none, turn with a change of scale and format themselves."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.results import Interval, plain

finite = st.floats(-1e6, 1e6)


def test_ends_out_of_order_are_refused() -> None:
    with pytest.raises(ValueError, match="out of order"):
        Interval(1.0, 2.0, 1.0, 0.95, "example")


def test_confidence_must_be_a_probability() -> None:
    with pytest.raises(ValueError, match="confidence"):
        Interval(1.0, 0.0, 2.0, 95, "example")


@given(st.tuples(finite, finite, finite).map(sorted))
def test_a_decreasing_change_swaps_the_ends(ends: list[float]) -> None:
    low, estimate, high = ends
    turned = Interval(estimate, low, high, 0.95, "example").times(-2.0)
    assert turned.low == -2 * high
    assert turned.high == -2 * low
    assert turned.estimate == -2 * estimate


def test_one_sided_bounds_are_recorded_without_infinity() -> None:
    record = Interval(1.0, 0.5, math.inf, 0.95, "example").record()
    assert record["high"] == {"absent": "one-sided bound"}
    assert record["low"] == 0.5


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
        lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    )
)
def test_plain_values_are_strict_json(value: object) -> None:
    import json

    text = json.dumps(plain(value), allow_nan=False)
    # What was read back is plain already.
    assert plain(json.loads(text)) == json.loads(text)


def test_plain_takes_arrays_tables_and_scalars() -> None:
    import numpy as np
    import pandas as pd

    table = pd.DataFrame({"a": [1, 2], "b": [0.5, np.nan]})
    assert plain(np.float64(0.25)) == 0.25
    assert plain(np.array([1, 2])) == [1, 2]
    assert plain(table)[0] == {"a": 1, "b": 0.5}
    assert plain(table)[1]["b"] == {"absent": "not determined by the data"}
    with pytest.raises(TypeError):
        plain(object())


@pytest.mark.parametrize("place", [0, 1, 2])
def test_an_interval_holds_numbers_only(place: int) -> None:
    ends = [1.0, 0.5, 1.5]
    ends[place] = math.nan
    with pytest.raises(ValueError, match="not a number"):
        Interval(*ends, 0.95, "example")


def test_an_interval_formats_itself() -> None:
    interval = Interval(1.23456, 1.1, 1.4, 0.95, "example")
    assert f"{interval:.3f}" == "1.235 (1.100 to 1.400)"
    assert f"{interval}" == "1.23 (1.10 to 1.40)"
    assert float(interval) == 1.23456
