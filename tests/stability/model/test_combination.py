"""Cauchy's combination of p-values, against SciPy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.stability.model.combination import combined


def test_cauchys_combination() -> None:
    # One p-value is itself; SciPy's Cauchy distribution gives the rest.
    assert combined([0.03]) == pytest.approx(0.03)
    p = [0.2, 0.001, 0.4]
    statistic = np.mean(np.tan((0.5 - np.array(p)) * np.pi))
    assert combined(p) == pytest.approx(stats.cauchy.sf(statistic))
    assert combined([1e-30, 0.5]) == pytest.approx(2e-30, rel=1e-6)
    assert combined(p, [1.0, 3.0, 1.0]) == pytest.approx(combined([0.2, 0.001, 0.001, 0.001, 0.4]))


def test_a_test_that_sees_nothing_hides_none_that_sees() -> None:
    assert combined([0.001, 0.999, 0.999]) == combined([0.001, 0.5, 0.5]) < 0.005
    assert combined([0.8, 0.9]) == 0.5


def test_of_independent_tests_as_few_are_small_as_is_claimed() -> None:
    p = np.random.default_rng(1).random((4000, 12))
    small = sum(combined(list(row)) < 0.05 for row in p)
    # Counting large p-values as one half costs a little at 0.05, a fiftieth of the level at 0.005.
    assert small < stats.binom.isf(0.001, 4000, 0.06)
