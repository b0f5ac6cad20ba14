"""Box-Cox and Yeo-Johnson normal: the transforms of their papers by SciPy, the cut, and what a change of zero does."""

from __future__ import annotations

import numpy as np
import pytest
from family_checks import SHARES, assert_score_is_a_slope
from scipy import stats

from linestudy.shape import fit
from linestudy.shape.families import FAMILIES

BOX, YEO = FAMILIES["Box-Cox normal"], FAMILIES["Yeo-Johnson normal"]


@pytest.mark.parametrize("power", [-2.5, -0.7, -0.2, 0.4, 1.5])
def test_the_cut_of_a_box_cox_normal_is_that_of_scipys_truncated_normal(power: float) -> None:
    spread = 0.3
    p = np.array([np.log(2.0), np.log(spread), power])
    end = 1 / (abs(power) * spread)
    cut = stats.truncnorm(-end, np.inf) if power > 0 else stats.truncnorm(-np.inf, end)
    x = np.array([1.0, 1.6, 2.0, 2.4, 3.5])
    z = ((x / 2.0) ** power - 1) / (power * spread)
    kind = FAMILIES["Box-Cox normal"]
    lower, upper = kind.cdf(x, p), kind.sf(x, p)
    assert lower == pytest.approx(cut.cdf(z), rel=1e-9, abs=1e-15)
    assert upper == pytest.approx(cut.sf(z), rel=1e-9, abs=1e-15)


@pytest.mark.parametrize("power", [-2.0, -0.3, 0.0, 0.5, 2.0])
def test_a_box_cox_normal_is_a_distribution_whose_density_is_its_slope(power: float) -> None:
    at = np.array([np.log(3.0), np.log(0.25), power])
    assert BOX.parameters(at) == pytest.approx([3.0, 0.25, power])
    assert BOX.coordinates(BOX.parameters(at)) == pytest.approx(at)
    x = BOX.ppf(SHARES, at)
    assert BOX.cdf(x, at) == pytest.approx(SHARES, rel=1e-6)
    assert BOX.sf(x, at) == pytest.approx(1 - SHARES, rel=1e-6)
    inner = x[2:6]
    slope = (BOX.cdf(inner + 1e-5, at) - BOX.cdf(inner - 1e-5, at)) / 2e-5
    assert np.exp(BOX.logpdf(inner, at)) == pytest.approx(slope, rel=1e-6)
    assert_score_is_a_slope(BOX, inner, at)


@pytest.mark.checks(
    "tails of a normal cut at an end", source="SciPy: truncnorm.logcdf, truncnorm.logsf"
)
@pytest.mark.parametrize("power", [1.0, -1.0])
def test_a_cut_tail_keeps_its_digits_to_the_end(power: float) -> None:
    # Cut five standard deviations out: 2.9e-7 of the uncut normal are gone, and the share beyond the value
    # is what lies between the value and the cut.
    at = np.array([0.0, np.log(0.2), power])
    z = np.array([-4.99999, -4.999, -4.9])
    theirs = np.exp(stats.truncnorm(-5.0, np.inf).logcdf(z))
    t = 1 + 0.2 * z
    found = BOX.cdf(t, at) if power > 0 else BOX.sf(1 / t, at)
    assert found == pytest.approx(theirs, rel=1e-8)


def test_power_nought_is_the_lognormal_and_power_one_the_cut_normal() -> None:
    x = np.array([0.5, 1.0, 2.2])
    log = BOX.logpdf(x, np.array([0.2, np.log(0.3), 0.0]))
    assert log == pytest.approx(stats.lognorm(0.3, scale=np.exp(0.2)).logpdf(x), rel=1e-8)
    straight = BOX.logpdf(x, np.array([0.2, np.log(0.3), 1.0]))
    m = np.exp(0.2)
    cut = stats.truncnorm(-1 / 0.3, np.inf, loc=m, scale=0.3 * m)
    assert straight == pytest.approx(cut.logpdf(x), rel=1e-9)


def test_a_box_cox_normal_without_room_for_one_deviation_is_refused() -> None:
    assert BOX.degenerate([0.0, np.log(0.5), 1.9]) is None
    said = BOX.degenerate([0.0, np.log(0.5), 2.1])
    assert said is not None
    assert "one standard deviation of the median" in said


def test_no_value_lies_at_or_below_the_bound_of_box_and_cox() -> None:
    at = np.array([0.0, np.log(0.3), 0.5])
    with np.errstate(all="ignore"):
        assert BOX.logpdf(np.array([-1.0, 0.0]), at).tolist() == [-np.inf, -np.inf]
        assert BOX.cdf(np.array([-1.0, 0.0]), at).tolist() == [0.0, 0.0]
    assert BOX.starts(np.array([0.0, 1.0]), np.ones(2)) == []


@pytest.mark.checks("Yeo and Johnson's transform", source="SciPy: yeojohnson")
@pytest.mark.parametrize("power", [0.05, 0.7, 1.0, 1.4, 1.95])
def test_yeo_and_johnsons_transform_is_scipys_on_both_sides(power: float) -> None:
    at = YEO.coordinates([2.0, 0.1, power])
    assert YEO.parameters(at) == pytest.approx([2.0, 0.1, power])
    x = np.array([1.5, 1.9, 1.999, 2.0, 2.05, 2.6])
    z = stats.yeojohnson((x - 2.0) / 0.1, power)
    assert YEO.cdf(x, at) == pytest.approx(stats.norm.cdf(z), rel=1e-9)
    assert YEO.sf(x, at) == pytest.approx(stats.norm.sf(z), rel=1e-9)
    assert YEO.cdf(YEO.ppf(SHARES, at), at) == pytest.approx(SHARES, rel=1e-7)
    assert_score_is_a_slope(YEO, np.array([1.8, 1.97, 2.03, 2.3]), at)


def test_yeo_and_johnsons_median_is_a_parameter_whatever_the_zero() -> None:
    y = np.random.default_rng(3).gamma(4.0, 1.0, 300)
    one, far = fit(y, YEO.name), fit(0.01 * y - 70.0, YEO.name)
    assert far.parameters["power"] == pytest.approx(one.parameters["power"], abs=1e-5)
    assert far.parameters["median"] == pytest.approx(0.01 * one.parameters["median"] - 70.0)
    assert float(one.ppf([0.5])[0]) == pytest.approx(one.parameters["median"])
