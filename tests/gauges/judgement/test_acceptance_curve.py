"""Judgement curves: Bliss's beetles as printed by Dobson, statsmodels' probit, odd data."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linestudy.gauges import gauge_performance_curve
from linestudy.results import CannotJudge

# Bliss 1935: dose (log10 CS2), beetles, killed; Dobson, *An Introduction to Generalized Linear
# Models*, 2nd ed. (2002), table 7.2 (data from memory, checked by the printed estimates).
DOSE = [1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839]
BEETLES = [59, 60, 62, 56, 63, 59, 62, 60]
KILLED = [6, 13, 18, 28, 52, 53, 61, 60]


def beetles() -> tuple[np.ndarray, np.ndarray]:
    dose = np.repeat(DOSE, BEETLES)
    killed = np.concatenate(
        [np.r_[np.ones(k), np.zeros(n - k)] for n, k in zip(BEETLES, KILLED, strict=True)]
    )
    return dose, killed.astype(bool)


@pytest.mark.checks("probit curve", source="Dobson (2002), table 7.2", memory=True)
def test_the_beetles() -> None:
    # Printed for the probit model: intercept -34.94, slope 19.73 (from memory).
    curve = gauge_performance_curve(*beetles())
    side = curve.sides["lower"]
    assert 1 / side.judgement_sd.estimate == pytest.approx(19.73, abs=0.01)
    assert -side.threshold.estimate / side.judgement_sd.estimate == pytest.approx(-34.94, abs=0.01)


def test_profile_interval_against_statsmodels_delta() -> None:
    # With 481 beetles the likelihood is nearly quadratic, so Wald by delta is close to the profile.
    from statsmodels.discrete.discrete_model import Probit

    x, y = beetles()
    fit = Probit(y.astype(float), np.column_stack([np.ones(x.size), x])).fit(disp=0)
    a, b = fit.params
    pull = np.array([-1 / b, a / b**2])
    error = float(np.sqrt(pull @ fit.cov_params() @ pull))
    threshold = gauge_performance_curve(x, y).sides["lower"].threshold
    assert threshold.high - threshold.low == pytest.approx(2 * 1.959964 * error, rel=0.02)


def draw(rng: np.random.Generator, n: int = 150) -> tuple[np.ndarray, np.ndarray]:
    x = rng.uniform(9.5, 10.5, n)
    return x, x + rng.normal(0, 0.15, n) < 10.05


def test_bias_at_the_limit_and_the_grey_zone() -> None:
    curve = gauge_performance_curve(*draw(np.random.default_rng(3), 2000), upper=10.0, unit="mm")
    side = curve.sides["upper"]
    assert side.bias.estimate == pytest.approx(0.05, abs=0.02)
    assert side.grey_high - side.grey_low == pytest.approx(2 * 1.645 * 0.15, rel=0.15)
    assert any("accepts bad parts" in note for note in curve.cautions)
    assert "beyond the limit" in curve.statement
    assert curve.figure().alt_text.startswith("Gauge performance curve")
    assert "points" not in curve.record()["sides"]["upper"]


def test_both_limits_are_judged_apart() -> None:
    rng = np.random.default_rng(4)
    x = rng.uniform(8, 12, 800)
    seen = x + rng.normal(0, 0.1, x.size)
    curve = gauge_performance_curve(x, (seen > 9.0) & (seen < 11.0), 9.0, 11.0)
    assert 0.0 in curve.sides["lower"].bias
    assert 0.0 in curve.sides["upper"].bias


@settings(max_examples=15)
@given(st.floats(0.01, 100), st.floats(-100, 100))
def test_units_zero_and_reflection(unit: float, zero: float) -> None:
    x, y = draw(np.random.default_rng(5))
    one = gauge_performance_curve(x, y, upper=10.0).sides["upper"]
    two = gauge_performance_curve(x * unit + zero, y, upper=10.0 * unit + zero).sides["upper"]
    assert (two.threshold.estimate - zero) / unit == pytest.approx(
        one.threshold.estimate, rel=1e-5, abs=1e-3
    )
    assert two.judgement_sd.high / unit == pytest.approx(one.judgement_sd.high, rel=1e-3)
    turned = gauge_performance_curve(-x, y, lower=-10.0).sides["lower"]
    assert turned.bias.estimate == pytest.approx(-one.bias.estimate, abs=1e-9)


@pytest.mark.parametrize(
    ("x", "y", "words"),
    [
        (np.arange(5.0), np.ones(5), "ten are needed"),
        (np.arange(20.0), np.ones(20), "were accepted"),
        (np.arange(20.0), np.arange(20) < 10, "both ways"),
        (np.arange(40.0), np.tile([0, 0, 0, 1], 10) * (np.arange(40) > 20), "more often"),
    ],
)
def test_what_cannot_be_judged_is_said(x: np.ndarray, y: np.ndarray, words: str) -> None:
    with pytest.raises(CannotJudge, match=words):
        gauge_performance_curve(x, y, upper=12.0)


def test_without_limits_the_side_is_that_on_which_parts_are_accepted() -> None:
    x = np.linspace(0, 1, 60)
    rng = np.random.default_rng(3)
    for rising, side in ((True, "lower"), (False, "upper")):
        accepted = (x + rng.normal(0, 0.1, x.size) > 0.5) == rising
        study = gauge_performance_curve(x, accepted)
        assert list(study.sides) == [side]


def test_both_ends_of_the_profile_intervals_against_scipys_optimizer() -> None:
    # At each end the deviance, minimised over the other parameter by SciPy, has risen by the chi-square quantile.
    from scipy.optimize import minimize_scalar
    from scipy.stats import chi2, norm

    x, y = draw(np.random.default_rng(6), 120)
    side = gauge_performance_curve(x, y, upper=10.0).sides["upper"]

    def deviance(threshold: float, spread: float) -> float:
        z = (threshold - x) / spread
        return -2 * float(norm.logcdf(np.where(y, z, -z)).sum())

    best = deviance(side.threshold.estimate, side.judgement_sd.estimate)
    for end in (side.threshold.low, side.threshold.high):
        least = minimize_scalar(
            lambda s, e=end: deviance(e, np.exp(s)),
            bounds=(-5, 1),
            method="bounded",
            options={"xatol": 1e-10},
        )
        assert least.fun - best == pytest.approx(chi2.ppf(0.95, 1), abs=1e-6)
    for end in (side.judgement_sd.low, side.judgement_sd.high):
        least = minimize_scalar(
            lambda m, e=end: deviance(m, e),
            bounds=(9.5, 10.5),
            method="bounded",
            options={"xatol": 1e-10},
        )
        assert least.fun - best == pytest.approx(chi2.ppf(0.95, 1), abs=1e-6)
