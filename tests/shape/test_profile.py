"""How far a likelihood may fall: SciPy's F and chi-square, and the interval of a normal mean."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import chi2, f

from linestudy.shape import fit, quantile_interval
from linestudy.shape.profile import allowed_fall, contour_of, is_quadratic


@pytest.mark.checks("allowed fall of a log likelihood", source="SciPy: F and chi-square")
def test_the_fall_is_half_an_f_and_for_many_values_half_a_chi_square() -> None:
    assert allowed_fall(50, 2, 50, 0.95) == pytest.approx(f.ppf(0.95, 1, 48) / 2 * 50 / 48)
    assert allowed_fall(1e8, 2, 1e8, 0.9) == pytest.approx(chi2.ppf(0.9, 1) / 2, rel=1e-6)
    # A quarter of independent values: the fall of all of them may be four times as far.
    assert allowed_fall(4e8, 2, 1e8, 0.9) == pytest.approx(2 * chi2.ppf(0.9, 1), rel=1e-6)


def test_the_median_of_a_normal_has_nearly_students_interval() -> None:
    from scipy.stats import t

    y = np.random.default_rng(3).normal(5, 1, 40)
    found = quantile_interval(fit(y, "normal", with_covariance=True), 0.5, values=y)
    half = t.ppf(0.975, 39) * y.std(ddof=1) / np.sqrt(40)
    assert found.half_width == pytest.approx(half, rel=0.06)
    assert found.estimate == pytest.approx(y.mean())


def test_a_small_mean_of_a_folded_normal_is_not_quadratic_and_a_large_one_is() -> None:
    rng = np.random.default_rng(6)
    for mean, expected in ((0.2, False), (6.0, True)):
        y = np.abs(rng.normal(mean, 1.0, 5000))
        item = fit(y, "folded normal", 0.0, with_covariance=True)
        assert is_quadratic(contour_of(item, y, 5000.0, 0.95)) is expected


@pytest.mark.proof
@pytest.mark.parametrize(("mean", "n"), [(0.2, 300), (0.5, 3000), (1.0, 3000)])
def test_the_ends_for_a_folded_normal_lie_where_a_search_over_a_grid_finds_them(
    mean: float, n: int
) -> None:
    """Against SciPy's folded normal: for each mean the spread at which the likelihood has fallen far enough."""
    from scipy import optimize, stats

    from linestudy.numerics.likelihood_interval import extremes
    from linestudy.shape.profile import allowed_fall, contour_of

    y = np.round(np.abs(np.random.default_rng(4).normal(mean, 1.0, n)), 2)
    item = fit(y, "folded normal", 0.0, with_covariance=True)
    limit, allowed = mean + 4.0, allowed_fall(n, 2, n, 0.95)
    x, w = np.unique(y, return_counts=True)
    x = np.maximum(x, 0.01 / 4)  # a reading at the bound counts as a quarter of a step

    def loglik(m: float, s: float) -> float:
        return float(w @ stats.foldnorm(m / s, scale=s).logpdf(x))

    top = loglik(*item.parameters.values())

    def largest_deviate(m: float) -> float:
        middle = optimize.minimize_scalar(
            lambda s: -loglik(m, s), bounds=(0.4, 2.0), method="bounded"
        ).x
        if top - loglik(m, middle) >= allowed:
            return -np.inf
        s = optimize.brentq(lambda s: top - loglik(m, s) - allowed, middle, 3.0, xtol=1e-13)
        return float(stats.norm.ppf(stats.foldnorm(m / s, scale=s).sf(limit)))

    means = np.linspace(0.0, mean + 1.0, 31)
    best = means[np.argmax([largest_deviate(m) for m in means])]
    step = means[1]
    refined = optimize.minimize_scalar(
        lambda m: -largest_deviate(m),
        bounds=(max(best - step, 0.0), best + step),
        method="bounded",
        options={"xatol": 1e-9},
    )
    expected = max(-refined.fun, largest_deviate(max(best, 0.0)))
    contour = contour_of(item, y, n, 0.95)
    _, found = extremes(
        [lambda p: float(stats.norm.ppf(item.kind.sf(limit, item.kind.in_range(p))))], contour
    )
    assert found == pytest.approx(expected, abs=2e-8)
