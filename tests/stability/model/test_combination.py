"""Cauchy's combination of p-values, against SciPy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.stability.model.combination import combined


def test_cauchys_combination() -> None:
    # One p-value is itself; SciPy's Cauchy distribution gives the rest.
    assert combined([0.03]) == pytest.approx(0.03)
    p = [0.2, 0.001, 0.6]
    statistic = np.mean(np.tan((0.5 - np.array(p)) * np.pi))
    assert combined(p) == pytest.approx(stats.cauchy.sf(statistic))
    assert combined([1e-30, 0.5]) == pytest.approx(2e-30, rel=1e-6)
    assert combined(p, [1.0, 3.0, 1.0]) == pytest.approx(combined([0.2, 0.001, 0.001, 0.001, 0.6]))
