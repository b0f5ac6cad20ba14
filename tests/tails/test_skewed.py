"""Skewed families: SciPy's fits from a bound, their limits and mirror images, far tails with their digits."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.tails.candidate import QUANTILES
from linestudy.tails.skewed import KINDS, fit_skewed
from linestudy.tails.symmetric import fit_normal


def ones(x: np.ndarray) -> np.ndarray:
    return np.ones(x.size)


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


@pytest.mark.parametrize("kind", KINDS)
def test_a_threshold_that_is_followed_leads_to_the_best_of_the_given_ones(kind: str) -> None:
    x = np.sort(5.0 + stats.gamma(3, scale=0.5).rvs(300, random_state=2))
    free = fit_skewed(x, ones(x), kind)
    assert free is not None
    assert free.name == f"{kind} with threshold"
    assert free.parameters == 3
    # No bound that is given may make the values likelier than the followed threshold does, but for its grid.
    for bound in (3.0, 4.5, 5.0, float(x[0]) - 0.02):
        given = fit_skewed(x, ones(x), kind, bound)
        assert given is not None
        assert given.name == kind
        assert free.loglik > given.loglik - 0.5


@pytest.mark.parametrize("kind", ["gamma", "lognormal", "inverse Gaussian"])
def test_a_threshold_sixty_deviations_away_is_the_normal(kind: str) -> None:
    x = np.sort(np.random.default_rng(5).normal(size=300))
    found, normal = fit_skewed(x, ones(x), kind), fit_normal(x, ones(x))
    assert found is not None
    last = found.quantiles[-1]
    assert last == pytest.approx(normal.quantiles[0], abs=0.12)
    assert found.loglik - found.deviance[-1] / 2 == pytest.approx(normal.loglik, abs=1.0)


def test_shapes_with_a_pole_at_a_free_threshold_are_left_out() -> None:
    x = np.sort(np.random.default_rng(6).gamma(0.4, size=300))
    for kind in ("gamma", "Weibull"):
        found = fit_skewed(x, ones(x), kind)
        if found is not None:
            assert np.isinf(found.deviance[0])  # just below the smallest value
        bound = fit_skewed(x, ones(x), kind, 0.0)
        assert bound is not None
        theirs = {"gamma": stats.gamma, "Weibull": stats.weibull_min}[kind]
        assert bound.loglik == pytest.approx(
            theirs.logpdf(x, *theirs.fit(x, floc=0)).sum(), abs=1e-2
        )


def test_a_value_below_the_bound_is_refused_and_one_at_it_stands_half_a_step_above() -> None:
    x = np.array([0.0, 0.02, 0.04, 0.06, 0.08, 0.1])
    w = np.array([3.0, 9.0, 12.0, 8.0, 4.0, 2.0])
    for kind in KINDS:
        assert fit_skewed(x, w, kind, 0.001) is None
        at = fit_skewed(x, w, kind, 0.0)
        assert at is not None
        moved = fit_skewed(np.r_[0.005, x[1:]], w, kind, 0.0)
        assert moved is not None
        assert at.quantiles[0] == pytest.approx(moved.quantiles[0], rel=1e-9)


@pytest.mark.checks("far tail of the inverse Gaussian", source="SciPy: invgauss.sf")
def test_the_far_tail_of_an_inverse_gaussian_keeps_its_digits() -> None:
    x = np.sort(stats.invgauss(0.05).rvs(300, random_state=7))
    found = fit_skewed(x, ones(x), "inverse Gaussian", 0.0)
    assert found is not None
    theirs = stats.invgauss(*stats.invgauss.fit(x, floc=0))
    far = theirs.isf(np.array([1e-6, 1e-12, 1e-20]))
    assert found.sf(far) == pytest.approx([1e-6, 1e-12, 1e-20], rel=1e-4)
    assert found.cdf(theirs.ppf(1e-12)) == pytest.approx(1e-12, rel=1e-4)


@pytest.mark.proof
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
