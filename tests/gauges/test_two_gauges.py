"""Passing-Bablok by brute force, the correction it is worth, uncertain references, drift to the next check."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.gauges import (
    bias_overview,
    bias_study,
    drift_study,
    linearity_study,
    method_comparison,
    passing_bablok,
)
from linestudy.results import Absent, CannotJudge, Interval


def two_gauges(seed: int, n: int = 40, slope: float = 1.0, shift: float = 0.0):
    rng = np.random.default_rng(seed)
    true = rng.uniform(5, 15, n)
    return shift + slope * true + rng.normal(0, 0.1, n), true + rng.normal(0, 0.1, n)


@pytest.mark.checks(
    "Passing-Bablok line and its interval",
    source="Passing & Bablok (1983), written out pair by pair",
)
def test_passing_bablok_by_the_papers_recipe() -> None:
    # Passing & Bablok 1983, written out pair by pair.
    y, x = two_gauges(1, 15, 1.1)
    slopes = sorted((y[j] - y[i]) / (x[j] - x[i]) for i, j in itertools.combinations(range(15), 2))
    k = sum(s < -1 for s in slopes)
    n = len(slopes)
    assert n % 2 == 1
    expected = slopes[(n + 1) // 2 + k - 1]
    c = 1.959964 * math.sqrt(15 * 14 * 35 / 18)
    m1 = round((n - c) / 2)
    line, _ = passing_bablok(y, x)
    assert line["slope"].estimate == pytest.approx(expected)
    assert line["slope"].low == pytest.approx(slopes[m1 + k - 1])
    assert line["slope"].high == pytest.approx(slopes[n - m1 + 1 + k - 1])
    assert line["intercept"].estimate == pytest.approx(float(np.median(y - expected * x)))


def test_which_gauge_comes_first_does_not_matter() -> None:
    y, x = two_gauges(2, 31, 1.2)
    forth, _ = passing_bablok(y, x)
    back, _ = passing_bablok(x, y)
    assert forth["slope"].estimate == pytest.approx(1 / back["slope"].estimate, rel=2e-3)


def test_a_bent_relation_is_found() -> None:
    rng = np.random.default_rng(3)
    x = np.linspace(1, 10, 80)
    y = x + 0.15 * (x - 5.5) ** 2 + rng.normal(0, 0.1, 80)
    assert passing_bablok(y, x)[1] < 0.01
    straight = [passing_bablok(*two_gauges(s, 80))[1] for s in range(100)]
    assert sum(p < 0.05 for p in straight) <= 12


@given(st.floats(0.01, 100), st.floats(-100, 100))
def test_units_and_zero(unit: float, zero: float) -> None:
    y, x = two_gauges(4)
    one, _ = passing_bablok(y, x)
    two, _ = passing_bablok(y * unit + zero, x * unit + zero)
    assert two["slope"].estimate == pytest.approx(one["slope"].estimate, rel=1e-6)
    expected = one["intercept"].estimate * unit + zero * (1 - one["slope"].estimate)
    assert two["intercept"].estimate == pytest.approx(expected, rel=1e-4, abs=1e-6 * unit)


def test_a_correction_is_warranted_only_when_it_is_worth_it() -> None:
    y, x = two_gauges(5, 60, 1.0, 0.3)
    found = method_comparison(y, x, lower=6.0, upper=14.0, with_icc=False)
    assert found.correction.warranted
    assert found.correction.at["middle"].estimate == pytest.approx(-0.3, abs=0.06)
    coarse = method_comparison(y, x, step=1.0, with_icc=False)
    assert not coarse.correction.warranted
    assert "half the step" in coarse.correction.answer
    same = method_comparison(*two_gauges(6, 60), with_icc=False)
    assert not same.correction.warranted
    assert "own uncertainty" in same.statement


def test_ties_do_not_stop_the_rest() -> None:
    y = np.round(np.random.default_rng(7).normal(1, 0.3, 30))
    x = np.ones(30)
    x[:4] = 2.0
    found = method_comparison(y + 0.001 * np.arange(30), x, with_icc=False)
    # 26 of 30 parts read the same on one gauge: no line by pairs, and the differences are judged all the same.
    assert isinstance(found.passing_bablok, Absent)
    assert "read the same" in found.passing_bablok.reason
    assert found.mean_difference.estimate == pytest.approx(float(np.mean(y - x)) + 0.0145)


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


def test_the_next_check_comes_before_the_allowed_drift() -> None:
    study = drift_study([0, 1000, 2000, 3000, 4000], [1.0, 1.1, 1.21, 1.3, 1.41], 1.0, allowed=0.05)
    assert isinstance(study.next_check, Interval)
    assert study.next_check.estimate == pytest.approx(0.05 / 0.102 * 1000, rel=0.02)
    fastest = study.slope_per_thousand.high / 1000
    assert study.next_check.low == pytest.approx(0.05 / fastest)
    still = drift_study(
        np.arange(30.0), np.random.default_rng(1).normal(0, 1, 30), 0.0, tolerance=50.0
    )
    assert math.isinf(still.next_check.high)
    assert isinstance(drift_study(np.arange(5.0), [0, 1, 0, 1, 2.0], 0.0).next_check, Absent)


def test_biases_side_by_side() -> None:
    rng = np.random.default_rng(10)
    off = bias_study(1.2 + rng.normal(0, 0.01, 30), 1.0)
    true = bias_study(1.0 + rng.normal(0, 0.01, 30), 1.0)
    found = bias_overview([("a", "camera", true, 1.0), ("b", "camera", off, 1.0)])
    assert found.rows[0].characteristic == "b"
    assert found.rows[0].seen
    assert "b (camera)" in found.statement
    with pytest.raises(CannotJudge):
        bias_overview([])


def test_one_gauge_that_never_moves_gives_no_line() -> None:
    rng = np.random.default_rng(3)
    moving, still = rng.normal(0, 1, 20), np.ones(20)
    for pair in ((still, moving), (moving, still)):
        with pytest.raises(CannotJudge):
            passing_bablok(*pair)
