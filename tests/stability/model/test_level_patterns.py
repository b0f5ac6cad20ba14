"""How subgroup means move, named; places of steps against a plain search."""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest

from linestudy.stability.model.level_patterns import (
    ONE_STEP,
    RANDOM,
    SAWTOOTH,
    TREND,
    WAVE,
    best_steps,
    level_pattern,
)

K = 80
X = np.arange(float(K))


def test_places_of_steps_are_those_of_a_search_through_all() -> None:
    y = np.random.default_rng(1).normal(size=24) + np.repeat([0.0, 2.0, -1.0], 8)

    def rest(cuts: tuple[int, ...]) -> float:
        ends = (0, *cuts, y.size)
        return sum(float(((y[a:b] - y[a:b].mean()) ** 2).sum()) for a, b in pairwise(ends))

    for number, (cuts, left) in enumerate(best_steps(y, 3), start=1):
        tried = [
            c for c in combinations(range(3, 22), number) if min(np.diff((0, *c, y.size))) >= 3
        ]
        best = min(tried, key=rest)
        assert left == pytest.approx(rest(best), rel=1e-9)
        assert tuple(cuts) == best


@pytest.mark.parametrize(
    ("level", "kind"),
    [
        (4 * (X >= 30), ONE_STEP),
        (X / 12, TREND),
        (-X / 12, TREND),
        (4 * ((X / 20) % 1), SAWTOOTH),
        (-4 * ((X / 27 + 0.3) % 1), SAWTOOTH),
        (2 * np.sin(X / 4), WAVE),
        (np.zeros(K), RANDOM),
    ],
)
def test_movement_is_named(level: np.ndarray, kind: str) -> None:
    right = [
        level_pattern(level + np.random.default_rng(s).normal(size=K), X).kind == kind
        for s in range(10)
    ]
    assert sum(right) >= 9


def test_steps_of_a_sawtooth_lie_where_it_starts_anew() -> None:
    y = 6 * ((X / 20) % 1) + 0.3 * np.random.default_rng(2).normal(size=K)
    found = level_pattern(y, X)
    assert found.places == (20, 40, 60)
    assert found.cycles == 4


def test_neither_unit_nor_origin_nor_direction_matters() -> None:
    y = np.where(X > 50, 2.0, 0.0) + np.random.default_rng(3).normal(size=K)
    one = level_pattern(y, X)
    assert level_pattern(1e4 - 0.01 * y, X).kind == one.kind
    assert level_pattern(y, 5e6 + 250 * X).places == one.places


def test_many_subgroups_are_gathered() -> None:
    y = np.repeat([0.0, 1.0], 2000) + np.random.default_rng(4).normal(size=4000)
    found = level_pattern(y, np.arange(4000.0))
    assert found.kind == ONE_STEP
    assert abs(found.places[0] - 2000) <= 40
