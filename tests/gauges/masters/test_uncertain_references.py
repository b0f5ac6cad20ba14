"""Linearity with uncertain references: statsmodels' weighted least squares."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges import (
    linearity_study,
)
from linestudy.gauges.masters.uncertain_references import johansen_p


def test_uncertain_references_without_uncertainty_are_the_usual_line() -> None:
    rng = np.random.default_rng(8)
    sizes = np.repeat([1.0, 2.0, 3.0, 4.0, 5.0], 10)
    readings = sizes * 1.02 + rng.normal(0, 0.05, 50)
    usual = linearity_study(readings, sizes, 1.0, 5.0)
    weighted = linearity_study(readings, sizes, 1.0, 5.0, reference_uncertainty=1e-9)
    assert weighted.slope.estimate == pytest.approx(usual.slope.estimate, rel=1e-6)
    assert weighted.at_limits["upper"].estimate == pytest.approx(
        usual.at_limits["upper"].estimate, rel=1e-6
    )


@pytest.mark.checks(
    "linearity with uncertain references", source="statsmodels: weighted least squares"
)
def test_uncertain_references_against_statsmodels_wls() -> None:
    # statsmodels: weighted least squares through the masters' means with the variances taken as known.
    import statsmodels.api as sm

    rng = np.random.default_rng(9)
    levels, u = np.array([1.0, 2.0, 3.0, 4.0, 5.0]), np.array([0.02, 0.01, 0.05, 0.01, 0.03])
    sizes, known = np.repeat(levels, 12), np.repeat(u, 12)
    readings = sizes * 1.01 + rng.normal(0, 0.06, 60)
    found = linearity_study(readings, sizes, reference_uncertainty=known)
    means = np.array([(readings - sizes)[sizes == level].mean() for level in levels])
    weight = 1 / (found.residual_sd**2 / 12 + (1 + found.slope.estimate) ** 2 * u**2)
    fit = sm.WLS(means, sm.add_constant(levels), weights=weight).fit(
        cov_type="fixed scale", cov_kwds={"scale": 1.0}
    )
    assert found.slope.estimate == pytest.approx(fit.params[1], rel=1e-8)
    assert found.intercept.estimate == pytest.approx(fit.params[0], rel=1e-8)
    assert found.slope_t == pytest.approx(fit.params[1] / fit.bse[1], rel=1e-8)


@pytest.mark.checks("masters on a line, each with its own spread", source="scipy.stats.chi2")
def test_many_readings_make_johansens_test_a_chi_square_of_weighted_residuals() -> None:
    from scipy.optimize import lsq_linear
    from scipy.stats import chi2

    sizes, means = np.array([1.0, 2, 4, 7, 9]), np.array([0.1, 0.3, -0.2, 0.4, 0.1])
    variances = np.array([0.02, 0.01, 0.05, 0.04, 0.03])
    root = variances**-0.5
    design = np.column_stack([root, root * sizes])
    q = 2 * lsq_linear(design, root * means).cost
    assert johansen_p(sizes, means, variances, np.full(5, 1e9)) == pytest.approx(
        chi2.sf(q, 3), rel=1e-6
    )


@pytest.mark.parametrize("doubt", [0.0, 0.5])
def test_masters_that_scatter_unequally_do_not_bend_a_line(doubt: float) -> None:
    sds, counts = np.array([1.0, 4, 4, 4, 4]), [30, 5, 5, 5, 5]
    bent = 0
    for seed in range(60):
        draw = np.random.default_rng(seed)
        sizes = np.repeat(np.arange(1.0, 6), counts)
        off = doubt * draw.normal(size=5)
        errors = np.repeat(off, counts) + np.repeat(sds, counts) * draw.normal(size=50)
        found = linearity_study(sizes + errors, sizes, reference_uncertainty=doubt)
        assert found.lack_of_fit_p is not None
        bent += found.lack_of_fit_p < 0.05
    # With one spread for all 40 to 50 % would be called bent.
    assert bent <= 8
