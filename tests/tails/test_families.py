"""Families of room tails against SciPy's own fits and distribution functions."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.tails.candidate import QUANTILES, anderson_darling, step_edges
from linestudy.tails.folded import fit_folded_t
from linestudy.tails.outliers import fit_outliers
from linestudy.tails.skewed import fit_skewed
from linestudy.tails.symmetric import fit_normal, fit_t


def ones(x: np.ndarray) -> np.ndarray:
    return np.ones(x.size)


@pytest.mark.checks("maximum likelihood of Student's t", source="SciPy: t.fit")
@pytest.mark.parametrize("seed", range(3))
def test_t_is_as_likely_as_scipys_fit(seed: int) -> None:
    x = np.sort(stats.t(4, 5, 2).rvs(800, random_state=seed))
    found = fit_t(x, ones(x))
    best = stats.t.logpdf(x, *stats.t.fit(x, 4, loc=5, scale=2)).sum()
    # The grid of degrees of freedom is a seventh apart in the logarithm; that costs next to nothing.
    assert best - 0.1 < found.loglik <= best + 1e-6


@pytest.mark.parametrize("df", [3.0, 8.0])
def test_quantiles_of_t_scatter_as_their_covariance_says(df: float) -> None:
    # At the shape nearest to the truth: simulation against the expected information.
    rng = np.random.default_rng(7)
    fits = [fit_t(x, ones(x)) for x in (np.sort(rng.standard_t(df, 400)) for _ in range(300))]
    from linestudy.tails.symmetric import _FINE

    at = int(np.abs(_FINE - 1 / df).argmin())
    drawn = np.log([item.quantiles[at, 2] - item.quantiles[at, 1] for item in fits])
    said = np.mean(
        [
            item.covariance[at, 2, 2] / (item.quantiles[at, 2] - item.quantiles[at, 1]) ** 2
            for item in fits
        ]
    )
    assert drawn.std() == pytest.approx(np.sqrt(said), rel=0.2)


@pytest.mark.checks(
    "maximum likelihood of skewed families", source="SciPy: gamma, lognorm, weibull_min, invgauss"
)
@pytest.mark.parametrize(
    ("kind", "dist"),
    [
        ("gamma", stats.gamma),
        ("lognormal", stats.lognorm),
        ("Weibull", stats.weibull_min),
        ("inverse Gaussian", stats.invgauss),
    ],
)
def test_families_from_a_bound_agree_with_scipy(kind: str, dist: stats.rv_continuous) -> None:
    x = np.sort(stats.gamma(3, scale=0.5).rvs(600, random_state=2))
    found = fit_skewed(x, ones(x), kind, 0.0)
    assert found is not None
    args = dist.fit(x, floc=0)
    assert found.loglik == pytest.approx(dist.logpdf(x, *args).sum(), abs=1e-3)
    assert found.quantiles[found.best] == pytest.approx(dist.ppf(QUANTILES, *args), rel=2e-3)
    assert found.cdf(1.3) == pytest.approx(dist.cdf(1.3, *args), rel=2e-3)
    assert found.sf(6.0) == pytest.approx(dist.sf(6.0, *args), rel=2e-2)


@pytest.mark.parametrize("kind", ["gamma", "lognormal", "Weibull", "inverse Gaussian"])
def test_quantiles_scatter_as_their_covariance_says(kind: str) -> None:
    rng = np.random.default_rng(3)
    truth = {
        "gamma": stats.gamma(4),
        "lognormal": stats.lognorm(0.4),
        "Weibull": stats.weibull_min(1.7),
        "inverse Gaussian": stats.invgauss(0.3),
    }[kind]
    fits = [
        fit_skewed(x, ones(x), kind, 0.0)
        for x in (np.sort(truth.rvs(400, random_state=rng)) for _ in range(400))
    ]
    drawn = np.array([item.quantiles[0] for item in fits if item is not None])
    said = np.mean([item.covariance[0] for item in fits if item is not None], axis=0)
    assert np.sqrt(np.diag(said)) == pytest.approx(drawn.std(axis=0), rel=0.15)
    assert said[1, 2] == pytest.approx(np.cov(drawn.T)[1, 2], rel=0.35)


def test_skew_to_the_left_is_the_mirror_of_skew_to_the_right() -> None:
    x = np.sort(stats.gamma(3).rvs(400, random_state=4))
    right = fit_skewed(x, ones(x), "lognormal")
    left = fit_skewed(-x[::-1], ones(x), "lognormal")
    assert right is not None
    assert left is not None
    assert left.quantiles[left.best] == pytest.approx(-right.quantiles[right.best][::-1])
    assert left.cdf(-2.0) == pytest.approx(right.sf(2.0))
    assert left.side(-20.0, False, 1.6, 400, 400, 1.7) == pytest.approx(
        right.side(20.0, True, 1.6, 400, 400, 1.7)
    )


@pytest.mark.checks("maximum likelihood of the folded normal", source="SciPy: foldnorm")
def test_folded_normal_and_t_are_as_likely_as_scipys() -> None:
    x = np.sort(np.abs(stats.norm(1.2, 1).rvs(700, random_state=5)))
    found = fit_folded_t(x, ones(x), 0.0)
    assert found is not None
    c, _, scale = stats.foldnorm.fit(x, floc=0)
    best = stats.foldnorm.logpdf(x, c, 0, scale).sum()
    assert best - 0.5 < found.loglik < best + 2.0  # the t has one parameter more
    half_t = np.sort(np.abs(stats.t(4).rvs(4000, random_state=6)))
    heavy = fit_folded_t(half_t, ones(half_t), 0.0)
    assert heavy is not None
    direct = (np.log(2) + stats.t.logpdf(half_t, 4)).sum()
    assert heavy.loglik > direct - 1.0
    assert heavy.quantiles[heavy.best, 2] == pytest.approx(stats.t(4).ppf(0.999325), rel=0.12)


@pytest.mark.checks("quantile of a contaminated normal", source="SciPy: brentq on norm.cdf")
def test_a_contaminated_normal_finds_its_outliers() -> None:
    rng = np.random.default_rng(8)
    x = np.sort(rng.normal(size=20_000) * np.where(rng.random(20_000) < 0.01, 4, 1))
    found = fit_outliers(x, ones(x))
    # 0.99 Phi(q) + 0.01 Phi(q / 4) = 0.99865 by SciPy's root finder.
    from scipy.optimize import brentq

    exact = brentq(lambda q: 0.99 * stats.norm.sf(q) + 0.01 * stats.norm.sf(q / 4) - 0.00135, 3, 8)
    assert found.quantiles[found.best, 2] == pytest.approx(exact, rel=0.12)


@pytest.mark.checks("Anderson-Darling statistic", source="SciPy: anderson")
def test_anderson_darling_is_scipys_on_different_values() -> None:
    x = np.sort(stats.norm.rvs(size=3000, random_state=9))
    found = fit_normal(x, ones(x))
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = stats.anderson(x, "norm").statistic
    assert found.ad == pytest.approx(theirs, abs=0.05)
    coarse = np.round(x / 0.5) * 0.5
    values, counts = np.unique(coarse, return_counts=True)
    grouped = anderson_darling(counts, stats.norm.cdf(step_edges(values), x.mean(), x.std()))
    # Rounding to half a standard deviation leaves the grouped statistic small; the usual one explodes.
    assert grouped < 1.5
