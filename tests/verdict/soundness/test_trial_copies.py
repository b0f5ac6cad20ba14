"""Crossed studies of which one trial or one part was typed off another: what is found, and what accuses nobody."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from honest_readings import crossed

from linestudy.verdict.soundness.trial_copies import copied_lines

SHAPE = (10, 3, 3)
LEVEL = 2e-4


def study(seed: int, step: float = 0.2, heavy: bool = False) -> tuple[Any, Any, Any, Any]:
    """Repetition is five steps wide unless said otherwise."""
    return crossed(np.random.default_rng(seed), *SHAPE, step, heavy)


def typed(table: Any, draw: Any) -> Any:
    """The same with every seventh last digit changed."""
    return table + 0.2 * draw.integers(-1, 2, table.shape) * (draw.random(table.shape) < 0.2)


@pytest.mark.parametrize("source", ["own", "another's", "part"])
def test_what_was_typed_off_is_found_and_named(source: str) -> None:
    seen = 0
    for seed in range(12):
        part, who, trial, value = study(seed)
        table, draw = value.reshape(SHAPE).copy(), np.random.default_rng(seed)
        if source == "part":
            table[7] = typed(table[2], draw) + 0.4
            words = "the readings of part 7 repeat those of part 2"
        else:
            other = 1 if source == "own" else 0
            table[:, 1, 2] = typed(table[:, other, 0], draw)
            words = f"trial 2 of 1 repeats trial 0 of {other}"
        found = copied_lines(part, who, trial, table.ravel())
        assert found is not None
        seen += found.p < LEVEL
        assert found.p >= LEVEL or found.evidence == words
    assert seen >= 9


@pytest.mark.parametrize("heavy", [False, True])
@pytest.mark.parametrize("step", [0.0001, 0.5, 2.0, 4.0])
def test_honest_studies_are_no_copies(step: float, heavy: bool) -> None:
    for seed in range(8):
        found = copied_lines(*study(seed, step, heavy))
        assert found is None or found.p > LEVEL


@pytest.mark.parametrize(
    "change", ["stray", "one repeats well", "warming up", "small parts repeat well"]
)
def test_what_moves_an_honest_study_accuses_nobody(change: str) -> None:
    for seed in range(6):
        part, who, trial, value = study(seed)
        table = value.reshape(SHAPE).copy()
        middle = table.mean(axis=2, keepdims=True)
        if change == "stray":
            table[3, 2, 1] += 500.0
        elif change == "one repeats well":
            table[:, 0] = middle[:, 0] + 0.15 * (table - middle)[:, 0]
        elif change == "warming up":
            table += np.array([20.0, 5.0, 0.0])
        else:
            table = middle + (table - middle) * np.linspace(0.1, 1, 10)[:, None, None]
        found = copied_lines(part, who, trial, table.ravel())
        assert found is None or found.p > LEVEL


def test_two_trials_and_one_person() -> None:
    part, who, trial, value = study(1)
    two = trial < 2
    assert copied_lines(part[two], who[two], trial[two], value[two]) is not None
    one = who == 0
    assert copied_lines(part[one], who[one], trial[one], value[one]) is not None
    alone = one & two
    found = copied_lines(part[alone], who[alone], trial[alone], value[alone])
    # Two trials of one person say nothing of trials; parts are held against each other.
    assert found is not None
    assert found.evidence.startswith("the readings of part")
    few = part < 4
    assert copied_lines(part[few], who[few], trial[few], value[few]) is None
    assert copied_lines(part, who, trial, np.round(value / 1e3)) is None
