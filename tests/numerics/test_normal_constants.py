"""Constants of normal samples against SciPy's distributions and the limits they must have."""

from __future__ import annotations

import math

import pytest
from scipy.stats import chi, studentized_range

from linestudy.numerics.normal_constants import c4, d2, d2_star, d3, range_df


@pytest.mark.parametrize("n", [2, 5, 12, 25])
@pytest.mark.checks("c4", source="SciPy: mean of chi")
def test_c4_is_the_mean_of_chi(n: int) -> None:
    assert c4(n) == pytest.approx(chi(n - 1).mean() / math.sqrt(n - 1), rel=1e-12)


@pytest.mark.parametrize("n", [2, 3, 5, 10])
@pytest.mark.checks("d2, d3", source="SciPy: studentized range with known standard deviation")
def test_mean_and_spread_of_the_range(n: int) -> None:
    # With endless degrees of freedom the studentized range is the range of a standard normal sample.
    found = studentized_range(n, math.inf)
    grid = [found.sf(0.005 * (i + 0.5)) * 0.005 for i in range(2000)]
    mean = sum(grid)
    second = 2 * sum(0.005 * (i + 0.5) * share for i, share in enumerate(grid))
    assert d2(n) == pytest.approx(mean, abs=2e-5)
    assert d3(n) == pytest.approx(math.sqrt(second - mean**2), abs=5e-5)


def test_two_values_have_the_half_normal_as_range() -> None:
    assert d2(2) == pytest.approx(2 / math.sqrt(math.pi), rel=1e-12)
    assert d3(2) == pytest.approx(math.sqrt(2 - 4 / math.pi), rel=1e-9)


def test_many_ranges_come_to_the_constant_itself() -> None:
    # Duncan (1955): d2* is the root of the mean square of a mean range.
    assert d2_star(5, 1) == pytest.approx(math.hypot(d2(5), d3(5)), rel=1e-12)
    assert d2_star(5, 10_000) == pytest.approx(d2(5), abs=2e-5)
    assert range_df(5, 20) == pytest.approx(20 * range_df(5, 1), rel=0.07)
    # The range of two is exactly a chi of one degree of freedom.
    assert range_df(2, 1) == pytest.approx(1.0, rel=1e-9)
    # Bounds of the series, where it takes over: no step.
    assert range_df(5, 270) == pytest.approx(270 / 250 * range_df(5, 250), rel=1e-3)
    assert range_df(15, 1) == pytest.approx(10.77, abs=0.02)


@pytest.mark.parametrize("constant", [c4, d2, d3])
def test_one_value_has_no_spread(constant: object) -> None:
    with pytest.raises(ValueError, match="at least two values"):
        constant(1)  # type: ignore[operator]
