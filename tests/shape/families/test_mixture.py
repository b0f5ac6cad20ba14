"""Quantiles of a mixture of two normal distributions against a root search."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import norm

from linestudy.shape.families import FAMILIES, MIXTURE


@pytest.mark.checks("quantiles of a normal mixture", source="SciPy: brentq on norm.cdf")
@pytest.mark.parametrize("second", [(0.5, 0.2), (4.0, 1.0), (40.0, 0.1)])
def test_quantiles_are_those_of_a_root_search(second: tuple[float, float]) -> None:
    mean, sd = second
    c = [0.7, 0.0, 0.0, mean, math.log(sd)]
    share = 1 / (1 + math.exp(-0.7))

    def below(x: float) -> float:
        return share * norm.cdf(x) + (1 - share) * norm.cdf((x - mean) / sd)

    for q in (1e-5, 0.00135, 0.3, 0.5, 0.7, 0.99865):
        by_search = brentq(lambda x, q=q: below(x) - q, -20, 60, xtol=1e-13)
        assert float(FAMILIES[MIXTURE].ppf(np.array(q), c)) == pytest.approx(by_search, abs=1e-9)


@pytest.mark.parametrize("name", list(FAMILIES))
def test_points_in_columns_come_into_range_one_by_one(name: str) -> None:
    """The streams of a tool draw hundreds of points of a family at once."""
    kind = FAMILIES[name]
    points = np.random.default_rng(1).normal(size=(len(kind.coordinate_kinds), 6))
    together = kind.in_range(points)
    for k in range(points.shape[1]):
        assert together[:, k] == pytest.approx(kind.in_range(points[:, k]), abs=0)
