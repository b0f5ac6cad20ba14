"""The line of strength on size: statsmodels' least squares and mixed model, a linear programme, its tests."""

from __future__ import annotations

import numpy as np
import pytest
from pulled_welds import SLOPE, welds
from scipy.stats import norm

from linestudy.gauges import strength_assurance
from linestudy.gauges.destructive.strength_line import fit_line
from linestudy.results import Interval


@pytest.mark.checks("line of strength on size", source="statsmodels, OLS")
def test_the_line_is_that_of_statsmodels() -> None:
    import statsmodels.api as sm

    width, force, _ = welds(np.random.default_rng(1), 40)
    found = strength_assurance(width, force, 60.0)
    fit = sm.OLS(force, sm.add_constant(width)).fit()
    assert found.slope.estimate == pytest.approx(fit.params[1], rel=1e-9)
    assert (found.slope.low, found.slope.high) == pytest.approx(tuple(fit.conf_int()[1]), rel=1e-9)
    assert (found.intercept.low, found.intercept.high) == pytest.approx(
        tuple(fit.conf_int()[0]), rel=1e-8
    )
    assert found.sd == pytest.approx(np.sqrt(fit.scale), rel=1e-9)


@pytest.mark.checks("variance between batches about a line", source="statsmodels, MixedLM (REML)")
def test_batches_are_near_the_likelihood() -> None:
    import pandas as pd
    import statsmodels.formula.api as smf

    width, force, batch = welds(np.random.default_rng(3), 120, batches=12, between=4.0)
    found = strength_assurance(width, force, 60.0, batch=batch)
    data = pd.DataFrame({"force": force, "width": width, "batch": batch})
    fit = smf.mixedlm("force ~ width", data, groups=data["batch"]).fit()
    between, within = float(fit.cov_re.iloc[0, 0]), fit.scale
    # Equal batches: moments and restricted likelihood agree to the slope's small share.
    assert found.sd**2 == pytest.approx(between + within, rel=0.02)
    assert found.batch_share == pytest.approx(between / (between + within), abs=0.02)
    assert found.slope.estimate == pytest.approx(fit.params["width"], rel=1e-3)


@pytest.mark.checks("slope of the lowest tenth", source="scipy.optimize.linprog (HiGHS)")
def test_the_lowest_tenth_is_the_linear_programme() -> None:
    from scipy.optimize import linprog

    width, force, _ = welds(np.random.default_rng(4), 90)
    found = strength_assurance(width, force, 60.0).low_quantile_slope
    n, x = 90, (width - width.mean()) / width.std()
    cost = np.concatenate([np.zeros(4), np.full(n, 0.1), np.full(n, 0.9)])
    equal = np.column_stack([np.ones(n), -np.ones(n), x, -x, np.eye(n), -np.eye(n)])
    best = linprog(cost, A_eq=equal, b_eq=force).x
    assert isinstance(found, Interval)
    assert found.estimate == pytest.approx((best[2] - best[3]) / width.std(), rel=1e-3)


def test_a_curve_and_a_growing_spread_are_told() -> None:
    rng = np.random.default_rng(9)
    width = rng.uniform(0.35, 0.55, 80)
    curved = strength_assurance(width, 60 + 900 * (width - 0.4) ** 2 + rng.normal(0, 1, 80), 55.0)
    assert any("straight line" in note for note in curved.cautions)
    growing = strength_assurance(
        width, 20 + SLOPE * width + rng.normal(0, 1, 80) * 40 * (width - 0.34), 55.0
    )
    assert any("spread about the line changes" in note for note in growing.cautions)


@pytest.mark.checks("degrees of freedom of a bound over batches", source="scipy.stats.chi2, brentq")
def test_the_bound_over_batches_has_the_freedom_of_graybill_and_wang() -> None:
    from scipy.optimize import brentq
    from scipy.stats import chi2, nct, norm

    draw = np.random.default_rng(11)
    width, batch = draw.uniform(0.35, 0.55, 48), np.arange(48) % 6
    force = 20 + 140 * width + draw.normal(0, 3, 48) + draw.normal(0, 3, 6)[batch]
    line = fit_line(width, force, batch)
    assert line.terms is not None
    values, df = line.terms
    reach = line.variance + np.hypot(*((df / chi2.ppf(0.05, df) - 1) * values))
    free = brentq(lambda v: v / chi2.ppf(0.05, v) * line.variance - reach, df.min(), df.sum())
    assert df.min() < free < line.df
    root = (np.array([1, 0.4]) @ line.covariance @ np.array([1, 0.4])) ** 0.5
    factor = root * nct.ppf(0.95, free, norm.ppf(0.99) / root)
    expected = line.ends @ [1, 0.4] - factor * line.sd
    assert line.bound(0.4, 0.99, 0.95)[0] == pytest.approx(expected, rel=1e-9)


def test_the_bound_over_six_batches_holds() -> None:
    """At Satterthwaite's degrees of freedom it held in 89 of 100."""
    held = 0
    for seed in range(200):
        draw = np.random.default_rng(seed)
        width, batch = draw.uniform(0.35, 0.55, 48), np.arange(48) % 6
        force = 140 * width + draw.normal(0, 3, 48) + draw.normal(0, 3, 6)[batch]
        true = 140 * 0.4 - norm.ppf(0.99) * 18**0.5
        held += fit_line(width, force, batch).bound(0.4, 0.99, 0.95)[0] <= true
    assert held >= 184
