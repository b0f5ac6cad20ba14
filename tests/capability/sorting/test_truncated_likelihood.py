"""A truncated normal distribution: the maximum is that of SciPy's likelihood."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import truncnorm

from linestudy.capability.sorting.truncated_likelihood import TruncatedFit, range_of


@pytest.mark.checks("maximum likelihood of a truncated normal", source="SciPy: truncnorm")
def test_the_maximum_is_that_of_scipys_truncated_normal() -> None:
    x = np.random.default_rng(1).normal(10, 1, 3000)
    y = np.sort(x[(x > 8.8) & (x < 11.3)])

    def down(p: np.ndarray) -> float:
        mean, sd = p[0], np.exp(p[1])
        law = truncnorm((8.8 - mean) / sd, (11.3 - mean) / sd, mean, sd)
        return -float(law.logpdf(y).sum())

    theirs = minimize(
        down, [10.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-9}
    )
    ours = TruncatedFit(y, np.ones(y.size), "normal", None, 8.8, 11.3, 0.0)
    assert ours.fitted.parameters["mean"] == pytest.approx(theirs.x[0], abs=1e-6)
    assert ours.fitted.parameters["sd"] == pytest.approx(np.exp(theirs.x[1]), abs=1e-6)
    assert ours.best == pytest.approx(theirs.fun, abs=1e-6)


def test_half_the_sample_gives_wider_ends() -> None:
    x = np.random.default_rng(2).normal(0, 1, 4000)
    y = np.sort(x[np.abs(x) < 1.5])
    fitted = TruncatedFit(y, np.ones(y.size), "normal", None, -1.5, 1.5, 0.0)
    one, two = (range_of(fitted, [lambda f: f.parameters["sd"]], s, 0.95) for s in (1.0, 0.25))
    assert two.half_width == pytest.approx(2 * one.half_width, rel=0.1)
    assert one.estimate == two.estimate
