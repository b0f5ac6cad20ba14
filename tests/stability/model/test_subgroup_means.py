"""Movement of the level from means alone, against SciPy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.stability.model.subgroup_means import between_subgroups, level_of_means


def subgroups(step: float = 0.0, seed: int = 1) -> np.ndarray:
    found = np.random.default_rng(seed).normal(size=(60, 5))
    found[30:] += step
    return found


def squares(values: np.ndarray) -> float:
    return float(((values - values.mean(axis=1, keepdims=True)) ** 2).sum())


def test_the_ratio_of_variances_is_that_of_scipy() -> None:
    values = subgroups(1.0)
    share, p = between_subgroups(values.mean(axis=1), np.full(60, 5), squares(values))
    assert p == pytest.approx(stats.f_oneway(*values).pvalue)
    assert 0 < share < 1


def test_a_step_is_seen_and_chance_is_none() -> None:
    still, moved = (
        level_of_means(values.mean(axis=1), np.full(60, 5), squares(values))
        for values in (subgroups(), subgroups(1.0))
    )
    assert still[0] > 0.01
    assert moved[0] < 1e-6
    # Half of the parts a unit higher: a quarter beside a variance of one within.
    assert moved[1] == pytest.approx(0.2, abs=0.06)
