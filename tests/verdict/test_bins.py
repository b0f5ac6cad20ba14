"""Counts of the bins against the log: shares of any number of parts are compared."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import fisher_exact

from linestudy.verdict.gather.bins import same_share_p


@pytest.mark.parametrize(
    "counts", [(900_000, 400, 500_000, 190), (990_000, 6, 120_000, 3), (700_000, 0, 700_000, 0)]
)
def test_shares_of_a_million_parts_are_compared_as_fishers_test_would(
    counts: tuple[int, ...],
) -> None:
    table = np.array(counts, dtype=float).reshape(2, 2)
    assert same_share_p(table) == pytest.approx(fisher_exact(table)[1], rel=0.12)


def test_shares_of_any_number_of_parts_are_compared_at_once() -> None:
    assert same_share_p(np.array([[1e18, 3.0], [5e17, 1.0]])) == pytest.approx(1.0)
    assert same_share_p(np.array([[1e18, 1e16], [1e18, 3e16]])) == 0.0
    # Few expected of one kind among counts that a double does not hold one by one.
    assert 0 <= same_share_p(np.array([[9e15, 3.0], [9.1e18, 1e6]])) <= 1
