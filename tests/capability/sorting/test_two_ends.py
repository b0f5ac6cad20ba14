"""Parts sorted at two limits inside the tolerance, told by the shape of a few hundred readings."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy import stats

from linestudy.capability.sorting.two_ends import cut_at_both_ends
from linestudy.verdict.soundness.reading_doubts import doubts_of_readings

Draw = Callable[[np.random.Generator, int], np.ndarray]

#: Shapes that processes have by themselves: bounded, of several levels, worn, correlated.
NATURAL: dict[str, Draw] = {
    "normal": lambda r, n: r.normal(size=n),
    "triangular": lambda r, n: r.triangular(-1, 0, 1, n),
    "trapezoidal": lambda r, n: r.uniform(-1, 1, n) + r.uniform(-0.6, 0.6, n),
    "uniform": lambda r, n: r.uniform(-1, 1, n),
    "semicircle": lambda r, n: r.beta(1.5, 1.5, n),
    "parabola": lambda r, n: r.beta(2, 2, n),
    "skewed and bounded": lambda r, n: r.beta(1.5, 2.5, n),
    "three uniform": lambda r, n: r.uniform(-1, 1, (n, 3)).sum(axis=1),
    "Weibull": lambda r, n: r.weibull(2.5, n),
    "generalised normal": lambda r, n: stats.gennorm.rvs(4, size=n, random_state=r),
    "two stations": lambda r, n: r.normal(size=n) + 2.2 * r.integers(0, 2, n),
    "four stations": lambda r, n: 0.5 * r.normal(size=n) + r.uniform(-1, 1, 4)[r.integers(0, 4, n)],
    "wear": lambda r, n: np.linspace(0, 7, n) % 1 * 3 + 0.4 * r.normal(size=n),
    "sine": lambda r, n: np.sin(r.uniform(0, 2 * np.pi, n)) + 0.3 * r.normal(size=n),
    "angle": lambda r, n: np.arccos(r.uniform(-1, 1, n)),
}


def sorted_parts(
    draw: np.random.Generator, n: int, low: float = 1.85, high: float = 1.85
) -> np.ndarray:
    x = draw.normal(size=2 * n)
    return x[(x > -low) & (x < high)][:n]


def taken(draw: Draw, n: int, runs: int, step: float = 0.025) -> int:
    """How often readings are taken for sorted at the level of the decision."""
    hits = 0
    for run in range(runs):
        x = draw(np.random.default_rng([run, n]), n)
        wide = step * x.std()
        p = cut_at_both_ends(np.round(x / wide) * wide, wide)
        hits += p is not None and p < 1e-4
    return hits


@pytest.mark.parametrize("name", NATURAL)
def test_no_natural_shape_is_taken_for_sorted(name: str) -> None:
    assert taken(NATURAL[name], 1500, 2) == 0


def test_sorted_parts_are_found_and_the_decision_says_so() -> None:
    assert taken(sorted_parts, 2000, 5) >= 4
    x = (5 + 0.1 * sorted_parts(np.random.default_rng(4), 2000)).round(3)
    (found,) = (one for one in doubts_of_readings(x) if one.what == "parts taken out")
    assert found.p < 1e-4
    assert found.evidence.startswith(
        "they have the shape of a normal process whose parts below 4.81"
    )
    # From a bound, or from nought, magnitudes begin.
    (found,) = (one for one in doubts_of_readings(x, bound=4.81) if one.what == "parts taken out")
    assert found.p == 1.0


def test_what_is_too_few_too_coarse_or_all_alike_says_nothing() -> None:
    draw = np.random.default_rng(1)
    assert cut_at_both_ends(sorted_parts(draw, 200)) is None
    assert cut_at_both_ends(sorted_parts(draw, 2000).round(), 1.0) is None
    assert cut_at_both_ends(np.full(500, 3.0)) is None
    # Sorted at one limit alone is no cut of both ends, and far ends are none that matters.
    assert cut_at_both_ends(sorted_parts(draw, 2000, high=9.0)) is None
    assert cut_at_both_ends(sorted_parts(draw, 2000, 3.0, 3.0)) is None


@pytest.mark.proof
@pytest.mark.parametrize("n", [600, 1200, 2400])
def test_hardly_any_natural_shape_is_taken_for_sorted(n: int) -> None:
    """At most one in a hundred of every shape together; more than half of sorted ones are found from 1,200 on."""
    runs = 12
    assert sum(taken(draw, n, runs) for draw in NATURAL.values()) <= 0.01 * runs * len(NATURAL)
    if n >= 1200:
        assert taken(sorted_parts, n, 20) >= 10
