"""A normal distribution with outliers: its likelihood, shares and outer quantile against SciPy's normals."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import brentq, minimize

from linestudy.tails.outliers import _fewer, _quantile, fit_outliers
from linestudy.tails.symmetric import fit_normal


def ones(x: np.ndarray) -> np.ndarray:
    return np.ones(x.size)


def contaminated(n: int, share: float, ratio: float, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    return np.sort(rng.normal(size=n) * np.where(rng.random(n) < share, ratio, 1))


@pytest.mark.checks("quantile of a contaminated normal", source="SciPy: brentq on norm.cdf")
def test_a_contaminated_normal_finds_its_outliers() -> None:
    rng = np.random.default_rng(8)
    x = np.sort(rng.normal(size=20_000) * np.where(rng.random(20_000) < 0.01, 4, 1))
    found = fit_outliers(x, ones(x))
    # 0.99 Phi(q) + 0.01 Phi(q / 4) = 0.99865 by SciPy's root finder.
    exact = brentq(lambda q: 0.99 * stats.norm.sf(q) + 0.01 * stats.norm.sf(q / 4) - 0.00135, 3, 8)
    assert found.quantiles[found.best, 2] == pytest.approx(exact, rel=0.12)


@pytest.mark.checks("quantile of a contaminated normal", source="SciPy: brentq on norm.cdf")
@pytest.mark.parametrize(
    ("share", "ratio"), [(1e-5, 12.0), (0.004, 8.0), (0.05, 2.0), (0.45, 12.0)]
)
def test_the_outer_quantile_is_a_root(share: float, ratio: float) -> None:
    found = _quantile(np.array([share]), np.array([ratio]))[0]
    exact = brentq(
        lambda q: (1 - share) * stats.norm.sf(q) + share * stats.norm.sf(q / ratio) - 0.00135, 1, 60
    )
    assert found == pytest.approx(exact, rel=1e-9)


@pytest.mark.checks(
    "maximum likelihood of a contaminated normal", source="SciPy: minimize over norm.pdf"
)
@pytest.mark.parametrize("seed", range(3))
def test_it_is_nearly_as_likely_as_the_best_of_a_search(seed: int) -> None:
    x = contaminated(300, 0.05, 5.0, seed)
    found = fit_outliers(x, ones(x))

    def minus(at: np.ndarray) -> float:
        share, s, k = 1 / (1 + np.exp(-at[0])), np.exp(at[1]), 2 + 10 / (1 + np.exp(-at[2]))
        m = x.mean()
        density = (1 - share) * stats.norm.pdf(x, m, s) + share * stats.norm.pdf(x, m, k * s)
        return -float(np.log(density).sum())

    best = -minimize(minus, [-3.0, 0.0, 0.0], method="Nelder-Mead", options={"maxiter": 400}).fun
    # The ratios of the spreads are a quarter apart.
    assert best - 0.5 < found.loglik < best + 0.01
    assert found.parameters == 4
    assert found.loglik >= fit_normal(x, ones(x)).loglik - 0.05


def test_it_is_a_distribution_of_one_middle() -> None:
    x = contaminated(400, 0.03, 4.0, 9) + 70.0
    found = fit_outliers(x, ones(x))
    at = np.array([60.0, 68.0, x.mean(), 73.0, 90.0])
    assert found.cdf(at) + found.sf(at) == pytest.approx(np.ones(5))
    assert found.cdf(2 * x.mean() - at) == pytest.approx(found.sf(at), rel=1e-9)
    low, middle, high = found.quantiles[found.best]
    assert middle == pytest.approx(x.mean())
    assert high - middle == pytest.approx(middle - low)
    assert found.sf(high) == pytest.approx(0.00135, rel=1e-6)
    assert found.cdf(low) == pytest.approx(0.00135, rel=1e-6)


def test_cells_keep_the_number_and_the_squares_of_the_values() -> None:
    x = contaminated(5000, 0.02, 4.0, 10)
    away, count = _fewer(x, ones(x))
    assert away.size <= 400
    assert count.sum() == 5000
    assert count @ away**2 == pytest.approx(float(x @ x), rel=1e-12)
    # The hundred outermost on each side stand alone.
    assert {round(abs(v), 9) for v in (*x[:100], *x[-100:])} <= {round(v, 9) for v in away}
    few, counts = _fewer(x[:50], ones(x[:50]))
    assert few.tolist() == x[:50].tolist()
    assert counts.tolist() == [1.0] * 50
