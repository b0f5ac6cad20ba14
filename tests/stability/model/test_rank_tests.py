"""Tests of control whose false alarms do not hang on the shape of the values."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.stability.model.rank_tests import normal_scores, stability_tests


def test_normal_scores_know_no_shape() -> None:
    y = np.random.default_rng(5).standard_t(3, 400)
    assert normal_scores(y) == pytest.approx(normal_scores(np.exp(y)))
    assert stability_tests(y, np.arange(400.0), np.arange(400) // 5).p == pytest.approx(
        stability_tests(np.exp(y), np.arange(400.0), np.arange(400) // 5).p
    )


def test_the_slope_is_that_of_the_subgroups_means() -> None:
    # SciPy's regression; subgroups far apart have nothing in common.
    y = np.random.default_rng(9).standard_t(3, 500) + np.arange(500) / 900
    apart = np.where(np.arange(500) // 5 % 2, -1, np.arange(500) // 10)
    found = stability_tests(y, np.arange(500.0), apart)
    z = normal_scores(y)
    means = [z[apart == code].mean() for code in range(50)]
    assert found.tests["level, slope"] == pytest.approx(stats.linregress(range(50), means).pvalue)


def test_a_slow_drift_of_few_readings_is_seen_more_often_than_not() -> None:
    runs = np.random.default_rng(10).normal(size=(60, 125)) + 1.5 * np.linspace(0, 1, 125)
    seen = [stability_tests(y, np.arange(125.0), np.arange(125) // 5).p < 0.005 for y in runs]
    # 81 % of 400 runs; without the slope 39 %.
    assert np.mean(seen) > 0.65


def test_a_plan_that_meets_a_cycle_always_at_one_place_is_seen() -> None:
    at = np.arange(2000)
    plan = np.where(at % 25 < 5, at // 25, -1)
    noise = np.random.default_rng(12).normal(size=2000)
    cycle = stability_tests(noise + 1.5 * np.sin(2 * np.pi * at / 25), at * 1.0, plan)
    assert cycle.strongest == "charted values against the others"
    assert cycle.p < 1e-4
    assert cycle.matters
    assert stability_tests(noise, at * 1.0, plan).p > 0.005


def test_streams_of_coarse_readings_that_take_turns_by_subgroup_do_not_spread_otherwise() -> None:
    """In steps of one SD the tied scores near nought differ a little from stream to stream, which ranks of all would read as spread."""
    group = np.arange(1500) // 5
    lane = group % 4
    found = []
    for seed in range(8):
        y = np.random.default_rng(seed).normal(size=1500).round() + 0.3 * lane
        found.append(stability_tests(y, np.arange(1500.0), group, lane).p)
    assert min(found) > 0.001
    assert sum(p < 0.02 for p in found) <= 2
