"""Tolerance intervals without a distribution: printed sample sizes, simulation, and what must not matter."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from linestudy.capability import tolerance_interval_sample_size, tolerance_intervals
from linestudy.capability.order_statistics import confidence_of, share_held
from linestudy.results import CannotJudge


@pytest.mark.checks(
    "sample sizes of distribution-free tolerance intervals",
    source="Wilks; ISO 16269-6",
    memory=True,
)
@pytest.mark.parametrize(
    ("content", "confidence", "sides", "n"),
    [
        (0.90, 0.95, 1, 29),
        (0.95, 0.95, 1, 59),
        (0.99, 0.95, 1, 299),
        (0.95, 0.90, 1, 45),
        (0.90, 0.90, 1, 22),
        (0.90, 0.95, 2, 46),
        (0.95, 0.95, 2, 93),
        (0.99, 0.95, 2, 473),
        (0.99, 0.99, 2, 662),
    ],
)
def test_sample_sizes_of_the_tables(content: float, confidence: float, sides: int, n: int) -> None:
    # Tables of Wilks' sample sizes, as in ISO 16269-6 and many handbooks (values from memory).
    assert tolerance_interval_sample_size(content, confidence=confidence, sides=sides) == n


@pytest.mark.checks(
    "confidence of a distribution-free tolerance interval", source="SciPy: binomial"
)
@pytest.mark.parametrize(
    ("n", "content", "out"), [(100, 0.95, 1), (500, 0.99, 2), (1000, 0.95, 37)]
)
def test_confidence_by_the_binomial(n: int, content: float, out: int) -> None:
    # Independent derivation, SciPy: at least `out` of n parts fall outside the share.
    assert confidence_of(n, content, out) == pytest.approx(
        binom.sf(out - 1, n, 1 - content), rel=1e-9
    )


def test_share_held_is_the_inverse() -> None:
    assert confidence_of(250, share_held(250, confidence=0.9), 2) == pytest.approx(0.9)


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
