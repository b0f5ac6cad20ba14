"""Intervals of quantiles follow unit and sample size."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.results import CannotJudge
from linestudy.shape import fit

RNG = np.random.default_rng(12)


_ODD = np.random.default_rng(0)


ODD: dict[str, tuple[np.ndarray, float | None]] = {
    "one huge outlier": (np.append(_ODD.normal(5, 1, 500), 1e6), None),
    "two values": (np.array([1.0, 2.0] * 50), None),
    "three values": (np.repeat([1.0, 2.0, 3.0], 20), None),
    "ten values": (_ODD.normal(size=10), None),
    "tiny unit": (1e-12 * _ODD.normal(5, 1, 100), None),
    "far from zero": (1e12 + _ODD.normal(5, 1, 100), None),
    "even": (_ODD.random(2000), None),
    "Cauchy": (_ODD.standard_cauchy(1000), None),
    "mostly one value": (np.concatenate([np.zeros(400), _ODD.normal(size=20)]), None),
    "begins at once": (_ODD.exponential(1, 3000), None),
    "readings at the bound": (np.abs(_ODD.normal(0, 0.003, 300)).round(3), 0.0),
    "bound below zero": (_ODD.gamma(2, 1, 100) - 5, -5.0),
}


@pytest.mark.parametrize("family", ["normal", "gamma with threshold", "Johnson S_U"])
def test_quantile_intervals_shrink_and_follow_the_unit(family: str) -> None:
    from linestudy.shape import quantile_interval

    y = 5 + 0.3 * np.random.default_rng(12).gamma(6, 1, 400)
    one = quantile_interval(fit(y, family, with_covariance=True), 0.99865)
    inch = quantile_interval(fit(y / 25.4, family, with_covariance=True), 0.99865)
    assert [inch.low * 25.4, inch.high * 25.4] == pytest.approx([one.low, one.high], rel=2e-3)
    worth = quantile_interval(fit(y, family, with_covariance=True), 0.99865, n_eff=100)
    assert worth.high - worth.low == pytest.approx(2 * (one.high - one.low), rel=0.5)
    with pytest.raises(CannotJudge, match="no covariance"):
        quantile_interval(fit(y, family), 0.5)
