"""Readings that nobody took: gaps filled in, and honest readings of many shapes that show none."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from honest_readings import SHAPES, readings

from linestudy.verdict.soundness.filled import filled_in

STEP = 0.01
DRAW = np.random.default_rng(3)


def line(shape: str = "normal", n: int = 1500, step: float = STEP) -> Any:
    return readings(np.random.default_rng(7), shape, n, step)


def gaps(n: int) -> Any:
    there = DRAW.random(n) < 0.04
    there[[0, -1]] = False
    return there


def between(y: Any) -> Any:
    out, at = y.copy(), gaps(y.size)
    out[at] = np.interp(np.flatnonzero(at), np.flatnonzero(~at), y[~at])
    return np.round(out / STEP) * STEP


def held(y: Any) -> Any:
    out = y.copy()
    for k in np.flatnonzero(gaps(y.size)):
        out[k] = out[k - 1]
    return out


def by_one_value(y: Any) -> Any:
    return np.where(gaps(y.size), np.round(y.mean() / STEP) * STEP, y)


@pytest.mark.parametrize(
    ("done", "words"),
    [(between, "between their neighbours"), (held, "row before"), (by_one_value, "stands")],
)
@pytest.mark.parametrize("shape", ["normal", "gamma", "AR(1), 0.3"])
def test_what_was_filled_in_is_found_and_said(done: Any, words: str, shape: str) -> None:
    found = filled_in(done(line(shape)), STEP)
    assert found is not None
    assert found.p < 1e-4
    assert words in found.evidence


@pytest.mark.parametrize("shape", list(SHAPES))
@pytest.mark.parametrize("step", [0.01, 0.1, 0.5])
def test_honest_readings_show_none_of_it(shape: str, step: float) -> None:
    found = filled_in(line(shape, 2000, step), step)
    assert found is None or found.p > 1e-3


def test_a_magnitude_that_is_often_nought_was_not_filled_in() -> None:
    y = np.maximum(np.random.default_rng(2).normal(0.3, 1, 1500), 0.0).round(2)
    found = filled_in(y, STEP, 0.0)
    assert found is None or found.p > 1e-3


def test_few_readings_and_none_that_differ_say_nothing() -> None:
    assert filled_in(line(n=40), STEP) is None
    assert filled_in(np.ones(100), STEP) is None
