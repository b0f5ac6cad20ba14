"""Likelihood of sorted parts: its greatest value and its contour against SciPy's truncated normal and brute force."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.capability.sorting.envelope import cells_of
from linestudy.capability.sorting.likelihood import Sorted, reach
from linestudy.capability.sorting.parent_shapes import processes


def cut(seed: int, n: int, limit: float) -> np.ndarray:
    x = np.random.default_rng(seed).normal(0, 1, n)
    return np.sort(x[np.abs(x) <= limit])


@pytest.mark.checks("maximum likelihood of a truncated normal", source="SciPy: truncnorm")
@pytest.mark.parametrize("rejected", [None, 90])
def test_the_maximum_is_that_of_scipys_truncated_normal(rejected: int | None) -> None:
    from scipy.optimize import minimize

    x = cut(2, 1000, 1.6)

    def minus(free: np.ndarray) -> float:
        mean, sd = free[0], np.exp(free[1])
        a, b = (-1.6 - mean) / sd, (1.6 - mean) / sd
        out = stats.norm.cdf(a) + stats.norm.sf(b)
        count = 0.0 if rejected is None else stats.binom.logpmf(rejected, rejected + x.size, out)
        return -float(stats.truncnorm.logpdf(x, a, b, mean, sd).sum()) - float(count)

    found = minimize(minus, [0.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-8})
    # Readings in steps so fine that cells are readings: the likelihood of counts is that of the readings.
    data = Sorted(*cells_of(x, -1.6, 1.6, 0.0, None, 0.0), rejected, float(x.size))
    best = reach(data, processes()["normal"], 3.84).best
    # The cells are 1/20 of the range wide.
    assert best[0] == pytest.approx(found.x[0], abs=0.01)
    assert best[1] == pytest.approx(found.x[1], abs=0.01)


def test_the_contour_by_brute_force() -> None:
    # The likelihood region on a grid: smallest and largest index inside it.
    x = cut(3, 1500, 1.8)
    data = Sorted(*cells_of(x, -1.8, 1.8, 0.0, None, 0.0))
    found = reach(data, processes()["normal"], 3.84)
    a, b, _ = found.settings.T
    index = np.minimum(1.8 - a, a + 1.8) / (3 * np.exp(b))
    m, s = np.meshgrid(np.linspace(-0.3, 0.3, 161), np.linspace(0.7, 1.5, 201), indexing="ij")
    m, s = m.ravel(), s.ravel()
    value = data.value(found.item, m, np.log(s), np.zeros(m.size))
    inside = 2 * (value.max() - value) <= 3.84
    brute = np.minimum(1.8 - m, m + 1.8) / (3 * s)
    assert not found.open
    assert index.min() == pytest.approx(brute[inside].min(), abs=0.008)
    assert index.max() == pytest.approx(brute[inside].max(), abs=0.008)


def test_at_most_so_many_rejected_only_bounds_the_share_from_above() -> None:
    x = cut(4, 3000, 1.5)
    cells = cells_of(x, -1.5, 1.5, 0.0, None, 0.0)
    normal = processes()["normal"]
    zero = np.zeros(1)
    few, many = (
        [
            Sorted(*cells, count, float(x.size), alone).value(normal, zero, zero, zero)[0]
            - Sorted(*cells).value(normal, zero, zero, zero)[0]
            for alone in (True, False)
        ]
        for count in (100.0, 2000.0)
    )
    # Truth rejects 13.4 %: 100 are too few for either, 2,000 too many only where all are this one's.
    assert few[0] < -50
    assert few[1] < -50
    assert many[0] < -50
    assert many[1] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("step", [0.1, 0.25])
def test_rounded_readings_stand_for_their_step(step: float) -> None:
    x = np.round(np.random.default_rng(6).normal(0, 1, 8000) / step) * step
    x = np.sort(x[np.abs(x) <= 1.5 + 1e-9])
    data = Sorted(*cells_of(x, -1.5, 1.5, step, None, 0.0))
    # A reading on the limit holds what lies up to half a step beyond.
    assert data.edges[[0, -1]] == pytest.approx([-1.5 - step / 2, 1.5 + step / 2])
    best = reach(data, processes()["normal"], 3.84).best
    assert np.exp(best[1]) == pytest.approx(1.0, abs=0.05)
