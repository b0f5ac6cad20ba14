"""What is left about the trend: its reach by values or by the normal distribution, and a life's quantiles."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from linestudy.capability.wear.remainder import Remainder
from linestudy.capability.wear.trend import sawtooth


def of(noise: np.ndarray) -> Remainder:
    order = np.arange(float(noise.size))
    y = 10 + 0.2 * (order % 2000) / 1000 + noise
    return Remainder.of(sawtooth(y, order, [2000, 4000]), y, None, 9.0, 11.0)


def test_a_normal_remainder_reaches_three_standard_deviations() -> None:
    known = of(np.random.default_rng(1).normal(0, 0.1, 6000))
    assert known.normal
    assert known.reach[:2] == pytest.approx((norm.isf(0.00135),) * 2, abs=1e-3)
    assert known.reach_error == 0
    assert known.index_at(10.0) == pytest.approx(1 / 0.3, rel=0.03)


def test_a_skewed_one_reaches_as_its_values_do() -> None:
    noise = np.random.default_rng(2).exponential(0.1, 6000)
    known = of(noise)
    assert not known.normal
    below, above, _ = known.reach
    assert above > 5 > 2 > below
    assert 0.02 < known.reach_error < 0.1


def test_a_life_without_wear_is_the_remainder_alone() -> None:
    known = of(np.random.default_rng(3).normal(0, 0.1, 6000))
    table = known.table()
    assert known.whole(table, 10.0, 0.0) == pytest.approx(known.index_at(10.0), rel=0.02)
    # Wear down from 10.4 covers the same range as wear up from 10.0.
    assert known.whole(table, 10.4, -0.4) == pytest.approx(known.whole(table, 10.0, 0.4), rel=0.01)
