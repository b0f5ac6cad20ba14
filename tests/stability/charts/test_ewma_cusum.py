"""Run lengths and designs of EWMA and CUSUM against published tables and a plain chain."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from linestudy.stability import (
    cusum_run_length,
    design_cusum,
    design_ewma,
    ewma_run_length,
)


@pytest.mark.checks("run length of a CUSUM", source="published tables", memory=True)
@pytest.mark.parametrize(
    ("k", "h", "shift", "published"),
    # Handed down with the project's published figures; the same as in Montgomery's table.
    [(0.5, 4, 0, 168), (0.5, 5, 0, 465), (0.5, 4, 1, 8.38), (0.5, 5, 1, 10.4)],
)
def test_cusum(k: float, h: float, shift: float, published: float) -> None:
    found = cusum_run_length(k, h, shift)
    assert found == pytest.approx(published, rel=3e-3)


@pytest.mark.checks(
    "run length of an EWMA", source="Lucas & Saccucci, Technometrics 32 (1990)", memory=True
)
def test_ewma() -> None:
    # Lucas & Saccucci, Technometrics 1990.
    assert ewma_run_length(0.1, 2.814) == pytest.approx(500, rel=2e-3)
    assert ewma_run_length(0.1, 2.814, 1.0) == pytest.approx(10.3, abs=0.05)
    assert ewma_run_length(1.0, 3.0) == pytest.approx(1 / (2 * norm.sf(3)), rel=1e-6)


def chain_of_brook_and_evans(k: float, h: float, shift: float, states: int) -> float:
    """One-sided CUSUM as a chain of `states` intervals (Biometrika 1972), extrapolated."""

    def one(t: int) -> float:
        width = 2 * h / (2 * t - 1)
        i = np.arange(t)[:, None]
        j = np.arange(t)[None, :]
        top = norm.cdf((j - i) * width + width / 2 + k - shift)
        bottom = norm.cdf((j - i) * width - width / 2 + k - shift)
        moves = top - bottom
        moves[:, 0] = top[:, 0]
        return float(np.linalg.solve(np.eye(t) - moves, np.ones(t))[0])

    # Its error falls with the square of the interval width.
    coarse, fine = one(states), one(2 * states)
    return fine + (fine - coarse) / 3


@pytest.mark.parametrize("shift", [0.0, 0.5, 2.0])
def test_cusum_is_that_of_a_markov_chain(shift: float) -> None:
    expected = chain_of_brook_and_evans(0.5, 4.0, shift, 150)
    found = cusum_run_length(0.5, 4.0, shift, two_sided=False)
    assert found == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("shift", [0.5, 1.0, 2.0])
@pytest.mark.parametrize("rest", [100.0, 370.4, 1000.0])
def test_designs_keep_their_run_length(shift: float, rest: float) -> None:
    assert ewma_run_length(*design_ewma(rest, shift)) == pytest.approx(rest)
    k, h = design_cusum(rest, shift)
    assert k == shift / 2
    assert cusum_run_length(k, h) == pytest.approx(rest, rel=1e-6)


def test_refusals_of_designs() -> None:
    with pytest.raises(ValueError, match="weight = 0"):
        ewma_run_length(0.0, 3.0)
    with pytest.raises(ValueError, match="h = 0"):
        cusum_run_length(0.5, 0.0)
    with pytest.raises(ValueError, match="in_control_run_length = 5"):
        design_ewma(5.0)
