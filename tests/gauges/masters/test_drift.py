"""Drift on a master: statsmodels' analysis of covariance, the next check."""

from __future__ import annotations

import math

import numpy as np
import pytest

from linestudy.gauges import drift_study
from linestudy.results import Absent, CannotJudge, Interval


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
    assert study.slope_per_thousand.high == pytest.approx(fit.conf_int().loc["x", 1], rel=1e-9)
    assert study.slope_p == pytest.approx(fit.pvalues["x"], rel=1e-7)
    assert study.stretches == 3
    assert 0.002 in study.slope_per_thousand


def test_a_record_of_drift_without_order_is_refused() -> None:
    with pytest.raises(CannotJudge, match="too few"):
        drift_study([1, 1, 1, 1], [1.0, 2.0, 1.0, 2.0], 1.0)


def test_twenty_readings_are_no_longer_few() -> None:
    rng = np.random.default_rng(2)
    for n, few in ((19, True), (20, False)):
        study = drift_study(np.arange(n), 1 + rng.normal(0, 0.1, n), 1.0)
        assert any("few for a statement" in text for text in study.cautions) == few


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
