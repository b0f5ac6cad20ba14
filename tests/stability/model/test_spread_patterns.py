"""Spread within subgroups that changes, and spread that only looks as if it did."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.stability.model.spread_patterns import (
    DRIFT,
    OF_BATCHES,
    RANDOM,
    STEP,
    chance_of_parts,
    chance_of_sums,
    spread_change,
    without_steps,
)

K, SIZE = 120, 5
GROUP = np.repeat(np.arange(K), SIZE)


def of(y: np.ndarray, labels: np.ndarray | None = None):
    rest = y - (np.bincount(GROUP, y) / SIZE)[GROUP]
    sizes = np.full(K, SIZE)
    chance = chance_of_parts(rest, GROUP, sizes, y)
    return spread_change(np.bincount(GROUP, rest**2), sizes, chance, labels)


@pytest.mark.parametrize("kind", ["normal", "t, 3 df", "gamma", "uniform", "neighbours alike"])
def test_one_spread_of_any_shape_is_left_alone(kind: str) -> None:
    alarms = 0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        slow = np.array([0.6**j for j in range(SIZE)])
        common = (rng.normal(size=K)[:, None] * slow).ravel() * (kind == "neighbours alike")
        made = {"t, 3 df": rng.standard_t(3, GROUP.size), "gamma": rng.gamma(2, size=GROUP.size)}
        made["uniform"] = rng.random(GROUP.size)
        alarms += of(made.get(kind, rng.normal(size=GROUP.size)) + common).p < 0.005
    # At half a percent two or more of 40 come in less than two tests of a hundred.
    assert alarms <= 1


@pytest.mark.parametrize(
    ("sd", "kind"),
    [
        (np.where(np.arange(K) < 50, 1.0, 2.5), STEP),
        (np.exp(np.linspace(0, 1.4, K)), DRIFT),
        (np.exp(0.7 * np.random.default_rng(5).normal(size=K)), RANDOM),
    ],
)
def test_spread_that_changes_is_seen_and_named(sd: np.ndarray, kind: str) -> None:
    right = 0
    for seed in range(10):
        found = of(np.random.default_rng(seed).normal(size=GROUP.size) * sd[GROUP])
        right += found.p < 0.005 and found.kind == kind and found.size > 0.08
    assert right >= 9


def test_spread_by_batch_is_named() -> None:
    batch = np.arange(K) // 12
    sd = np.exp(0.5 * np.random.default_rng(6).permutation(np.linspace(-1.5, 1.5, 10)))[batch]
    found = of(np.random.default_rng(7).normal(size=GROUP.size) * sd[GROUP], batch)
    assert found.kind == OF_BATCHES


def test_chance_of_sums_is_that_of_drawn_normal_parts() -> None:
    # The same logarithms of a hundred thousand drawn variances.
    variances = np.random.default_rng(8).chisquare(4, 100_000) / 4
    logs = np.log(variances + 0.25 * variances.mean())
    found = chance_of_sums(5)
    assert found.variance == pytest.approx(logs.var(), rel=0.02)
    assert found.fourth == pytest.approx(stats.moment(logs, 4), rel=0.05)


def test_readings_in_steps_are_spread_over_them() -> None:
    y = np.random.default_rng(9).normal(size=2000)
    rounded = np.round(y)
    again = without_steps(rounded)
    assert np.abs(again - rounded).max() <= 0.5
    assert np.unique(again).size == 2000
    assert without_steps(y) is y


def test_subgroups_that_stand_there_twice_are_no_division_by_nought() -> None:
    """A lane whose readings are the other's: each subgroup beside itself."""
    y = np.repeat(np.random.default_rng(3).normal(size=(K // 2, 1, SIZE)), 2, axis=1).ravel()
    assert 0 <= of(y).p <= 1
