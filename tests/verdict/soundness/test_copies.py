"""Copied stretches and subgroups: found where they were put, not found in honest readings."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from honest_readings import SHAPES, readings

from linestudy.verdict.soundness.copies import (
    copied_and_changed,
    copied_in_any_order,
    copied_stream,
    copied_stretch,
    copied_subgroups,
)
from linestudy.verdict.soundness.reading_doubts import doubts_of_readings


def line(n: int = 600, step: float = 0.05, seed: int = 1) -> np.ndarray:
    return readings(np.random.default_rng(seed), "normal", n, step)


@pytest.mark.parametrize("added", [0.0, 0.35])
def test_a_copied_stretch_is_found_with_its_place_and_length(added: float) -> None:
    y = line()
    y[400:440] = y[100:140] + added
    found = copied_stretch(y, 0.05)
    assert found is not None
    assert found.p < 1e-6
    length, first, second = (int(word) for word in re.findall(r"\d+", found.evidence))
    # By chance a neighbour may agree as well.
    assert (second - first, second) in {(300, 401), (300, 400)}
    assert length >= 40


def test_noise_on_the_last_digit_hides_no_copy() -> None:
    y, draw = line(), np.random.default_rng(2)
    y[400:480] = y[100:180] + 0.05 * draw.integers(-1, 2, 80)
    found = copied_stretch(y, 0.05)
    assert found is not None
    assert found.p < 1e-6


def test_shuffling_within_subgroups_hides_no_copy() -> None:
    y, draw = line(), np.random.default_rng(2)
    for k in range(8):
        y[500 + 5 * k : 505 + 5 * k] = draw.permutation(y[5 * k : 5 * k + 5])
    found = copied_subgroups(y, np.arange(600) // 5, 0.05)
    assert found is not None
    assert found.p < 1e-6
    assert "8 subgroups from subgroup 1 on" in found.evidence


@pytest.mark.parametrize("shape", ["normal", "AR(1), 0.98", "two stations", "sawtooth"])
@pytest.mark.parametrize("step", [0.02, 0.5])
def test_honest_readings_hold_no_copy(shape: str, step: float) -> None:
    y = readings(np.random.default_rng(3), shape, 500, step)
    for found in (copied_stretch(y, step), copied_subgroups(y, np.arange(500) // 5, step)):
        assert found is None or found.p > 1e-3


def test_a_gauge_that_stands_still_is_no_copy() -> None:
    y = np.repeat([5.0, 5.1, 5.0, 5.2], 100)
    found = copied_stretch(y, 0.1)
    assert found is None or found.p > 1e-3


def lanes(second: np.ndarray, first: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    n = first.size
    return np.column_stack([first, second]).ravel(), np.tile([0, 1], n), np.repeat(np.arange(n), 2)


@pytest.mark.parametrize("share", [1.0, 0.7])
def test_one_part_that_is_read_as_two_is_told_as_that(share: float) -> None:
    first, other = line(seed=1), line(seed=2)
    y, stream, stroke = lanes(np.where(np.arange(600) < share * 600, first, other), first)
    found = copied_stream(y, stream, stroke, 0.05)
    assert found is not None
    assert found.p < 1e-6
    told = [one.what for one in doubts_of_readings(y, None, stream, stroke=stroke) if one.p < 0.001]
    assert "streams that read alike" in told
    assert "filled-in readings" not in told


@pytest.mark.parametrize("step", [0.05, 1.0])
@pytest.mark.parametrize("common", [0.0, 0.9])
def test_streams_that_rise_together_are_not_one_part(step: float, common: float) -> None:
    for seed in range(20):
        rng = np.random.default_rng(seed)
        strip, own = rng.normal(size=400), rng.normal(size=(2, 400))
        pair = np.sqrt(common) * strip + np.sqrt(1 - common) * own
        first, second = np.round(pair / step) * step
        assert copied_stream(*lanes(second, first), step) is None


@pytest.mark.parametrize("times", [2, 4])
def test_readings_written_down_again_are_found_in_whatever_order(times: int) -> None:
    draw = np.random.default_rng(4)
    once = np.round(draw.normal(5, 0.1, 600 // times), 3)
    found = copied_in_any_order(draw.permutation(np.tile(once, times)), 0.001)
    assert found is not None
    assert found.p < 1e-6
    assert f"values occur {times} times" in found.evidence


@pytest.mark.parametrize(
    "change",
    [
        lambda y, draw: 10 - y,
        lambda y, draw: y[::-1],
        lambda y, draw: 10 - y[::-1],
        lambda y, draw: y + draw.normal(0, 0.03, y.size),
        lambda y, draw: 5 + 0.7 * (y - 5),
    ],
    ids=["mirrored", "turned about", "both", "with noise", "narrower"],
)
def test_a_stretch_that_was_copied_and_changed_is_found(change: Callable[..., Any]) -> None:
    draw = np.random.default_rng(5)
    y = draw.normal(5, 0.1, 900)
    y[500:800] = change(y[100:400], draw)
    found = copied_and_changed(y)
    assert found is not None
    assert found.p < 1e-6


@pytest.mark.parametrize("shape", [*SHAPES])
@pytest.mark.parametrize("step", [0.001, 0.1])
def test_honest_readings_go_with_themselves_nowhere(shape: str, step: float) -> None:
    y = readings(np.random.default_rng(6), shape, 800, step)
    for found in (copied_in_any_order(y, step), copied_and_changed(y)):
        assert found is None or found.p > 1e-3


def test_a_value_of_few_steps_may_come_back() -> None:
    ramp = np.tile(np.arange(300) * 0.01, 3) + 0.002 * np.random.default_rng(7).normal(size=900)
    assert copied_in_any_order(np.round(ramp, 2), 0.01) is None


@pytest.mark.parametrize(("added", "later"), [(0.35, 0), (0.0, 1), (-0.2, 2)])
def test_a_stream_worked_out_of_another_is_told(added: float, later: int) -> None:
    first = line(seed=1)
    second = np.roll(first, later) + added
    second[:later] = line(seed=2)[:later]
    found = copied_stream(*lanes(second, first), 0.05)
    assert found is not None
    assert found.p < 1e-6
    assert ("exactly" in found.evidence) == bool(added)
    assert ("later" in found.evidence) == bool(later)


def test_lanes_that_wear_together_are_not_worked_out_of_each_other() -> None:
    for seed in range(10):
        rng = np.random.default_rng(seed)
        wear, own = np.linspace(0, 40, 600), rng.normal(size=(2, 600))
        first, second = np.round((wear + 0.3 * own) / 0.5) * 0.5
        assert copied_stream(*lanes(second + 1.0, first), 0.5) is None
