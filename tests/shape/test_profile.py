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
