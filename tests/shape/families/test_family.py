"""What all families share: units, moments, series without loss of digits, the search of quantiles."""

from __future__ import annotations

import math
from decimal import Decimal, localcontext

import numpy as np
import pytest
from scipy import stats

from linestudy.shape.families import FAMILIES
from linestudy.shape.families.family import (
    HALF_LOG_2PI,
    centre_and_reach,
    log1p_less,
    moments,
    moved,
    quantiles,
    stirling,
)


@pytest.mark.parametrize("name", FAMILIES)
def test_names_letters_and_limits_are_as_many_as_the_parameters(name: str) -> None:
    kind = FAMILIES[name]
    k = len(kind.names)
    assert len(kind.kinds) == len(kind.coordinate_kinds) == len(kind.limits) == k
    assert set(kind.kinds + kind.coordinate_kinds) <= set("psln")
    assert kind.name == name


@pytest.mark.parametrize("name", list(FAMILIES))
def test_another_unit_moves_the_quantiles_with_it(name: str) -> None:
    kind = FAMILIES[name]
    at = np.array([0.4] * len(kind.names))
    shift = 0.0 if kind.from_bound else 3.0
    q = np.array([0.01, 0.5, 0.99])
    there = kind.ppf(q, moved(at, kind.coordinate_kinds, shift, 25.4))
    assert there == pytest.approx(kind.ppf(q, at) * 25.4 + shift, rel=1e-9)
    # The parameters change by their own letters, to the same.
    parameters = moved(kind.parameters(at), kind.kinds, shift, 25.4)
    assert parameters == pytest.approx(
        kind.parameters(moved(at, kind.coordinate_kinds, shift, 25.4)), rel=1e-9
    )


def test_moments_are_scipys_and_an_offset_costs_no_more_than_its_own_digits() -> None:
    x = np.array([0.0, 1.0, 2.0, 7.0])
    w = np.array([3.0, 1.0, 4.0, 2.0])
    every = np.repeat(x, w.astype(int))
    expected = [every.mean(), every.std(), stats.skew(every)]
    assert moments(x, w) == pytest.approx(expected, rel=1e-14)
    far = moments(x + 1e8, w)
    assert far[1:] == pytest.approx(expected[1:], rel=1e-8)  # 1e8 is given to 1e-8
    assert moments(np.array([2.0]), np.array([5.0])) == (2.0, 0.0, 0.0)


def test_the_reach_of_normal_scores_is_one_standard_deviation() -> None:
    x = stats.norm(5, 2).ppf((np.arange(2000) + 0.5) / 2000)
    assert centre_and_reach(x, np.ones(2000)) == pytest.approx((3.0, 5.0, 7.0), abs=1e-3)
    # Weights count: nine tenths of the values are nought.
    assert centre_and_reach(np.array([0.0, 1.0]), np.array([9.0, 1.0]))[1] < 0.2


@pytest.mark.checks("log(1 + y) - y", source="Python: decimal, 50 digits")
@pytest.mark.parametrize(
    "y", [-0.999, -0.5, -0.2001, -0.1999, -1e-3, -1e-9, 1e-12, 1e-5, 0.1999, 0.2001, 3.0, 1e6]
)
def test_the_logarithm_less_its_argument_keeps_its_digits(y: float) -> None:
    with localcontext() as context:
        context.prec = 50
        exact = float((1 + Decimal(y)).ln() - Decimal(y))
    assert float(log1p_less(y)) == pytest.approx(exact, rel=2e-14)


def test_it_is_nought_at_nought_and_minus_infinity_at_the_end() -> None:
    assert log1p_less(0.0) == 0
    assert log1p_less(-1.0) == -math.inf


@pytest.mark.checks(
    "remainder of Stirling's formula", source="Python: factorials in decimal, 60 digits"
)
@pytest.mark.parametrize("a", [1, 2, 5, 14, 15, 16, 40, 1000])
def test_stirlings_remainder_is_that_of_a_factorial(a: int) -> None:
    with localcontext() as context:
        context.prec = 60
        pi = Decimal("3.14159265358979323846264338327950288419716939937510")
        d = Decimal(a)
        formula = (d - Decimal("0.5")) * d.ln() - d + (2 * pi).ln() / 2
        exact = float(Decimal(math.factorial(a - 1)).ln() - formula)
    found, slope = stirling(float(a))
    assert float(found) == pytest.approx(exact, rel=2e-10)
    h = 1e-4 * a
    numerical = (stirling(a + h)[0] - stirling(a - h)[0]) / (2 * h)
    # Differences of the remainder below 15 are known to eight digits.
    assert float(slope) == pytest.approx(float(numerical), rel=2e-6)
    assert pytest.approx(0.5 * math.log(2 * math.pi)) == HALF_LOG_2PI


def test_searched_quantiles_are_those_of_the_formula() -> None:
    kind = FAMILIES["normal"]
    q = np.array([1e-12, 1e-6, 0.2, 0.5, 0.8, 1 - 1e-6])
    c = [3.0, math.log(0.1)]
    exact = kind.ppf(q, c)
    # Wide ends, and ends that are the quantile itself.
    assert quantiles(kind, q, c, exact - 2, exact + 3, 0.1) == pytest.approx(exact, rel=1e-13)
    assert quantiles(kind, q, c, exact, exact, 0.1) == pytest.approx(exact, rel=1e-13)


def test_coordinates_come_back_into_the_limits_and_scales_do_not() -> None:
    kind = FAMILIES["gamma"]
    low, high = kind.limits[0]
    assert kind.in_range([99.0, 99.0]).tolist() == [high, 99.0]
    assert kind.in_range([[-99.0, 0.0], [-99.0, 1.0]]).tolist() == [[low, 0.0], [-99.0, 1.0]]


def test_the_likeliest_of_some_coordinates_and_none_where_none_is_possible() -> None:
    kind = FAMILIES["gamma with threshold"]
    x = np.array([1.0, 2.0, 3.0, 5.0])
    near, off = [2.5, 0.0, 0.5], [9.0, 0.0, 0.5]
    impossible = [50.0, 0.0, 1.5]  # begins above all values
    assert kind.likeliest([off, near, impossible], x, np.ones(4)) == [near]
    assert kind.likeliest([impossible], x, np.ones(4)) == []


@pytest.mark.parametrize("name", [n for n, kind in FAMILIES.items() if kind.bend is not None])
def test_straighter_is_nearer_to_the_familys_limit(name: str) -> None:
    kind = FAMILIES[name]
    at = np.array([0.0, 0.0, 0.5, 0.3][: len(kind.names)])
    less = kind.straighter(at)
    assert less[kind.bend] < at[kind.bend]
    assert np.delete(less, kind.bend).tolist() == np.delete(at, kind.bend).tolist()


@pytest.mark.parametrize("name", ["normal", "Weibull", "Johnson S_B", "Yeo-Johnson normal"])
def test_random_values_follow_the_family(name: str) -> None:
    kind = FAMILIES[name]
    at = np.array([0.4] * len(kind.names))
    drawn = kind.rvs(400, at, np.random.default_rng(5))
    assert stats.kstest(drawn, lambda x: kind.cdf(x, at)).pvalue > 0.01
