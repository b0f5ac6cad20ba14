"""Tests of control whose false alarms do not hang on the shape of the values."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.stability.model.rank_tests import combined, normal_scores, steadiness, without_wear


def test_normal_scores_know_no_shape() -> None:
    y = np.random.default_rng(5).standard_t(3, 400)
    assert normal_scores(y) == pytest.approx(normal_scores(np.exp(y)))
    assert steadiness(y, np.arange(400.0), np.arange(400) // 5).p == pytest.approx(
        steadiness(np.exp(y), np.arange(400.0), np.arange(400) // 5).p
    )


def test_wear_between_named_regrinds_is_taken_off() -> None:
    order = np.arange(3000.0)
    slope = 0.004
    y = slope * (order % 1000) + np.random.default_rng(6).normal(size=3000)
    rest, per_thousand = without_wear(y, order, (1000.0, 2000.0))
    assert per_thousand == pytest.approx(4.0, abs=0.3)
    assert np.std(rest) == pytest.approx(1.0, rel=0.05)
    assert without_wear(y, order, ())[1] is None


def test_cauchys_combination() -> None:
    # One p-value is itself; SciPy's Cauchy distribution gives the rest.
    assert combined([0.03]) == pytest.approx(0.03)
    p = [0.2, 0.001, 0.6]
    statistic = np.mean(np.tan((0.5 - np.array(p)) * np.pi))
    assert combined(p) == pytest.approx(stats.cauchy.sf(statistic))
    assert combined([1e-30, 0.5]) == pytest.approx(2e-30, rel=1e-6)
