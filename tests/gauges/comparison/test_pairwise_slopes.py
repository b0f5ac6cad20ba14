"""Passing-Bablok: the paper's recipe written out pair by pair."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.gauges import (
    passing_bablok,
)
from linestudy.results import CannotJudge


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


def test_one_gauge_that_never_moves_gives_no_line() -> None:
    rng = np.random.default_rng(3)
    moving, still = rng.normal(0, 1, 20), np.ones(20)
    for pair in ((still, moving), (moving, still)):
        with pytest.raises(CannotJudge):
            passing_bablok(*pair)


def test_both_ends_of_the_intercept_by_the_papers_recipe() -> None:
    # The paper: the ends of the intercept are the medians of y - b x at the ends of the slope.
    y, x = two_gauges(1, 15, 1.1)
    line, _ = passing_bablok(y, x)
    slope, intercept = line["slope"], line["intercept"]
    assert intercept.low == pytest.approx(float(np.median(y - slope.high * x)))
    assert intercept.high == pytest.approx(float(np.median(y - slope.low * x)))


def test_the_slope_is_scipys_theil_sen_where_nothing_is_shifted() -> None:
    # SciPy's Theil-Sen slope is the plain median of pairwise slopes; no slope lies below -1 here.
    from scipy.stats import theilslopes

    x = np.arange(1.0, 12.0)
    y = 1.02 * x + 0.3 + np.random.default_rng(2).normal(0, 0.01, 11)
    line, _ = passing_bablok(y, x)
    assert line["slope"].estimate == pytest.approx(theilslopes(y, x).slope, rel=1e-12)


def bent(rng: np.random.Generator, bend: float, step: float, n: int = 50) -> float:
    """p of the test of one line, of readings in steps."""
    parts = rng.normal(0, 0.005, n)
    first = parts + bend * (parts / 0.005) ** 2 + rng.normal(0, 0.001, n)
    second = parts + rng.normal(0, 0.001, n)
    return passing_bablok(np.round(first / step) * step, np.round(second / step) * step)[1]


@pytest.mark.parametrize("step", [0.001, 0.002])
def test_straight_lines_in_steps_are_not_called_bent_and_bent_ones_are(step: float) -> None:
    """200 studies each; by the cusum of the readings as rounded 21 and 27 % of straight lines came out below 5 %."""
    rng = np.random.default_rng(3)
    straight = np.array([bent(rng, 0.0, step) for _ in range(200)])
    assert (straight < 0.05).mean() <= 0.06
    assert (straight < 0.03).mean() <= 0.03
    assert np.mean([bent(rng, 0.003, step) < 0.03 for _ in range(30)]) > 0.8
