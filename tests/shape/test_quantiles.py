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


def test_few_effective_values_of_a_mixture_widen_its_intervals_steadily() -> None:
    """Of a contour that does not close, as with 5 effective values here, a search found an end 33 powers of ten away."""
    from linestudy.shape import quantile_interval

    rng = np.random.default_rng(4)
    y = np.concatenate([rng.normal(2.005, 0.005, 1500), rng.normal(2.015, 0.005, 1500)])
    mixture = fit(y, "normal mixture", with_covariance=True)
    widths = []
    for n_eff in (5, 8, 14, 16):
        one = quantile_interval(mixture, 0.5, n_eff=n_eff, values=y)
        widths.append(one.high - one.low)
    # By the root of the number of values; what the closed contour says of 16 is about the same.
    assert widths[0] == pytest.approx(widths[2] * np.sqrt(14 / 5), rel=1e-6)
    assert widths[3] == pytest.approx(widths[2], rel=0.4)
    assert widths[0] < np.ptp(y)
