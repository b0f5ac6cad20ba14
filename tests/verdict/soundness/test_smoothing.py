"""Moving averages leave holes in the spectrum; processes do not."""

from __future__ import annotations

import numpy as np
import pytest
from honest_readings import SHAPES, readings

from linestudy.verdict.soundness.smoothing import moving_average


@pytest.mark.parametrize("k", [2, 3, 5, 8])
def test_an_average_of_k_neighbours_is_found_with_its_span(k: int) -> None:
    x = np.random.default_rng(1).normal(size=2000 + k)
    y = np.round(np.convolve(x, np.ones(k) / k, "valid") / 0.02) * 0.02
    found = moving_average(y)
    assert found is not None
    assert found.p < 1e-6
    assert f"averages over {k} neighbours" in found.evidence


@pytest.mark.parametrize("shape", list(SHAPES))
def test_no_honest_process_has_a_hole(shape: str) -> None:
    found = moving_average(readings(np.random.default_rng(5), shape, 2000, 0.02))
    assert found is None or found.p > 1e-3


def test_too_few_readings_say_nothing() -> None:
    assert moving_average(np.arange(30.0)) is None
