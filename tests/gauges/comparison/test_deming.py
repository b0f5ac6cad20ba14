"""The line through two gauges: its closed form, and what an unknown ratio does to it."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges.comparison.correction import Correction
from linestudy.gauges.comparison.deming import lines_of
from linestudy.results import CannotJudge, Interval


def fit(
    a: np.ndarray, b: np.ndarray, ratio: float | None
) -> tuple[dict[str, Interval], Correction, float]:
    nowhere: dict[str, float | None] = {"lower": None, "upper": None}
    return lines_of(a, b, ratio, 0.95, nowhere, None, ("first", "second"), "mm")


def test_equal_errors_are_the_main_axis() -> None:
    # Ratio one: the first principal axis of the pairs (NumPy's eigenvectors).
    rng = np.random.default_rng(1)
    b = rng.normal(5, 1, 40)
    a = 1.1 * b + rng.normal(0, 0.3, 40)
    _, axes = np.linalg.eigh(np.cov(b, a))
    line, _, _ = fit(a, b, 1.0)
    assert line["slope"].estimate == pytest.approx(axes[1, -1] / axes[0, -1], rel=1e-10)


def test_extreme_ratios_are_the_two_regressions() -> None:
    # All error on one side: least squares of first on second, and of second on first turned round.
    rng = np.random.default_rng(2)
    b = rng.normal(5, 1, 40)
    a = 1.1 * b + rng.normal(0, 0.3, 40)
    ordinary, _ = np.polyfit(b, a, 1)
    reverse, _ = np.polyfit(a, b, 1)
    assert fit(a, b, 1e7)[0]["slope"].estimate == pytest.approx(ordinary, rel=1e-5)
    assert fit(a, b, 1e-7)[0]["slope"].estimate == pytest.approx(1 / reverse, rel=1e-5)
    unknown = fit(a, b, None)[0]["slope"]
    assert unknown.low < ordinary < unknown.high
    assert unknown.low < 1 / reverse < unknown.high


def test_readings_without_relation_are_refused() -> None:
    with pytest.raises(CannotJudge, match="not correlated"):
        fit(np.array([1.0, 2.0, 1.0, 2.0]), np.array([1.0, 1.0, 2.0, 2.0]), 1.0)
