"""Peaks over a threshold: an exact tail by SciPy, the share beyond it, both sides, and where it is refused."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.tails.candidate import Candidate
from linestudy.tails.threshold_peaks import PEAKS, _distance, _grid, peaks


def upper_peaks(y: np.ndarray) -> Candidate:
    found = peaks(np.sort(y), True)
    assert found is not None
    return found


@pytest.mark.checks("quantile beyond a threshold", source="SciPy: genpareto")
def test_peaks_of_an_exact_pareto_tail() -> None:
    # Exceedances are generalized Pareto exactly: SciPy's genpareto gives the quantile.
    truth = stats.genpareto(0.2)
    y = np.sort(truth.rvs(20_000, random_state=1))
    found = peaks(y, True)
    assert found is not None
    assert found.quantiles[0, 2] == pytest.approx(truth.ppf(0.99865), rel=0.08)
    assert found.sf(truth.ppf(0.999)) == pytest.approx(0.001, rel=0.35)


@pytest.mark.parametrize("xi", [-0.4, 0.0, 0.3])
def test_the_tail_of_many_samples_is_the_true_one_on_average(xi: float) -> None:
    # Mean of Zhang and Stephens' estimate over 200 samples of 500 exact exceedances; the scatter of one
    # is about (1 + xi) / sqrt(500) (Smith, Biometrika 72 (1985)), of the mean a fourteenth of it.
    rng = np.random.default_rng(2)
    found = []
    for _ in range(200):
        excess = np.sort(stats.genpareto(xi).rvs(500, random_state=rng))
        theta, weight, _ = _grid(excess)
        found.append(float(np.log1p(float(weight @ theta) * excess).mean()))
    assert np.mean(found) == pytest.approx(xi, abs=0.02)
    # Not better than maximum likelihood in the long run, and not much worse.
    assert 0.85 < np.std(found) / ((1 + xi) / np.sqrt(500)) < 1.5


@pytest.mark.parametrize("unit", [1.0, 1e-3, 1e5])
def test_the_share_beyond_is_that_of_the_quantile_and_of_the_threshold(unit: float) -> None:
    y = np.sort(unit * np.random.default_rng(3).normal(size=2000))
    found = upper_peaks(y)
    assert float(found.sf(found.quantiles[0, 2])) == pytest.approx(0.00135, rel=1e-9)
    threshold = (y[1799] + y[1800]) / 2
    assert float(found.sf(threshold + 1e-9 * unit)) == pytest.approx(0.1, rel=1e-6)
    assert float(found.cdf(3 * unit)) == pytest.approx(1 - float(found.sf(3 * unit)))
    # Of the body it says nothing, nor of the other side.
    assert np.isnan(found.sf(0.0))
    assert np.isnan(found.quantiles[:, 0]).all()
    assert found.sides == "upper"
    assert found.name == PEAKS
    assert found.quantiles[0, 1] == np.median(y)


def test_the_lower_tail_is_the_upper_one_of_the_values_turned() -> None:
    y = np.sort(np.random.default_rng(4).gamma(3.0, size=3000))
    lower, turned = peaks(y, False), upper_peaks(-y)
    assert lower is not None
    assert lower.sides == "lower"
    assert lower.quantiles[:, 0] == pytest.approx(-turned.quantiles[:, 2])
    assert float(lower.cdf(0.1)) == pytest.approx(float(turned.sf(-0.1)))
    limit = float(lower.quantiles[0, 0]) - 0.05
    assert lower.side(limit, False, 1.645, 3000, 3000, 1.7) == pytest.approx(
        turned.side(-limit, True, 1.645, 3000, 3000, 1.7)
    )


def test_the_further_the_likelihood_reaches_the_farther_the_quantile() -> None:
    found = upper_peaks(np.random.default_rng(5).normal(size=2000))
    outer = found.quantiles[:, 2]
    assert found.deviance[0] == 0
    assert (np.diff(found.deviance) > 0).all()
    assert (np.diff(outer) >= 0).all()
    assert outer[-1] > outer[0]
    # Four times as many values know the quantile about twice as well.
    more = upper_peaks(np.random.default_rng(5).normal(size=8000))
    width = [float(c.side(4.0, True, 1.645, c.n, c.n, 1.0)[1]) for c in (found, more)]
    estimate = [float(c.side(4.0, True, 1.645, c.n, c.n, 1.0)[0]) for c in (found, more)]
    assert width[0] / estimate[0] < width[1] / estimate[1]


@pytest.mark.checks(
    "Anderson-Darling statistic of peaks", source="the sum over SciPy's genpareto.logcdf and logsf"
)
def test_the_distance_is_anderson_and_darlings_from_the_fitted_tail() -> None:
    excess = np.sort(np.random.default_rng(6).exponential(size=300))
    theta, weight, _ = _grid(excess)
    at = float(weight @ theta)
    xi = float(np.log1p(at * excess).mean())
    tail = stats.genpareto(xi, scale=xi / at)
    odd = 2 * np.arange(1, 301) - 1
    sums = odd @ (tail.logcdf(excess) + tail.logsf(excess)[::-1])
    assert _distance(excess) == pytest.approx(-300 - sums / 300, rel=1e-8)


def test_peaks_are_refused_where_there_are_too_few() -> None:
    assert peaks(np.sort(np.random.default_rng(1).normal(size=499)), True) is None
    steps = np.sort(np.round(np.random.default_rng(1).normal(size=4000)))
    assert peaks(steps, True) is None


def test_fifty_peaks_are_enough() -> None:
    y = np.sort(np.random.default_rng(1).normal(size=500))
    assert peaks(y, True) is not None
    assert peaks(y, True, (0.098,)) is None


def test_peaks_of_two_populations_begin_where_the_second_alone_is() -> None:
    # A fiftieth of the parts five standard deviations off: no one tail describes the tenth beyond the usual threshold, which
    # alone gave an outer quantile 1.6 times too far. The truth is a mixture's own quantile.
    from linestudy.simulate.operating.truth import mixture_quantiles

    low, middle, high = mixture_quantiles([(0.98, 0, 1), (0.02, 5, 1)])
    for seed in range(4):
        rng = np.random.default_rng(seed)
        y = np.sort(rng.normal(size=5000) + 5 * (rng.random(5000) < 0.02))
        upper, lower = peaks(y, True), peaks(y, False)
        assert upper is not None
        assert lower is not None
        assert upper.quantiles[0, 2] - middle == pytest.approx(high - middle, rel=0.12)
        assert middle - lower.quantiles[0, 0] == pytest.approx(middle - low, rel=0.12)
        once = peaks(y, True, (0.10,))
        assert once is not None
        assert once.quantiles[0, 2] - middle > 1.25 * (high - middle)
