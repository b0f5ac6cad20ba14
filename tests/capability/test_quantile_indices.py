"""Indices of a fitted distribution and their intervals."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.capability import (
    observed_nonconforming,
    quantile_index,
    quantile_intervals,
)
from linestudy.numerics.normal_intervals import (
    two_sided_index_interval,
)
from linestudy.results import Absent, Interval
from linestudy.shape import fit


def test_quantile_index_of_a_normal_is_the_usual_one() -> None:
    y = np.random.default_rng(3).normal(10, 1, 2000)
    item = fit(y, "normal", with_covariance=True)
    both, one = quantile_index(item, 6.0, 15.0)
    sd = y.std()
    # 2.99998 standard deviations to 0.135 %.
    assert both == pytest.approx(9 / (6 * sd), rel=1e-4)
    assert one == pytest.approx(min(15 - y.mean(), y.mean() - 6) / (3 * sd), rel=1e-4)
    by_curvature = quantile_intervals(item, 6.0, 15.0, n_eff_mean=2000, n_eff_sd=2000)["Ppk"]
    exact = two_sided_index_interval(y.mean(), y.std(ddof=1), 6.0, 15.0, 2000, 1999)
    assert by_curvature.low == pytest.approx(exact.low, rel=0.01)
    assert by_curvature.high == pytest.approx(exact.high, rel=0.01)


def test_one_limit_has_one_side_and_one_value_is_counted() -> None:
    assert observed_nonconforming([1.0], None, 0.5).above == 1
    item = fit(np.random.default_rng(2).normal(10, 1, 200), "normal")
    found = quantile_intervals(item, None, 12.0, n_eff_mean=200, n_eff_sd=200)
    # All that is expected outside is above; below there is no limit to lie beyond, and no width for Pp.
    assert found["total"] == found["above"]
    assert found["below"].high == 0
    assert isinstance(found["Pp"], Absent)


def test_no_rate_of_few_effective_values_is_above_all_parts() -> None:
    rng = np.random.default_rng(4)
    y = np.concatenate([rng.normal(2.005, 0.005, 1500), rng.normal(2.015, 0.005, 1500)])
    mixture = fit(y, "normal mixture", with_covariance=True)
    found = quantile_intervals(mixture, 1.97, 2.05, n_eff_mean=6, n_eff_sd=8, values=y)
    for side in ("below", "above", "total"):
        rate = found[side]
        assert isinstance(rate, Interval)
        assert 0 <= rate.low <= rate.estimate <= rate.high <= 1e6
