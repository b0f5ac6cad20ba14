"""Block means and the correlation time."""

from __future__ import annotations

import numpy as np


def test_few_or_equal_values_have_no_correlation_to_spend() -> None:
    from linestudy.stability.movement.block_means import correlation_time

    assert correlation_time(np.array([1.0, 2.0, 1.0, 3.0])) == 1.0
    assert correlation_time(np.zeros(50)) == 1.0
