"""Exact intervals of shares against SciPy's own and the rule of three's exact form."""

from __future__ import annotations

import pytest
from scipy.stats import binomtest

from linestudy.numerics.shares import clustered_share, share_interval


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


def test_a_share_in_clusters_of_one_is_clopper_pearson() -> None:
    # SciPy's exact interval.
    from scipy.stats import binomtest

    found = clustered_share([1] * 4 + [0] * 26, [1] * 30)
    exact = binomtest(4, 30).proportion_ci(0.95, "exact")
    assert (found.low, found.high) == pytest.approx((exact.low, exact.high))


def test_a_share_in_clusters_lies_between_that_of_items_and_that_of_clusters() -> None:
    from scipy.stats import binomtest

    alike = clustered_share([3] * 6 + [0] * 24, [3] * 30)
    clusters = binomtest(6, 30).proportion_ci(0.95, "exact")
    assert alike.high == pytest.approx(clusters.high, abs=0.02)
    spread = clustered_share([1] * 18 + [0] * 12, [3] * 30)
    items = binomtest(18, 90).proportion_ci(0.95, "exact")
    assert items.high < spread.high < clusters.high
    assert clustered_share([0] * 30, [3] * 30).high == pytest.approx(
        binomtest(0, 30).proportion_ci(0.95, "exact").high
    )
