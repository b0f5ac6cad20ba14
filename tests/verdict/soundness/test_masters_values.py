"""Masters whose values are the averages of their own readings."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.verdict.soundness.masters_values import never_differ, values_of_readings

SIZES = np.array([4.0, 4.5, 5.0, 5.5, 6.0])


@pytest.mark.parametrize("step", [0.0001, 0.01, 0.02])
@pytest.mark.parametrize("bias", [0.0, 0.05])
def test_masters_with_values_of_their_own(step: float, bias: float) -> None:
    draw = np.random.default_rng(1)
    for _ in range(60):
        read = SIZES[:, None] + bias + draw.normal(0, 0.01, (5, 12))
        found = values_of_readings(SIZES.repeat(12), np.round(read / step).ravel() * step)
        assert found is None or found.p > 0.001


@pytest.mark.parametrize("digits", [3, 4])
def test_values_that_are_the_readings_own(digits: int) -> None:
    read = SIZES[:, None] + 0.08 + np.random.default_rng(2).normal(0, 0.01, (5, 12)).round(4)
    found = values_of_readings(read.mean(axis=1).round(digits).repeat(12), read.ravel())
    assert found is not None
    assert found.p < 1e-4
    assert "5 masters were read" in found.evidence


def test_too_little_to_tell() -> None:
    assert values_of_readings([4.0, 4.0, 5.0, 5.0], [4.1, 4.2, 5.1, 5.0]) is None
    assert values_of_readings(SIZES, SIZES) is None
    assert values_of_readings(SIZES.repeat(3), SIZES.repeat(3) + 0.1) is None


@pytest.mark.parametrize(("step", "better"), [(0.001, 1.0), (0.05, 5.0)])
def test_masters_that_repeat_as_parts_do_or_better(step: float, better: float) -> None:
    draw = np.random.default_rng(3)
    for _ in range(20):
        parts = np.round(draw.normal(5, 0.1, (10, 3)) / step).ravel() * step
        crossed = pd.DataFrame({"part": np.arange(10).repeat(3), "value": parts})
        read = np.round((SIZES.repeat(12) + draw.normal(0, 0.1 / better, 60)) / step) * step
        found = never_differ(SIZES.repeat(12), read, crossed)
        assert found is None or found.p > 0.001


def test_masters_typed_off_their_values() -> None:
    y = np.random.default_rng(4).normal(5, 0.1, 30)
    crossed = pd.DataFrame({"part": np.arange(10).repeat(3), "value": y.round(3)})
    found = never_differ(SIZES.repeat(3), SIZES.repeat(3), crossed)
    assert found is not None
    assert found.p < 1e-6
    coarse = never_differ(SIZES.repeat(3), SIZES.repeat(3), crossed.round(1))
    assert coarse is not None
    assert coarse.p == 1.0
