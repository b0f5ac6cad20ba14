"""Edges that must be recognised, and ends of readings that are none; error rates are measured in the proof."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linestudy.capability import truncation_points
from linestudy.capability.sorting.recognition import sharp_ends


def sorted_parts(seed: int, n: int, limit: float, step: float = 0.0) -> np.ndarray:
    x = np.random.default_rng(seed).normal(0, 1, n)
    x = np.round(x / step) * step if step else x
    return x[np.abs(x) <= limit + 1e-9]


@pytest.mark.parametrize(
    ("n", "limit", "step"), [(5000, 1.5, 0), (5000, 1.5, 0.1), (31_000, 2.4, 0), (31_000, 2, 0.5)]
)
def test_a_cut_is_recognised(n: int, limit: float, step: float) -> None:
    # Few parts lie near a far limit: it takes a longer run to see that none lies beyond.
    seen = [truncation_points(sorted_parts(s, n, limit, step), -limit, limit) for s in range(6)]
    assert sum(set(item) == {"lower", "upper"} for item in seen) >= 4


@pytest.mark.parametrize("step", [0.1, 0.25, 0.5, 1.0])
@pytest.mark.parametrize("n", [1000, 10_000])
def test_rounding_makes_no_cut(n: int, step: float) -> None:
    for seed in range(12):
        x = np.round(np.random.default_rng(seed).normal(0, 1, n) / step) * step
        for limit in (1.5, 2.0, 2.5, 3.0, 3.5):
            assert not truncation_points(x, -limit, limit)


def test_one_reading_beyond_a_limit_and_nothing_was_cut_there() -> None:
    x = sorted_parts(8, 20_000, 1.8)
    assert set(truncation_points(x, -1.8, 1.8)) == {"lower", "upper"}
    assert set(truncation_points(np.append(x, 1.81), -1.8, 1.8)) == {"lower"}


NATURAL = {
    "uniform": (lambda r, n: r.uniform(-1, 1, n), (-1.0, 1.0)),
    "uniform, limits a little outside": (lambda r, n: r.uniform(-1, 1, n), (-1.04, 1.04)),
    "exponential from its limit": (lambda r, n: 5 + r.exponential(size=n), (5.0, None)),
    "Weibull from nought": (lambda r, n: r.weibull(1.3, n), (0.0, None)),
    "half-normal from its limit": (lambda r, n: 5 + np.abs(r.normal(size=n)), (5.0, None)),
    "zeros": (lambda r, n: np.abs(r.normal(size=n)) * (r.random(n) > 0.3), (0.0, None)),
    "sine": (lambda r, n: np.sin(r.uniform(0, 7, n)), (-1.0, 1.0)),
    "triangle": (lambda r, n: r.triangular(-1, 0, 1, n), (-1.0, 1.0)),
    "gamma from its limit": (lambda r, n: 5 + r.gamma(4, size=n), (5.0, None)),
}


@pytest.mark.parametrize("name", NATURAL)
def test_a_natural_end_is_no_cut(name: str) -> None:
    draw, limits = NATURAL[name]
    hits = sum(
        bool(truncation_points(draw(np.random.default_rng([s, n]), n), *limits))
        for n in (1000, 10_000)
        for s in range(8)
    )
    assert hits == 0


@pytest.mark.parametrize("name", NATURAL)
def test_no_natural_end_is_sharp(name: str) -> None:
    draw, _ = NATURAL[name]
    hits = sum(
        bool(sharp_ends(draw(np.random.default_rng([s, n]), n)))
        for n in (1000, 10_000)
        for s in range(8)
    )
    assert hits == 0


@pytest.mark.parametrize("step", [0.0, 0.02])
def test_parts_sorted_at_limits_that_nobody_names_end_sharply(step: float) -> None:
    found = 0
    for seed in range(8):
        x = np.random.default_rng(seed).normal(size=13_000)
        # The sorter holds what is recorded against its limits.
        x = x if step == 0 else np.round(x / step) * step
        x = x[np.abs(x) <= 1.8]
        found += set(sharp_ends(x)) == {"lower", "upper"}
        # One reading beyond, and nothing was cut there.
        assert "upper" not in sharp_ends(np.append(x, 2.6))
    assert found >= 4
    x = sorted_parts(3, 20_000, 1.5)
    assert "lower" not in sharp_ends(x, bound=float(x.min()))


def test_a_bound_is_no_cut() -> None:
    x = sorted_parts(3, 20_000, 1.5)
    assert set(truncation_points(x, -1.5, 1.5, bound=-1.5)) == {"upper"}


@settings(max_examples=10)
@given(st.floats(0.01, 100), st.floats(-100, 100), st.integers(0, 99))
def test_units_zero_and_order_of_rows(unit: float, zero: float, seed: int) -> None:
    x = sorted_parts(9, 5000, 1.7)
    chance = np.random.default_rng(seed)
    for values, cut in ((x, 1.7), (np.random.default_rng(1).normal(size=5000), 1.7)):
        one = truncation_points(values, -cut, cut)
        two = truncation_points(
            chance.permutation(values) * unit + zero, -cut * unit + zero, cut * unit + zero
        )
        assert set(one) == set(two)
