"""The line of strength on size: statsmodels' least squares and mixed model, a linear programme, its tests."""

from __future__ import annotations

import numpy as np
import pytest
from pulled_welds import SLOPE, welds

from linestudy.gauges import strength_assurance
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
