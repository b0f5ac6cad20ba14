"""Tops of the likelihood of a mixture: that they are tops, and do not hang on last digits."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize

from linestudy.shape.families import FAMILIES, MIXTURE
from linestudy.shape.families.mixture_tops import LIMITS, tops


@pytest.fixture(scope="module", name="heavy")
def _heavy() -> np.ndarray:
    """Samples in which two components are hardly to be seen: summits many, ridges flat."""
    x = np.random.default_rng(4).standard_t(5, (60, 150))
    return (x - x.mean(axis=1, keepdims=True)) / x.std(axis=1, keepdims=True)


START = np.array([1.5, -0.1, -0.3, 0.4, 0.5])


@pytest.mark.checks("tops of a normal mixture", source="SciPy: L-BFGS-B from beside the top")
def test_tops_are_tops(heavy: np.ndarray) -> None:
    c, missing = tops(heavy, np.repeat(START[:, None], len(heavy), axis=1))
    assert (missing == 0).all()
    family = FAMILIES[MIXTURE]
    for x, top in zip(heavy[:25], c.T, strict=False):

        def lack(p: np.ndarray, x: np.ndarray = x) -> float:
            return -float(np.sum(family.logpdf(x, p)))

        low, high = np.array(LIMITS).T
        beside = np.clip(top + 0.01, low, high)
        found = minimize(lack, beside, method="L-BFGS-B", bounds=LIMITS, options={"ftol": 1e-14})
        assert lack(top) <= found.fun + 1e-7
        # No component runs away, and both are not the same: there the equations are solved too, and no top is.
        assert np.exp(top[4]) < 4
        assert np.abs(top[1] - top[3]) + np.abs(top[2] - top[4]) > 1e-3


def test_a_last_digit_moves_a_top_by_a_last_digit(heavy: np.ndarray) -> None:
    noise = 1 + 1e-14 * np.random.default_rng(5).normal(size=heavy.shape)
    starts = np.repeat(START[:, None], len(heavy), axis=1)
    one, other = tops(heavy, starts)[0], tops(heavy * noise, starts * (1 + 1e-14))[0]
    assert np.abs(one - other).max() < 1e-9
