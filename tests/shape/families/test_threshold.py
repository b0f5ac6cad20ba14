"""Gamma, lognormal and Weibull with threshold: SciPy's, their limits, and where they begin."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from family_checks import assert_is_scipys, assert_score_is_a_slope, assert_starts_near
from scipy import stats

from linestudy.shape.families import FAMILIES

THEIRS = {
    "gamma with threshold": lambda t, a, b: stats.gamma(a, t, b),
    "lognormal with threshold": lambda t, m, s: stats.lognorm(s, t, np.exp(m)),
    "Weibull with threshold": lambda t, a, b: stats.weibull_min(a, t, b),
}
CASES = [
    ("gamma with threshold", 5.0, 4.0, 0.1),
    ("gamma with threshold", -80.0, 1500.0, 0.05),
    ("lognormal with threshold", 5.0, -1.0, 0.5),
    ("lognormal with threshold", -3.0, 2.0, 0.02),
    ("Weibull with threshold", 5.0, 2.4, 0.4),
    ("Weibull with threshold", -2.0, 12.0, 3.0),
]


@pytest.mark.checks("families with threshold", source="SciPy: gamma, lognorm, weibull_min")
@pytest.mark.parametrize(("name", "first", "second", "third"), CASES)
def test_it_is_scipys(name: str, first: float, second: float, third: float) -> None:
    kind: Any = FAMILIES[name]
    own = [first, second, third]
    at = kind.coordinates(own)
    assert kind.parameters(at) == pytest.approx(own, rel=1e-9)
    theirs = THEIRS[name](*own)
    assert_is_scipys(kind, at, theirs)
    assert_score_is_a_slope(kind, theirs.ppf([0.05, 0.4, 0.7, 0.97]), at)
    assert_starts_near(kind, theirs.ppf((np.arange(400) + 0.5) / 400), theirs)


@pytest.mark.parametrize("skew", [0.3, 1.0, 1.8])
def test_a_gamma_with_threshold_begins_where_scipys_does(skew: float) -> None:
    inside = FAMILIES["gamma with threshold"].inside
    p = np.array([5.0, np.log(2.0), skew])
    standard = stats.gamma(4 / skew**2)
    assert float(standard.stats("s")) == pytest.approx(skew)
    begin = 5.0 - 2.0 * float(standard.mean() / standard.std())
    assert inside(begin + 0.02, None, p)
    assert not inside(begin - 0.02, None, p)


@pytest.mark.parametrize("name", THEIRS)
def test_every_start_holds_all_values(name: str) -> None:
    kind = FAMILIES[name]
    rng = np.random.default_rng(4)
    for drawn in (rng.normal(size=30), rng.gamma(0.5, size=200), -rng.exponential(size=100)):
        x = np.sort((drawn - drawn.mean()) / drawn.std())
        starts = list(kind.starts(x, np.ones(x.size)))
        assert starts
        for c in starts:
            assert kind.inside(x[0], x[-1], c)
            assert np.isfinite(kind.logpdf(x, c)).all()


@pytest.mark.parametrize("name", THEIRS)
def test_below_the_threshold_is_nothing(name: str) -> None:
    kind = FAMILIES[name]
    at = kind.coordinates([5.0, 2.0, 0.5])
    below = np.array([-100.0, 4.9])
    assert kind.logpdf(below, at).tolist() == [-np.inf, -np.inf]
    assert kind.cdf(below, at).tolist() == [0.0, 0.0]
    assert kind.sf(below, at).tolist() == [1.0, 1.0]


def test_far_away_thresholds_leave_the_familys_limit() -> None:
    x = np.array([-2.0, -0.5, 0.0, 1.0, 2.5])
    normal = stats.norm.logpdf(x)
    # Skewness 0.003 moves a normal's log density by skewness / 6 (z^3 - 3 z): below 0.005 here.
    assert FAMILIES["gamma with threshold"].logpdf(x, [0.0, 0.0, 0.003]) == pytest.approx(
        normal + 0.003 / 6 * (x**3 - 3 * x), abs=1e-4
    )
    assert FAMILIES["lognormal with threshold"].logpdf(x, [0.0, 0.0, -7.0]) == pytest.approx(
        normal, abs=0.02
    )
    # A Weibull of a large shape is the smallest extreme value.
    assert FAMILIES["Weibull with threshold"].logpdf(x, [0.0, 0.0, -6.0]) == pytest.approx(
        stats.gumbel_l.logpdf(x), abs=0.1
    )


def test_coordinates_are_the_middle_and_the_spread_there() -> None:
    # What the module says of each: mean and SD; median and slope; the characteristic life.
    gamma, log, weibull = (THEIRS[n](*p) for n, *p in (CASES[0], CASES[2], CASES[4]))
    kind = FAMILIES["gamma with threshold"]
    m, log_s, skewness = kind.coordinates([5.0, 4.0, 0.1])
    assert [m, np.exp(log_s), skewness] == pytest.approx(
        [gamma.mean(), gamma.std(), float(gamma.stats("s"))]
    )
    m, log_s, _ = FAMILIES["lognormal with threshold"].coordinates([5.0, -1.0, 0.5])
    assert m == pytest.approx(log.median())
    slope = (log.ppf(stats.norm.cdf(1e-4)) - log.ppf(stats.norm.cdf(-1e-4))) / 2e-4
    assert np.exp(log_s) == pytest.approx(slope, rel=1e-6)
    m, _, _ = FAMILIES["Weibull with threshold"].coordinates([5.0, 2.4, 0.4])
    assert m == pytest.approx(weibull.ppf(1 - np.exp(-1)))
