"""Linearity: statsmodels' least squares, prediction and lack of fit."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges import linearity_study
from linestudy.results import CannotJudge


def test_linearity_against_statsmodels() -> None:
    import statsmodels.api as sm

    rng = np.random.default_rng(3)
    sizes = np.repeat([2.0, 4.0, 6.0, 8.0, 10.0], 12)
    readings = sizes + 0.7 - 0.13 * sizes + rng.normal(0, 0.2, sizes.size)
    fit = sm.OLS(readings - sizes, sm.add_constant(sizes)).fit()
    study = linearity_study(readings, sizes, lower=1.0, upper=9.0)
    assert study.slope.estimate == pytest.approx(fit.params[1], rel=1e-9)
    assert study.intercept.estimate == pytest.approx(fit.params[0], rel=1e-9)
    assert study.slope_t == pytest.approx(fit.tvalues[1], rel=1e-9)
    assert study.intercept_p == pytest.approx(fit.pvalues[0], rel=1e-7)
    assert study.r_squared == pytest.approx(fit.rsquared, rel=1e-9)
    assert study.residual_sd == pytest.approx(np.sqrt(fit.scale), rel=1e-9)
    frame = fit.get_prediction([[1.0, 9.0]]).summary_frame()
    assert study.at_limits["upper"].low == pytest.approx(frame["mean_ci_lower"][0], rel=1e-9)
    assert study.at_limits["upper"].high == pytest.approx(frame["mean_ci_upper"][0], rel=1e-9)
    for ours, at in ((study.intercept, 0), (study.slope, 1)):
        assert (ours.low, ours.high) == pytest.approx(tuple(fit.conf_int()[at]), rel=1e-9)
    assert any("lower" in note for note in study.cautions)
    # Lack of fit: the same F as comparing the line with one mean per master.
    import pandas as pd
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    frame = pd.DataFrame({"e": readings - sizes, "x": sizes})
    compared = anova_lm(ols("e ~ x", frame).fit(), ols("e ~ C(x)", frame).fit())
    assert study.lack_of_fit_p == pytest.approx(compared["Pr(>F)"].iloc[1], rel=1e-7)


def test_three_sizes_of_master_are_enough_for_linearity_and_two_are_not() -> None:
    sizes = np.repeat([1.0, 2.0, 3.0], 2)
    readings = sizes + 0.1 * sizes + np.array([0.01, -0.01] * 3)
    assert linearity_study(readings, sizes).slope.estimate == pytest.approx(0.1)
    with pytest.raises(CannotJudge, match="three are needed"):
        linearity_study(readings[:4], sizes[:4])
