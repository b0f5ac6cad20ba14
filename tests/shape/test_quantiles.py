"""Intervals of quantiles follow unit and sample size."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.results import CannotJudge
from linestudy.shape import fit

RNG = np.random.default_rng(12)


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
