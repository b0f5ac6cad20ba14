"""Strength by size: least squares and tolerance bounds of other programs, and what the bounds are worth."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from linestudy.gauges import strength_assurance
from linestudy.results import Absent, CannotJudge, Interval

SLOPE, SD = 140.0, 3.0


def welds(
    rng: np.random.Generator, n: int, batches: int = 0, between: float = 0.0
) -> tuple[np.ndarray, np.ndarray, np.ndarray | None]:
    """Widths read by a camera, forces, batches."""
    width = rng.uniform(0.35, 0.55, n)
    force = 20 + SLOPE * width + rng.normal(0, SD, n)
    if not batches:
        return width, force, None
    batch = np.arange(n) % batches
    return width, force + rng.normal(0, between, batches)[batch], batch


@pytest.mark.checks("line of strength on size", "statsmodels, OLS")
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


@pytest.mark.checks(
    "one-sided tolerance factor of a line", "Krishnamoorthy & Mathew (2009), ch. 3; scipy.stats.nct"
)
def test_the_bound_in_the_middle_is_the_factor_of_a_sample() -> None:
    # At the mean size h = 1/n, so the factor is that of a sample with n - 2 degrees of freedom.
    width, force, _ = welds(np.random.default_rng(2), 30)
    middle = float(width.mean())
    found = strength_assurance(width, force, 60.0, lower=middle, content=0.95, confidence=0.9)
    factor = stats.nct.ppf(0.9, 28, stats.norm.ppf(0.95) * np.sqrt(30)) / np.sqrt(30)
    assert found.at_limits["lower"] == pytest.approx(force.mean() - factor * found.sd, rel=1e-9)


@pytest.mark.checks("variance between batches about a line", "statsmodels, MixedLM (REML)")
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


@pytest.mark.checks("slope of the lowest tenth", "scipy.optimize.linprog (HiGHS)")
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


@settings(max_examples=25)
@given(st.integers(0, 30), st.floats(0.01, 100), st.floats(0.01, 100))
def test_units_and_order_do_not_matter(seed: int, per_size: float, per_force: float) -> None:
    rng = np.random.default_rng(seed)
    width, force, batch = welds(rng, 24, 4, 2.0)
    one = strength_assurance(width, force, 70.0, batch=batch, lower=0.33)
    order = rng.permutation(24)
    other = strength_assurance(
        per_size * width[order],
        per_force * force[order],
        per_force * 70.0,
        batch=batch[order],
        lower=per_size * 0.33,
    )
    assert other.at_limits["lower"] == pytest.approx(per_force * one.at_limits["lower"], rel=1e-7)
    if isinstance(one.width_limit, float):
        assert other.width_limit == pytest.approx(per_size * one.width_limit, rel=1e-7)
    assert other.curved_p == pytest.approx(one.curved_p, rel=1e-6)


def test_a_finer_gauge_asks_for_a_guard() -> None:
    width, force, _ = welds(np.random.default_rng(6), 60)
    found = strength_assurance(width, force, 75.0, gauge_sd=0.006)
    assert isinstance(found.width_limit, float)
    assert found.guarded_limit == pytest.approx(
        found.width_limit + stats.norm.ppf(0.95) * 0.006, rel=1e-9
    )


def test_what_cannot_assure_says_why() -> None:
    rng = np.random.default_rng(7)
    width, force, _ = welds(rng, 40)
    beyond = strength_assurance(width, force, 200.0)
    assert isinstance(beyond.width_limit, Absent)
    assert "not even the largest" in beyond.statement
    falling = strength_assurance(width, 200 - force, 190.0)
    assert "not seen to grow" in falling.statement
    with pytest.raises(CannotJudge, match="size of all 40 parts"):
        strength_assurance(np.full(40, 0.4), force, 60.0)
    with pytest.raises(ValueError, match="batch has 3 entries"):
        strength_assurance(width, force, 60.0, batch=[1, 2, 3])


def test_never_below_the_sizes_that_were_tested() -> None:
    width, force, _ = welds(np.random.default_rng(8), 60)
    found = strength_assurance(width, force, 10.0, lower=0.1)
    assert found.width_limit == width.min()
    assert any("extrapolated" in note for note in found.cautions)


def test_a_curve_and_a_growing_spread_are_told() -> None:
    rng = np.random.default_rng(9)
    width = rng.uniform(0.35, 0.55, 80)
    curved = strength_assurance(width, 60 + 900 * (width - 0.4) ** 2 + rng.normal(0, 1, 80), 55.0)
    assert any("straight line" in note for note in curved.cautions)
    growing = strength_assurance(
        width, 20 + SLOPE * width + rng.normal(0, 1, 80) * 40 * (width - 0.34), 55.0
    )
    assert any("spread about the line changes" in note for note in growing.cautions)


def test_parts_needed_would_do() -> None:
    width, force, _ = welds(np.random.default_rng(10), 20)
    found = strength_assurance(width, force, 58.0, lower=0.36)
    assert isinstance(found.pulls_needed, int)
    assert (found.pulls_needed <= 20) == (found.at_limits["lower"] >= 58.0)
    none = strength_assurance(width, force, 90.0, lower=0.36).pulls_needed
    assert isinstance(none, Absent)
