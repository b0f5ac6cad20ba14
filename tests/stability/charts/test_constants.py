"""Constants of charts against the tables of ASTM MNL 7 and against SciPy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import chi2, norm, studentized_range

from linestudy.stability.charts import constants as k

#: ASTM MNL 7 (any edition) and every textbook table, n = 2 … 10.
D2 = [1.128, 1.693, 2.059, 2.326, 2.534, 2.704, 2.847, 2.970, 3.078]
D3 = [0.853, 0.888, 0.880, 0.864, 0.848, 0.833, 0.820, 0.808, 0.797]
C4 = [0.7979, 0.8862, 0.9213, 0.9400, 0.9515, 0.9594, 0.9650, 0.9693, 0.9727]
#: Factors for charts, ASTM MNL 7 table 6 (from memory), n = 2 … 6.
D4 = [3.267, 2.575, 2.282, 2.114, 2.004]
B4 = [3.267, 2.568, 2.266, 2.089, 1.970]


@pytest.mark.checks(
    "d2, d3, c4", source="ASTM MNL 7, table of control-chart constants", memory=True
)
@pytest.mark.parametrize("n", range(2, 11))
def test_constants_round_to_the_table(n: int) -> None:
    assert k.d2(n) == pytest.approx(D2[n - 2], abs=5.1e-4)
    assert k.d3(n) == pytest.approx(D3[n - 2], abs=5.1e-4)
    assert k.c4(n) == pytest.approx(C4[n - 2], abs=5.1e-5)


@pytest.mark.parametrize("n", range(2, 7))
def test_factors_round_to_the_table(n: int) -> None:
    low, centre, high = k.range_limits(n)
    assert low == 0
    assert high / centre == pytest.approx(D4[n - 2], abs=1.1e-3)
    low, centre, high = k.sd_limits(n)
    assert high / centre == pytest.approx(B4[n - 2], abs=1.1e-3)


def test_closed_forms_of_two_and_three() -> None:
    assert k.d2(2) == pytest.approx(2 / math.sqrt(math.pi), rel=1e-12)
    assert k.d3(2) == pytest.approx(math.sqrt(2 - 4 / math.pi), rel=1e-12)
    assert k.d2(3) == pytest.approx(3 / math.sqrt(math.pi), rel=1e-12)


@pytest.mark.checks("distribution of the range", source="SciPy: studentized range")
@pytest.mark.parametrize("n", [2, 5, 20, 200])
def test_range_distribution_is_that_of_scipy(n: int) -> None:
    # The studentized range with endless degrees of freedom is the range.
    width = np.array([0.5, 1.5, 3.0, 4.5, 6.0])
    expected = studentized_range.cdf(width, n, np.inf)
    assert k.range_cdf(width, n) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("n", [2, 5, 10])
def test_probability_limits_leave_what_they_say(n: int) -> None:
    low, high = k.range_probability_limits(n, false_rate=0.002)
    assert k.range_cdf(low, n) == pytest.approx(0.001, rel=1e-6)
    assert 1 - k.range_cdf(high, n) == pytest.approx(0.001, rel=1e-6)
    low, high = k.sd_probability_limits(n, false_rate=0.002)
    assert chi2.sf((n - 1) * high**2, n - 1) == pytest.approx(0.001, rel=1e-9)


def test_median_of_one_two_three() -> None:
    assert k.median_sd(1) == pytest.approx(1, rel=1e-12)
    assert k.median_sd(2) == pytest.approx(math.sqrt(0.5), rel=1e-10)
    # Kendall & Stuart: variance of the median of three is 1 - sqrt(3) / pi.
    assert k.median_sd(3) == pytest.approx(math.sqrt(1 - math.sqrt(3) / math.pi), rel=1e-10)


@pytest.mark.parametrize("n", [4, 7, 40, 1000])
def test_median_against_simulation_of_order_statistics(n: int) -> None:
    # Middle uniform order statistics are beta distributed; mapped to the normal.
    rng = np.random.default_rng(n)
    sample = np.sort(rng.normal(size=(4000, n)), axis=1) if n < 100 else None
    if sample is not None:
        drawn = np.median(sample, axis=1)
    else:
        half = n // 2
        lower = rng.beta(half, n - half + 1, 200_000)
        upper = lower + (1 - lower) * rng.beta(1, n - half, 200_000)
        drawn = (norm.ppf(lower) + norm.ppf(upper)) / 2
    error = drawn.std() / math.sqrt(2 * drawn.size)
    assert abs(drawn.std() - k.median_sd(n)) < 4 * error


@pytest.mark.parametrize("n", [100, 1000, 10_000])
def test_large_subgroups(n: int) -> None:
    assert k.c4(n) == pytest.approx(1 - 1 / (4 * n) - 7 / (32 * n**2), abs=2e-6 / n * 100)
    assert k.d2(n) > k.d2(n - 1)
    assert k.median_sd(n) * math.sqrt(2 * n / math.pi) == pytest.approx(1, abs=1 / n)


def test_too_small() -> None:
    for function in (k.d2, k.d3, k.c4):
        with pytest.raises(ValueError):
            function(1)
    with pytest.raises(ValueError):
        k.median_sd(0)
