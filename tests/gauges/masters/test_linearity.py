"""Linearity: statsmodels' least squares, prediction and lack of fit."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges import linearity_study
from linestudy.results import CannotJudge


def by_master(errors: np.ndarray, sizes: np.ndarray, at: float | None = None) -> float:
    """Half width at a size, or of the slope, from each master's own variance, by matrices (JCGM 100, G.4 for the df)."""
    from scipy.stats import t

    design = np.column_stack([np.ones(sizes.size), sizes])
    pull = design @ np.linalg.solve(
        design.T @ design, np.array([0.0 if at is None else 1.0, 1.0 if at is None else at])
    )
    variance = {size: np.var(errors[sizes == size], ddof=1) for size in np.unique(sizes)}
    terms = {size: (pull[sizes == size] ** 2).sum() * v for size, v in variance.items()}
    total = sum(terms.values())
    df = total**2 / sum(v**2 / ((sizes == size).sum() - 1) for size, v in terms.items())
    return float(t.ppf(0.975, df) * np.sqrt(total))


@pytest.mark.parametrize(("growth", "most"), [(0.0, 98.0), (4.0, 97.5)])
def test_bias_at_the_upper_limit_where_the_spread_grows(growth: float, most: float) -> None:
    """2,000 studies, 5 masters read 5 times, standard error 0.5; one spread for all covers 86 % where it grows."""
    rng = np.random.default_rng(6)
    sizes = np.repeat([1.0, 2.0, 3.0, 4.0, 5.0], 5)
    spread = 0.1 * (1 + growth * (sizes - 1) / 4)
    held = [
        0.0 in linearity_study(sizes + rng.normal(0, spread), sizes, upper=5.0).at_limits["upper"]
        for _ in range(2000)
    ]
    assert 93.0 < 100 * np.mean(held) < most


def test_a_curve_is_not_called_no_change() -> None:
    rng = np.random.default_rng(2)
    sizes = np.repeat([4.0, 5.0, 6.0, 7.0, 8.0], 12)
    study = linearity_study(sizes + 0.02 * (sizes - 6) ** 2 + rng.normal(0, 0.02, 60), sizes)
    assert "not along a straight line" in study.statement
    assert "not seen to change" not in study.statement


@pytest.mark.parametrize(("growth", "most"), [(0.0, 97.5), (6.0, 97.0)])
def test_slope_where_the_spread_grows(growth: float, most: float) -> None:
    """2,000 studies, 5 masters read 12 times, standard error 0.5; one spread for all covers 92.8 % where it grows."""
    rng = np.random.default_rng(7)
    sizes = np.repeat([1.0, 2.0, 3.0, 4.0, 5.0], 12)
    spread = 0.1 * (1 + growth * (sizes - 1) / 4)
    held = [
        0.0 in linearity_study(sizes + spread * rng.standard_normal(60), sizes).slope
        for _ in range(2000)
    ]
    assert 93.5 <= 100 * np.mean(held) <= most


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
    # One spread for all masters gives statsmodels' interval; their own spreads may ask for a wider one.
    plain = frame["mean_ci_upper"][0] - frame["mean"][0]
    own = by_master(readings - sizes, sizes, 9.0)
    assert study.at_limits["upper"].estimate == pytest.approx(frame["mean"][0], rel=1e-9)
    assert study.at_limits["upper"].half_width == pytest.approx(max(plain, own), rel=1e-9)
    assert (study.intercept.low, study.intercept.high) == pytest.approx(
        tuple(fit.conf_int()[0]), rel=1e-9
    )
    plain = fit.conf_int()[1][1] - fit.params[1]
    own = by_master(readings - sizes, sizes)
    assert study.slope.half_width == pytest.approx(max(plain, own), rel=1e-9)
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


@pytest.mark.parametrize(("times", "said"), [(2, False), (3, True), (4, True), (5, False)])
def test_few_readings_of_a_master_are_told(times: int, said: bool) -> None:
    # With two readings there is no spread of a master's own, and one for all masters holds.
    sizes = np.repeat([1.0, 2.0, 3.0], times)
    found = linearity_study(sizes + 0.1 * np.random.default_rng(1).normal(size=sizes.size), sizes)
    assert any(f"read {times} times only" in note for note in found.cautions) == said


def test_masters_read_once_with_uncertain_values_have_a_line() -> None:
    rng = np.random.default_rng(2)
    held = 0
    for _ in range(300):
        known = np.linspace(4.9, 5.1, 6)
        read = known + rng.normal(0, 0.004, 6) + rng.normal(0, 0.003, 6)
        found = linearity_study(read, known, reference_uncertainty=0.003)
        held += found.slope.low <= 0 <= found.slope.high
    # 95 %, with four standard errors of 300 studies.
    assert 270 <= held <= 300
    assert any("Each master was read once" in note for note in found.cautions)
