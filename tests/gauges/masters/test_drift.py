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
    # Noise of alternating sign: nothing that follows one another, so the line is that of least squares.
    noise = np.abs(rng.normal(0, 0.001, order.size)) * (-1.0) ** np.arange(order.size)
    errors = 0.002 * (order - np.array([0, 1500, 3000])[stretch]) / 1000 + noise
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


@pytest.mark.parametrize(("follow", "least"), [(0.0, 93.5), (0.3, 93.0), (0.6, 92.5)])
def test_the_slope_holds_where_errors_follow_one_another(follow: float, least: float) -> None:
    """2,000 records of 60 readings, standard error 0.5 points; least squares covers 95, 85 and 67 %."""
    from scipy.signal import lfilter

    held = 0
    noise = lfilter([1.0], [1.0, -follow], np.random.default_rng(8).normal(size=(2000, 160)))
    for errors in noise[:, 100:]:
        held += 0.0 in drift_study(np.arange(60.0), errors, 0.0).slope_per_thousand
    assert least < held / 20 < 98.0


def test_false_alarms_of_the_correlation() -> None:
    noise = np.random.default_rng(9).normal(size=(2000, 60))
    p = [drift_study(np.arange(60.0), errors, 0.0).correlation_p for errors in noise]
    assert 0.035 < np.mean(np.array(p) < 0.05) < 0.065
    assert np.mean(np.array(p) < 0.01) < 0.02


def test_a_step_that_no_reset_explains_is_promised_nothing() -> None:
    errors = np.random.default_rng(3).normal(0, 0.001, 60)
    errors[20:40] += 0.01
    study = drift_study(np.arange(60.0) * 500, 1.0 + errors, 1.0, tolerance=0.1, unit="mm")
    assert isinstance(study.next_check, Absent)
    assert "moved by more than the allowed drift" in study.next_check.reason
    assert any("follow one another" in note for note in study.cautions)
    assert "Checked every" not in study.statement
    named = drift_study(
        np.arange(60.0) * 500, 1.0 + errors, 1.0, resets=(10000, 20000), tolerance=0.1, unit="mm"
    )
    assert isinstance(named.next_check, Interval)


def test_what_the_order_counts_is_what_is_said() -> None:
    errors = [0.0, 0.011, 0.019, 0.032, 0.041, 0.048]
    study = drift_study(
        range(6), 1 + np.array(errors), 1.0, tolerance=1.0, unit="mm", counted="days"
    )
    assert "per 1,000 days" in study.statement
    assert "days at the latest" in study.statement
    assert "strokes" not in " ".join((study.statement, *study.shown()["quantity"]))


def test_readings_that_never_differ_bound_the_drift_by_a_step() -> None:
    """A rounded reading lies within half a step of the value (JCGM 100, F.2.2.1): two that are equal are one step apart at most."""
    order = np.arange(0.0, 4000.0, 100.0)
    with pytest.raises(CannotJudge, match="one line exactly"):
        drift_study(order, np.full(40, 6.305), 6.3)
    found = drift_study(
        order, np.full(40, 6.305), 6.3, resets=(1000.0,), resolution=0.005, unit="mm"
    )
    reach = 0.005 / 2.9
    assert found.slope_per_thousand.low == pytest.approx(-reach, rel=1e-12)
    assert found.slope_per_thousand.high == pytest.approx(reach, rel=1e-12)
    assert found.slope_p == 1
    assert "moved by less than one of its steps" in " ".join(found.cautions)
    # A step that is seen is no constant.
    with pytest.raises(CannotJudge):
        drift_study(order, 6.3 + 0.005 * order, 6.3, resolution=0.005)
    truth = np.random.default_rng(7).uniform(-0.0024, 0.0024, 400)
    moved = [t + np.linspace(0, 0.0001, 40) for t in truth]
    read = [np.round((6.3 + t) / 0.005) * 0.005 for t in moved]
    known = [drift_study(order, one, 6.3, resolution=0.005).slope_per_thousand for one in read]
    assert all(one.low <= 0.0001 / 3.9 <= one.high for one in known)


def test_values_that_change_with_every_reading_are_those_of_no_master() -> None:
    order = np.arange(40) * 100.0
    read = np.random.default_rng(8).normal(6.3, 0.01, 40).round(3)
    with pytest.raises(CannotJudge):
        drift_study(order, read, read, resolution=0.001)
    # Two masters in turn, read as their values each time, are two masters.
    turn = np.tile([6.3, 6.4], 20)
    assert drift_study(order, turn, turn, resolution=0.001).slope_per_thousand.estimate == 0
