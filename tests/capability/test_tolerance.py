"""Tolerance intervals without a distribution: simulation, and what must not matter."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.capability import tolerance_intervals
from linestudy.results import CannotJudge


@pytest.mark.parametrize("law", ["normal", "exponential", "uniform"])
def test_coverage_whatever_the_distribution(law: str) -> None:
    from scipy.stats import expon, norm, uniform

    parent = {"normal": norm, "exponential": expon, "uniform": uniform}[law]
    rng = np.random.default_rng(3)
    held = 0
    for _ in range(1000):
        found = tolerance_intervals(parent.rvs(size=300, random_state=rng), contents=(0.95,))
        item = found.intervals[0]
        held += parent.cdf(item.high) - parent.cdf(item.low) >= 0.95
    # Nominal at least 0.95; the attained confidence is stated.
    stated = found.intervals[0].confidence
    assert stated >= 0.95
    assert held / 1000 == pytest.approx(stated, abs=0.025)


def test_one_sided_where_there_is_one_limit() -> None:
    y = np.random.default_rng(1).normal(size=400)
    upper = tolerance_intervals(y, upper=5.0)
    assert upper.sides == "upper"
    assert upper.intervals[0].low is None
    assert upper.inside_limits is True
    lower = tolerance_intervals(-y, lower=-5.0)
    assert lower.intervals[1].low == -upper.intervals[1].high


def test_too_few_values_say_how_many_are_needed() -> None:
    found = tolerance_intervals(np.arange(30.0), contents=(0.99,))
    assert not found.intervals[0].exists
    assert found.record()["intervals"][0]["confidence"] == {"absent": "473 values are needed"}
    assert "473 are needed" in found.statement
    assert found.inside_limits is None


def test_correlated_values_are_worth_fewer() -> None:
    y = np.random.default_rng(1).normal(size=10_000)
    all_of_them, few = (tolerance_intervals(y, n_eff=n) for n in (None, 600.0))
    assert few.intervals[0].high > all_of_them.intervals[0].high
    assert any("effective sample size of 600" in note for note in few.cautions)


@given(scale=st.sampled_from([1e-3, 25.4]), shift=st.floats(-100, 100))
def test_unit_shift_and_order_do_not_matter(scale: float, shift: float) -> None:
    y = np.random.default_rng(4).gamma(2.0, size=200)
    first = tolerance_intervals(y).intervals[0]
    again = tolerance_intervals(scale * y[::-1] + shift).intervals[0]
    assert again.low == pytest.approx(scale * first.low + shift)
    assert again.confidence == first.confidence


def test_one_value_has_no_tolerance_interval() -> None:
    with pytest.raises(CannotJudge):
        tolerance_intervals([1.0])


def test_ends_have_no_more_decimals_than_the_readings() -> None:
    values = np.random.default_rng(1).normal(2.0, 0.004, 400).round(3)
    said = tolerance_intervals(values, unit="mm").statement
    low, high = said.split("between ")[1].split(" mm")[0].split(" and ")
    assert len(low) == len(high) == len("1.988")
