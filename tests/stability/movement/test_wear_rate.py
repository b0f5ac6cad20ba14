"""Tool wear on runs of known truth."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import linregress

from linestudy.results import Absent, CannotJudge, Interval
from linestudy.simulate.process import Process, run
from linestudy.stability import (
    tool_wear,
)


def test_wear_without_correlation_is_ordinary_regression() -> None:
    rng = np.random.default_rng(1)
    x = np.arange(1200.0)
    y = 3 + 0.004 * x / 1000 + 0.002 * rng.normal(size=1200)
    study = tool_wear(y, x, upper=3.02)
    blocks = linregress(study.line.order, study.line.mean)
    assert study.slope_per_thousand.estimate == pytest.approx(1000 * blocks.slope, rel=1e-9)
    assert study.slope_p == pytest.approx(blocks.pvalue, rel=1e-6)
    assert 0.004 in study.slope_per_thousand


def test_wear_with_regrind_and_time_left() -> None:
    line = Process(2.795, 0.0068, wear_per_thousand=0.00042, regrinds=(20_000,))
    table = run(line, 31_000, seed=4)
    study = tool_wear(table["value"], table["order"], resets=[20_000.0], lower=2.75, upper=2.85)
    assert 0.00042 in study.slope_per_thousand
    assert isinstance(study.strokes_left, Interval)
    level = 2.795 + 0.00042 * 11
    truth = (2.85 - 3 * 0.0068 - level) / 0.00042 * 1000
    assert truth in study.strokes_left
    assert "reach the limit" in study.statement
    assert study.figure().alt_text == study.alt_text


def test_no_wear_and_no_limit() -> None:
    rng = np.random.default_rng(2)
    study = tool_wear(rng.normal(size=3000), np.arange(3000.0), upper=10.0, lower=-10.0)
    assert 0 in study.slope_per_thousand
    assert isinstance(study.strokes_left, Absent)
    assert "No significant wear" in study.statement
    y = rng.normal(size=3000) + np.arange(3000) / 1000
    assert isinstance(tool_wear(y, np.arange(3000.0)).strokes_left, Absent)
    assert not study.shown().empty
    assert study.figure().alt_text


def test_wear_unit_of_order_and_value() -> None:
    rng = np.random.default_rng(3)
    x = np.arange(2000.0)
    y = 0.01 * x + rng.normal(size=2000)
    one, other = tool_wear(y, x, upper=80.0), tool_wear(25.4 * y + 7, x + 500, upper=25.4 * 80 + 7)
    assert other.slope_per_thousand.estimate == pytest.approx(
        25.4 * one.slope_per_thousand.estimate, rel=1e-9
    )
    assert isinstance(one.strokes_left, Interval)
    assert isinstance(other.strokes_left, Interval)
    assert other.strokes_left.low == pytest.approx(one.strokes_left.low, rel=1e-6)


def test_wear_refusals() -> None:
    with pytest.raises(CannotJudge):
        tool_wear(np.ones(100), np.arange(100.0))
    with pytest.raises(CannotJudge):
        tool_wear(np.arange(10.0), np.arange(10.0))
    walk = np.cumsum(np.random.default_rng(5).normal(size=300))
    with pytest.raises(CannotJudge):
        tool_wear(walk, np.arange(300.0))
    with pytest.raises(CannotJudge):
        tool_wear(np.random.default_rng(5).normal(size=300), np.ones(300))


def test_wear_keeps_its_slope_in_another_unit_of_the_order() -> None:
    n = 2000
    x = np.arange(n, dtype=float)
    y = 5 + 3e-4 * x + np.random.default_rng(5).normal(0, 0.05, n)
    one, two = tool_wear(y, x), tool_wear(y, x * 1e-6)
    assert two.slope_per_thousand.estimate == pytest.approx(
        1e6 * one.slope_per_thousand.estimate, rel=1e-9
    )
    assert two.slope_per_thousand.high == pytest.approx(1e6 * one.slope_per_thousand.high, rel=1e-9)
