"""Exact intervals of shares against SciPy's own and the rule of three's exact form."""

from __future__ import annotations

import pytest
from scipy.stats import binomtest

from linestudy.numerics.shares import share_interval


@pytest.mark.parametrize(("count", "n"), [(0, 1), (1, 1), (0, 59), (3, 20), (59, 59), (7, 1000)])
@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.99])
def test_the_interval_is_scipys(count: int, n: int, confidence: float) -> None:
    found = share_interval(count, n, confidence)
    exact = binomtest(count, n).proportion_ci(confidence, method="exact")
    assert found.low == pytest.approx(exact.low, abs=1e-12)
    assert found.high == pytest.approx(exact.high, abs=1e-12)
    assert found.estimate == count / n


def test_none_seen() -> None:
    """With none of n the upper end solves (1 - p)**n = alpha / 2 (definition of the exact interval)."""
    for n in (10, 59, 300):
        assert (1 - share_interval(0, n, 0.95).high) ** n == pytest.approx(0.025, rel=1e-9)
