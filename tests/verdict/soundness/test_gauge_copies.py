"""Crossed studies of which a part was copied."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from honest_readings import crossed

from linestudy.verdict.soundness.gauge_copies import copied_appraiser, copied_part

SHAPE = (10, 3, 3)


def study(change: Any = None, seed: int = 1, step: float = 0.05) -> tuple[Any, Any, Any, Any]:
    draw = np.random.default_rng(seed)
    part, who, trial, value = crossed(draw, *SHAPE, step, False)
    table = value.reshape(SHAPE).copy()
    if change is not None:
        change(table, draw)
    return part, np.array(list("ABC"))[who], trial, table.ravel()


def exact(table: Any, draw: Any) -> None:
    table[:, 1] = table[:, 0]


def with_a_constant(table: Any, draw: Any) -> None:
    table[:, 1] = table[:, 0] + 0.4


def with_noise(table: Any, draw: Any) -> None:
    table[:, 1] = table[:, 0] + 0.05 * draw.integers(-1, 2, (10, 3))


def shuffled(table: Any, draw: Any) -> None:
    table[:, 1] = draw.permuted(table[:, 0], axis=1)


@pytest.mark.parametrize("change", [exact, with_a_constant, with_noise, shuffled])
def test_an_appraiser_copied_from_another_is_found(change: Any) -> None:
    found = copied_appraiser(*study(change))
    assert found is not None
    assert found.p < 1e-4
    assert "A and B" in found.evidence


def test_a_part_copied_from_another_is_found() -> None:
    def twice(table: Any, draw: Any) -> None:
        table[5:] = table[:5]

    found = copied_part(*study(twice))
    assert found is not None
    assert found.p < 1e-4
    assert "5 pairs" in found.evidence


@pytest.mark.parametrize("step", [0.05, 2.0, 4.0])
def test_honest_studies_are_no_copies(step: float) -> None:
    for seed in range(8):
        columns = study(seed=seed, step=step)
        for found in (copied_appraiser(*columns), copied_part(*columns)):
            assert found is None or found.p > 5e-4


def test_one_appraiser_or_one_trial_says_nothing() -> None:
    part, who, trial, value = study()
    one = who == "A"
    assert copied_appraiser(part[one], who[one], trial[one], value[one]) is None
    first = trial == 0
    assert copied_part(part[first], who[first], trial[first], value[first]) is None


def moving(table: Any, draw: Any) -> None:
    # Something moves from trial to trial, twenty times as far as the gauge repeats.
    table += np.array([0.0, 20.0, 40.0])


def stray(table: Any, draw: Any) -> None:
    table[3, 2, 1] += 500.0


@pytest.mark.parametrize("change", [moving, stray])
@pytest.mark.parametrize("seed", range(4))
def test_what_widens_the_repeatability_accuses_nobody(change: Any, seed: int) -> None:
    found = copied_appraiser(*study(change, seed, step=0.01))
    assert found is not None
    assert found.p > 0.001


@pytest.mark.parametrize("steps", [20, 5, 2])
@pytest.mark.parametrize("trials", [2, 3])
def test_a_good_gauge_with_coarse_steps_is_no_copy(steps: int, trials: int) -> None:
    """Most parts are read the same by everybody, and one or two that lie between two steps decide."""
    rng = np.random.default_rng(steps)
    step = 0.0005 * steps
    at = np.indices((10, 3, trials)).reshape(3, -1)
    for _ in range(25):
        true = rng.uniform(-0.025, 0.025, (10, 1, 1)) + rng.normal(0, 0.0005, (10, 3, trials))
        found = copied_appraiser(*at, (np.round(true / step) * step).ravel())
        assert found is None or found.p > 0.001
    if steps == 2 and trials == 3:
        read = np.round(true / step) * step
        read[:, 1] = read[:, 0]
        found = copied_appraiser(*at, read.ravel())
        assert found is not None
        assert found.p < 0.001
