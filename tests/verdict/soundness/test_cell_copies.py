"""Crossed studies in which single readings stand twice: what is found, and what accuses nobody."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from honest_readings import crossed
from scipy.stats import binom

from linestudy.verdict.soundness.cell_copies import copied_trial, doubled_readings

SHAPE = (10, 3, 3)
LEVEL = 2e-4


def study(seed: int = 1, step: float = 0.05, heavy: bool = False) -> tuple[Any, Any, Any, Any]:
    return crossed(np.random.default_rng(seed), *SHAPE, step, heavy)


@pytest.mark.parametrize("seed", range(4))
def test_rows_of_one_appraiser_entered_twice_are_found(seed: int) -> None:
    part, who, _, value = study(seed, step=0.01)
    again = np.concatenate([np.arange(value.size), np.flatnonzero(who == 1)])
    found = doubled_readings(part[again], who[again], value[again])
    assert found is not None
    assert found.p < LEVEL
    assert int(found.evidence.split()[0]) >= 30


@pytest.mark.parametrize("seed", range(5))
def test_a_trial_copied_with_other_last_digits_is_found(seed: int) -> None:
    part, who, trial, value = study(seed, step=0.01)
    table = value.reshape(SHAPE).copy()
    draw = np.random.default_rng(seed)
    table[:, :, 2] = table[:, :, 0] + 0.01 * draw.integers(-3, 4, SHAPE[:2])
    found = copied_trial(part, who, trial, table.ravel())
    assert found is not None
    assert found.p < LEVEL
    assert found.evidence.startswith("trials 0 and 2")


def test_the_chance_of_a_nearest_pair_is_binomial() -> None:
    # One appraiser, five parts, trials 0 and 2 always the nearest: (1/3)^5 for each of three pairs.
    part, trial = (at.ravel() for at in np.indices((5, 3)))
    value = np.array(
        [[0.0, 9.0, 1.1], [0.3, -7.0, 0.1], [0.1, 5.0, -0.3], [0.0, -8.0, 0.2], [0.2, 1.0, 0.4]]
    )
    found = copied_trial(part, ["A"] * 15, trial, value.ravel())
    assert found is not None
    assert found.p == pytest.approx(3 * binom.sf(4, 5, 1 / 3), rel=1e-12)


@pytest.mark.parametrize("heavy", [False, True])
@pytest.mark.parametrize("step", [0.001, 0.05, 0.5, 2.0, 4.0])
def test_honest_studies_are_no_copies(step: float, heavy: bool) -> None:
    for seed in range(12):
        part, who, trial, value = study(seed, step, heavy)
        for found in (doubled_readings(part, who, value), copied_trial(part, who, trial, value)):
            assert found is None or found.p > LEVEL


@pytest.mark.parametrize("seed", range(4))
def test_half_and_whole_divisions_and_warming_up_accuse_nobody(seed: int) -> None:
    part, who, trial, value = study(seed, 0.1)
    draw = np.random.default_rng(seed)
    divided = np.where(draw.random(value.size) < 0.9, np.round(value / 0.5) * 0.5, value)
    found = doubled_readings(part, who, divided)
    assert found is None or found.p > LEVEL
    warm = copied_trial(part, who, trial, value + 20 * (trial == 0))
    assert warm is None or warm.p > LEVEL


def test_too_little_says_nothing() -> None:
    part, who, trial, value = study()
    two = trial < 2
    assert copied_trial(part[two], who[two], trial[two], value[two]) is None
    assert copied_trial(part, who, np.zeros(part.size), value) is None
    few = part < 4
    assert copied_trial(part[few], who[few], trial[few], value[few]) is None
    assert doubled_readings(part, who, np.full(part.size, 3.0)) is None
    assert doubled_readings(np.arange(90), who, value) is None
