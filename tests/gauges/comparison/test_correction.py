"""Correcting one gauge by another: warranted only where it is seen and larger than half a step."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges import (
    method_comparison,
)


def two_gauges(seed: int, n: int = 40, slope: float = 1.0, shift: float = 0.0):
    rng = np.random.default_rng(seed)
    true = rng.uniform(5, 15, n)
    return shift + slope * true + rng.normal(0, 0.1, n), true + rng.normal(0, 0.1, n)


def test_a_correction_is_warranted_only_when_it_is_seen_and_larger_than_half_a_step() -> None:
    y, x = two_gauges(5, 60, 1.0, 0.3)
    found = method_comparison(y, x, lower=6.0, upper=14.0, with_icc=False)
    assert found.correction.warranted
    assert found.correction.at["middle"].estimate == pytest.approx(-0.3, abs=0.06)
    coarse = method_comparison(y, x, step=1.0, with_icc=False)
    assert not coarse.correction.warranted
    assert "half the step" in coarse.correction.answer
    same = method_comparison(*two_gauges(6, 60), with_icc=False)
    assert not same.correction.warranted
    assert "own uncertainty" in same.statement
