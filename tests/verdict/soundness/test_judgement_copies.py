"""Judgements taken over from others."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from linestudy.verdict.soundness.judgement_copies import copied_judgements


def judged(seed: int, people: int = 3, parts: int = 50) -> tuple[Any, Any, Any, Any]:
    """Good, bad and borderline parts; on the latter everyone says now this, now that."""
    draw = np.random.default_rng(seed)
    part, who, trial = np.indices((parts, people, 3))
    chance = np.where(
        np.arange(parts) % 5 == 0, 0.6, np.where(np.arange(parts) % 3 == 0, 0.01, 0.98)
    )
    return part, who, trial, draw.random(part.shape) < chance[:, None, None]


def p_of(part: Any, who: Any, trial: Any, said: Any) -> float | None:
    found = copied_judgements(part.ravel(), who.ravel(), trial.ravel(), said.ravel())
    return None if found is None else found.p


@pytest.mark.parametrize("seed", range(4))
def test_judgements_of_one_who_looked_at_the_sheet_of_another_are_found(seed: int) -> None:
    part, who, trial, said = judged(seed, parts=80)
    said[:, 2] = said[:, 0]
    found = p_of(part, who, trial, said)
    assert found is not None
    assert found < 1e-3


def test_borderline_parts_accuse_nobody() -> None:
    found = [p_of(*judged(seed)) for seed in range(40)]
    assert min(p for p in found if p is not None) > 1e-3


def test_the_chance_is_that_of_the_orders() -> None:
    # Two parts that both accept once in three trials, in the same ones: 1/3 each, for each of two people.
    said = np.zeros((4, 2, 3), dtype=bool)
    said[0, :, 1] = said[1, :, 2] = True
    assert p_of(*np.indices(said.shape), said) == pytest.approx(2 / 9, rel=1e-12)


def test_who_never_changes_a_judgement_shows_nothing() -> None:
    part, who, trial = np.indices((10, 2, 3))
    assert p_of(part, who, trial, part > 4) is None
    assert p_of(part, who, np.zeros_like(trial), part > 4) is None
