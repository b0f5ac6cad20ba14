"""Nonconforming parts: normal tables, SciPy's exact interval, the rule of three."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.capability import (
    normal_nonconforming,
    observed_nonconforming,
    zero_failure_bound,
)


def test_expected_ppm_at_three_sigma() -> None:
    # Normal tables: 1350 ppm beyond three standard deviations on one side.
    found = normal_nonconforming(0.0, 1.0, n=200, df=199, lower=-3.0, upper=3.0)
    assert found["above"].estimate == pytest.approx(1349.9, abs=0.1)
    assert found["total"].estimate == pytest.approx(2699.8, abs=0.2)
    assert found["total"].low < 2699.8 < found["total"].high


def test_observed_counts_have_scipys_exact_interval() -> None:
    from scipy.stats import binomtest

    found = observed_nonconforming(np.arange(100.0), 1.5, 97.5)
    assert (found.below, found.above, found.n) == (2, 2, 100)
    exact = binomtest(4, 100).proportion_ci(0.95, "exact")
    assert found.ppm.low == pytest.approx(1e6 * exact.low)
    assert found.ppm.high == pytest.approx(1e6 * exact.high)


def test_none_seen() -> None:
    # 1 - 0.05^(1/n), near 3/n (rule of three); Wilks: 59 items for 95 % / 95 %.
    assert zero_failure_bound(59) == pytest.approx(0.05e6, rel=0.02)
    assert zero_failure_bound(3000) == pytest.approx(1e6 * 3 / 3000, rel=0.01)


@pytest.mark.checks("interval of an observed share", source="statsmodels: proportion_confint")
def test_the_interval_is_statsmodels_own() -> None:
    from statsmodels.stats.proportion import proportion_confint

    found = observed_nonconforming(np.arange(400.0), upper=389.5)
    low, high = proportion_confint(10, 400, method="beta")
    assert (found.ppm.low, found.ppm.high) == pytest.approx((1e6 * low, 1e6 * high))
    assert (found.below, found.above) == (0, 10)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: observed_nonconforming([1.0, 2.0], 3.0, 1.0), "are they swapped"),
        (lambda: observed_nonconforming([1.0, 2.0]), "at least one limit"),
        (lambda: zero_failure_bound(0), "at least 1"),
        (lambda: zero_failure_bound(59, confidence=1.0), "between 0 and 1"),
    ],
)
def test_misuse_is_refused(call, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        call()
