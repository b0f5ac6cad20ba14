"""Bias, linearity, repeatability on masters: AIAG (from memory), SciPy, statsmodels."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.gauges import bias_study, cg_cgk, drift_study, linearity_study
from linestudy.numerics.normal_constants import d2, d2_star
from linestudy.results import CannotJudge

AIAG = [5.8, 5.7, 5.9, 5.9, 6.0, 6.1, 6.0, 6.1, 6.4, 6.3, 6.0, 6.1, 6.2, 5.6, 6.0]


@pytest.mark.checks(
    "bias on one master, spread from the range",
    source="AIAG MSA, 4th ed. (2010), ch. III",
    memory=True,
)
def test_published_bias_with_the_range() -> None:
    # AIAG MSA, 4th ed. (2010), ch. III, from memory; the book divides the bias rounded to 0.0067.
    study = bias_study(AIAG, 6.0, sd_method="range")
    assert study.mean_bias.estimate == pytest.approx(0.0067, abs=5e-5)
    assert study.sd == pytest.approx(0.22514, abs=2e-5)
    assert study.df == pytest.approx(10.8, abs=0.05)
    assert 0.0067 / (study.sd / np.sqrt(15)) == pytest.approx(0.1153, abs=6e-5)
    # The book's interval is shorter by d2 / d2*: it multiplies s by d2 again.
    half = study.mean_bias.half_width * d2(15) / d2_star(15)
    assert 0.0067 - half == pytest.approx(-0.1185, abs=2e-4)
    assert 0.0067 + half == pytest.approx(0.1319, abs=2e-4)


def test_bias_against_scipy() -> None:
    from scipy.stats import ttest_1samp

    study = bias_study(AIAG, 6.0)
    expected = ttest_1samp(AIAG, 6.0)
    interval = expected.confidence_interval(0.95)
    assert study.sd == pytest.approx(0.21202, abs=5e-6)
    assert study.t == pytest.approx(expected.statistic, rel=1e-9)
    assert study.p == pytest.approx(expected.pvalue, rel=1e-9)
    assert study.mean_bias.low + 6 == pytest.approx(interval.low, rel=1e-9)


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
    assert any("lower" in note for note in study.cautions)
    # Lack of fit: the same F as comparing the line with one mean per master.
    import pandas as pd
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    frame = pd.DataFrame({"e": readings - sizes, "x": sizes})
    compared = anova_lm(ols("e ~ x", frame).fit(), ols("e ~ C(x)", frame).fit())
    assert study.lack_of_fit_p == pytest.approx(compared["Pr(>F)"].iloc[1], rel=1e-7)


def test_repeatability_by_hand() -> None:
    # VDA 5 manner, arithmetic by hand: s = 1, tolerance 60, 20 % of it over 6 s is 2.
    values = np.array([-1.0, 1.0, -1.0, 1.0, 0.0]) * np.sqrt(4 / 4) + 10.5
    study = cg_cgk(values, 10.0, 60.0)
    assert study.sd == pytest.approx(1.0)
    assert study.Cg.estimate == pytest.approx(2.0)
    assert study.Cgk.estimate == pytest.approx((6 - 0.5) / 3)
    assert cg_cgk(values, 10.0, 60.0, sigma_multiplier=4.0).Cg.estimate == pytest.approx(3.0)
    assert study.smallest_tolerance.estimate == pytest.approx(60 * 1.33 / 2)


@given(st.floats(0.01, 100), st.floats(-50, 50))
def test_units_and_shifts(unit: float, zero: float) -> None:
    one = bias_study(AIAG, 6.0)
    other = bias_study(np.array(AIAG) * unit + zero, 6.0 * unit + zero)
    assert other.mean_bias.estimate == pytest.approx(
        one.mean_bias.estimate * unit, rel=1e-6, abs=1e-9
    )
    assert other.p == pytest.approx(one.p, rel=1e-5)


def test_interval_of_the_bias_covers() -> None:
    rng = np.random.default_rng(8)
    held = sum(0.3 in bias_study(rng.normal(5.3, 0.5, 12), 5.0).mean_bias for _ in range(1500))
    # Three Monte Carlo standard errors about 95 %.
    assert abs(held / 1500 - 0.95) < 3 * np.sqrt(0.95 * 0.05 / 1500)


def test_drift_restarts_at_resets_and_agrees_with_statsmodels() -> None:
    import pandas as pd
    from statsmodels.formula.api import ols

    rng = np.random.default_rng(2)
    order = np.arange(0, 4000, 50.0)
    stretch = (order >= 1500).astype(int) + (order >= 3000)
    errors = 0.002 * (order - np.array([0, 1500, 3000])[stretch]) / 1000 + rng.normal(
        0, 0.001, order.size
    )
    study = drift_study(order, 1.0 + errors, 1.0, resets=(1500.0, 3000.0))
    frame = pd.DataFrame({"e": errors, "x": order / 1000, "s": stretch})
    fit = ols("e ~ x + C(s)", frame).fit()
    assert study.slope_per_thousand.estimate == pytest.approx(fit.params["x"], rel=1e-9)
    assert study.slope_per_thousand.low == pytest.approx(fit.conf_int().loc["x", 0], rel=1e-9)
    assert study.stretches == 3
    assert 0.002 in study.slope_per_thousand


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: bias_study([1.0], 1.0), "at least 2"),
        (lambda: bias_study([1.0, 1.0, 1.0], 1.0), "same"),
        (lambda: linearity_study([1.0, 1.1, 2.0, 2.1], [1, 1, 2, 2]), "three are needed"),
        (lambda: cg_cgk([2.0, 2.0, 2.0], 2.0, 1.0), "same"),
        (lambda: drift_study([1, 1, 1, 1], [1.0, 2.0, 1.0, 2.0], 1.0), "too few"),
    ],
)
def test_what_cannot_be_judged_is_said(call, words: str) -> None:
    with pytest.raises(CannotJudge, match=words):
        call()


def test_twenty_readings_are_no_longer_few() -> None:
    rng = np.random.default_rng(2)
    for n, few in ((19, True), (20, False)):
        study = drift_study(np.arange(n), 1 + rng.normal(0, 0.1, n), 1.0)
        assert any("few for a statement" in text for text in study.cautions) == few


def test_three_sizes_of_master_are_enough_for_linearity_and_two_are_not() -> None:
    from linestudy.gauges import linearity_study

    sizes = np.repeat([1.0, 2.0, 3.0], 2)
    readings = sizes + 0.1 * sizes + np.array([0.01, -0.01] * 3)
    assert linearity_study(readings, sizes).slope.estimate == pytest.approx(0.1)
    with pytest.raises(CannotJudge, match="three are needed"):
        linearity_study(readings[:4], sizes[:4])
