"""Families before sorting: shares and quantiles against SciPy's distributions, quantiles against shares."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.capability.sorting.parent_shapes import processes
from linestudy.tails.candidate import QUANTILES

#: Family, shape, the same in SciPy with location 0 and scale 1 (of the logarithm where it is a magnitude's).
SAME = [
    ("normal", 0.0, stats.norm()),
    ("logistic", 0.0, stats.logistic()),
    ("Student's t", 0.25, stats.t(4)),
    ("exponential power", 1.0, stats.laplace()),
    ("exponential power", 0.25, stats.gennorm(4)),
    ("beta", 0.5, stats.beta(2, 2, loc=-1, scale=2)),
    ("beta", 1.0, stats.uniform(-1, 2)),
    ("inverse Gaussian with threshold", 1.0, stats.invgauss(1 / 9, loc=-3.0, scale=27.0)),
    ("gamma with threshold", 1.0, stats.pearson3(1.0)),
    ("gamma with threshold", -1.0, stats.pearson3(-1.0)),
    ("lognormal with threshold", 0.4, stats.lognorm(0.4, loc=-2.5, scale=2.5)),
    ("Weibull with threshold", 0.5, stats.weibull_min(2.0, loc=-2.0, scale=2.0)),
    ("largest extreme value", 0.0, stats.gumbel_r()),
    ("generalised gamma", 1.0, stats.weibull_min(1.0)),
    ("generalised gamma", 0.5, stats.gengamma(4, 0.5, scale=0.0625)),
    ("lognormal", 0.0, stats.lognorm(1.0)),
    ("folded t", 0.25, None),
]


@pytest.mark.checks("families of the process before sorting: shares and quantiles", source="SciPy")
@pytest.mark.parametrize(("name", "shape", "same"), SAME)
def test_shares_and_quantiles_are_scipys(name: str, shape: float, same) -> None:
    item = processes(0.0)[name]
    zero, s = np.zeros(1), np.array([shape])
    x = np.linspace(0.2, 3.0, 8) if item.bound is not None else np.linspace(-2.2, 2.2, 9)
    below, above = (v[0] for v in item.beyond(x, zero, zero, s))
    q = item.quantiles(zero, zero, s)[0]
    if same is None:
        t = stats.t(4)
        assert below == pytest.approx(t.cdf(x) - t.cdf(-x), rel=1e-9)
        assert q == pytest.approx(t.ppf((1 + np.array(QUANTILES)) / 2), rel=1e-6)
        return
    assert below == pytest.approx(same.cdf(x), rel=1e-9, abs=1e-12)
    assert above == pytest.approx(same.sf(x), rel=1e-9, abs=1e-12)
    assert q == pytest.approx(same.ppf(QUANTILES), rel=1e-9)


@pytest.mark.parametrize("name", ["normal with outliers", "two stations", "folded t"])
def test_quantiles_are_where_the_shares_say(name: str) -> None:
    item = processes(0.0)[name]
    a, b, s = np.array([0.4]), np.array([0.2]), np.array([-3.0 if "outliers" in name else 0.3])
    q = item.quantiles(a, b, s)[0]
    assert item.beyond(q, a, b, s)[0][0] == pytest.approx(QUANTILES, rel=1e-6)
