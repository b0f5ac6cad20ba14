"""The normal distribution and Student's t: as likely as SciPy's at every number of degrees of freedom."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.tails.candidate import QUANTILES
from linestudy.tails.symmetric import _FINE, fit_normal, fit_t


def ones(x: np.ndarray) -> np.ndarray:
    return np.ones(x.size)


def test_the_normal_is_the_usual_estimate_with_counts() -> None:
    x, w = np.array([1.0, 2.0, 4.0, 7.0]), np.array([3.0, 5.0, 1.0, 1.0])
    every = np.repeat(x, w.astype(int))
    found = fit_normal(x, w)
    theirs = stats.norm(every.mean(), every.std(ddof=1))
    assert found.n == 10
    assert found.quantiles[0] == pytest.approx(theirs.ppf(QUANTILES))
    # The likelihood is that of the maximum, whose SD divides by n.
    assert found.loglik == pytest.approx(stats.norm.logpdf(every, every.mean(), every.std()).sum())
    assert found.cdf(2.5) == pytest.approx(theirs.cdf(2.5))
    assert found.sf(40.0) == pytest.approx(theirs.sf(40.0))


def test_quantiles_of_the_normal_scatter_as_their_covariance_says() -> None:
    rng = np.random.default_rng(1)
    drawn = np.array(
        [fit_normal(x, ones(x)).quantiles[0] for x in np.sort(rng.normal(size=(3000, 60)))]
    )
    one = fit_normal(*(lambda x: (x, ones(x)))(stats.norm.ppf((np.arange(60) + 0.5) / 60)))
    sd2 = one.covariance[0] / float(one.quantiles[0, 2] / stats.norm.ppf(QUANTILES[2])) ** 2
    # 3,000 samples know a standard deviation to 1.3 %.
    assert np.cov(drawn.T) == pytest.approx(sd2, rel=0.1, abs=0.003)


@pytest.mark.checks("maximum likelihood of Student's t", source="SciPy: t.fit")
@pytest.mark.parametrize("seed", range(3))
def test_t_is_as_likely_as_scipys_fit(seed: int) -> None:
    x = np.sort(stats.t(4, 5, 2).rvs(800, random_state=seed))
    found = fit_t(x, ones(x))
    best = stats.t.logpdf(x, *stats.t.fit(x, 4, loc=5, scale=2)).sum()
    # The grid of degrees of freedom is a seventh apart in the logarithm; that costs next to nothing.
    assert best - 0.1 < found.loglik <= best + 1e-6


@pytest.mark.checks(
    "maximum likelihood of Student's t, its degrees of freedom given", source="SciPy: t.fit"
)
@pytest.mark.parametrize("kind", ["heavy", "two humps", "two far values"])
@pytest.mark.parametrize("at", [1, 80, 162])
def test_along_the_degrees_of_freedom_every_maximum_is_found(kind: str, at: int) -> None:
    rng = np.random.default_rng(2)
    x = {
        "heavy": rng.standard_t(2, 200),
        "two humps": np.r_[rng.normal(-3, 1, 100), rng.normal(3, 1, 100)],
        "two far values": np.r_[rng.normal(size=100), 50.0, 60.0],
    }[kind]
    x = np.sort(x)
    found = fit_t(x, ones(x))
    theirs = stats.t.logpdf(x, *stats.t.fit(x, f0=1 / _FINE[at])).sum()
    assert found.loglik - found.deviance[at] / 2 == pytest.approx(theirs, abs=2e-3)


def test_light_tails_are_the_normal_and_say_so() -> None:
    x = np.sort(np.random.default_rng(3).random(500))
    found = fit_t(x, ones(x))
    assert found.best == 0
    assert found.name == "Student's t (as good as normal)"
    assert found.loglik == pytest.approx(fit_normal(x, ones(x)).loglik, abs=1e-6)
    assert found.aic == pytest.approx(fit_normal(x, ones(x)).aic + 2, abs=1e-5)
    assert found.quantiles[0] == pytest.approx(fit_normal(x, ones(x)).quantiles[0], abs=2e-3)


def test_counts_are_values_that_many_times() -> None:
    x = np.arange(-4.0, 5.0)
    w = np.array([1, 1, 5, 20, 40, 22, 6, 0, 2.0])
    one, every = fit_t(x, w), np.repeat(x, w.astype(int))
    other = fit_t(every, ones(every))
    assert one.loglik == pytest.approx(other.loglik)
    assert one.quantiles == pytest.approx(other.quantiles)


@pytest.mark.parametrize("df", [3.0, 8.0])
def test_quantiles_of_t_scatter_as_their_covariance_says(df: float) -> None:
    # At the shape nearest to the truth: simulation against the expected information.
    rng = np.random.default_rng(7)
    fits = [fit_t(x, ones(x)) for x in (np.sort(rng.standard_t(df, 400)) for _ in range(300))]
    at = int(np.abs(_FINE - 1 / df).argmin())
    drawn = np.log([item.quantiles[at, 2] - item.quantiles[at, 1] for item in fits])
    said = np.mean(
        [
            item.covariance[at, 2, 2] / (item.quantiles[at, 2] - item.quantiles[at, 1]) ** 2
            for item in fits
        ]
    )
    assert drawn.std() == pytest.approx(np.sqrt(said), rel=0.2)
