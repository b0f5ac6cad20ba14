"""Steps of readings: averages stand between the steps of their gauge, scaled readings leave a comb, honest ones neither."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.verdict.soundness.steps import between_steps, comb

DRAW = np.random.default_rng(20)
STEP = 0.001


def singles(n: int, k: int, sd: float = 0.1) -> np.ndarray:
    return (5 + sd * DRAW.normal(size=(n, k))).round(3)


STUDIED = singles(90, 1)[:, 0]


@pytest.mark.parametrize("k", [2, 3, 4, 5, 7])
@pytest.mark.parametrize("decimals", [5, 12])
def test_averages_of_separate_readings_are_seen(k: int, decimals: int) -> None:
    found = between_steps(singles(400, k).mean(axis=1).round(decimals), STUDIED, STEP)
    assert found is not None
    assert found.p < 1e-6
    assert f"averages over {k} readings" in found.evidence


@pytest.mark.parametrize(
    ("y", "studied", "step"),
    [
        (singles(400, 1)[:, 0], STUDIED, STEP),
        # Written with one digit more, or with all of them: a study on paper, a run from the computer.
        (DRAW.normal(5, 0.1, 400).round(4), STUDIED, STEP),
        (DRAW.normal(5, 0.1, 400), STUDIED, STEP),
        # Averages of ten look the same, and are not told apart.
        (singles(400, 10).mean(axis=1), STUDIED, STEP),
        (singles(400, 2).mean(axis=1), singles(60, 2).mean(axis=1), STEP),
        (singles(400, 2).mean(axis=1), STUDIED, 0.0),
        (singles(12, 2).mean(axis=1), STUDIED, STEP),
        # A handful written otherwise is no average.
        (np.append(singles(400, 1)[:, 0], [5.0005, 5.0015]), STUDIED, STEP),
    ],
)
def test_honest_records_are_not_accused(y: np.ndarray, studied: np.ndarray, step: float) -> None:
    assert between_steps(y, studied, step) is None


@pytest.mark.parametrize(("c", "every"), [(0.77, 3.35), (0.8, 4.0), (0.6, 3.0)])
def test_scaled_readings_leave_a_comb(c: float, every: float) -> None:
    whole = DRAW.normal(5000, 60 / c, 2000).round()
    assert comb((c * whole).round() * STEP, STEP) == pytest.approx(every, abs=0.05)


@pytest.mark.parametrize(
    "y",
    [
        DRAW.normal(5, 0.06, 2000),
        5 + 0.05 * DRAW.exponential(size=2000),
        DRAW.uniform(4.9, 5.1, 2000),
        5 + 0.1 * np.sin(DRAW.uniform(0, 7, 2000)),
        np.repeat([4.9, 5.1], 1000) + DRAW.normal(0, 0.02, 2000),
        # Readings in ten-thousandths of an inch: steps with gaps between them.
        (DRAW.normal(5, 0.06, 2000) / 25.4).round(4) * 25.4,
        DRAW.normal(5, 0.06, 120),
        DRAW.normal(5, 0.003, 2000),
    ],
)
def test_honest_readings_leave_none(y: np.ndarray) -> None:
    assert comb(y.round(3), STEP) is None


def test_no_step_no_comb() -> None:
    assert comb(DRAW.normal(size=500), 0.0) is None
