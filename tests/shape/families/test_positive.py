"""Lognormal, gamma and Weibull from a bound: SciPy's, down to the bound, and at shapes where digits cancel."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from family_checks import assert_is_scipys, assert_score_is_a_slope, assert_starts_near
from scipy import stats

from linestudy.shape import fit
from linestudy.shape.families import FAMILIES

THEIRS = {
    "lognormal": lambda a, b: stats.lognorm(b, scale=np.exp(a)),
    "gamma": lambda a, b: stats.gamma(a, scale=b),
    "Weibull": lambda a, b: stats.weibull_min(a, scale=b),
}
CASES = [
    ("lognormal", -3.0, 0.02),
    ("lognormal", 1.0, 0.9),
    ("gamma", 0.6, 2.0),
    ("gamma", 4.0, 0.003),
    ("gamma", 900.0, 1.0),
    ("Weibull", 0.7, 2.0),
    ("Weibull", 3.6, 0.01),
    ("Weibull", 40.0, 5.0),
]


@pytest.mark.checks("families that begin at a bound", source="SciPy: lognorm, gamma, weibull_min")
@pytest.mark.parametrize(("name", "first", "second"), CASES)
def test_it_is_scipys(name: str, first: float, second: float) -> None:
    kind: Any = FAMILIES[name]
    at = kind.coordinates([first, second])
    assert kind.parameters(at) == pytest.approx([first, second])
    theirs = THEIRS[name](first, second)
    assert_is_scipys(kind, at, theirs)
    assert_score_is_a_slope(kind, theirs.ppf([0.05, 0.4, 0.7, 0.97]), at)
    if first not in (0.6, 0.7):  # without a pole at the bound
        assert_starts_near(kind, theirs.ppf((np.arange(400) + 0.5) / 400), theirs)


@pytest.mark.parametrize("name", THEIRS)
def test_no_value_lies_below_the_bound(name: str) -> None:
    kind = FAMILIES[name]
    at = kind.coordinates([2.0, 0.5])
    with np.errstate(all="ignore"):
        assert kind.logpdf(np.array([-1.0, 0.0]), at).tolist() == [-np.inf, -np.inf]
        assert kind.cdf(np.array([-1.0, 0.0]), at).tolist() == [0.0, 0.0]
        assert kind.sf(np.array([-1.0, 0.0]), at).tolist() == [1.0, 1.0]
        assert kind.ppf(np.array([0.0, 1.0]), at).tolist() == [0.0, np.inf]


@pytest.mark.parametrize("name", THEIRS)
def test_what_a_subtraction_leaves_at_the_bound_is_a_value_and_no_hole(name: str) -> None:
    # 0.1 + 0.2 - 0.3 is 5.6e-17: a difference that is nought, but for its last digit.
    dust = 0.1 + 0.2 - 0.3
    kind = FAMILIES[name]
    at = kind.coordinates([1.5, 1.0])
    assert np.isfinite(kind.logpdf(np.array([dust, 1e-300]), at)).all()
    assert np.isfinite(np.array(kind.score(np.array([dust]), at))).all()
    y = np.random.default_rng(1).gamma(1.5, 1.0, 200)
    y[0] = dust
    assert np.isfinite(fit(y, name, 0.0).loglik)


def test_a_gamma_of_a_huge_shape_is_the_normal() -> None:
    # Shape 1e8: density by powers would lose eight digits. Mean 1, SD 1e-4, skewness 2e-4.
    kind = FAMILIES["gamma"]
    at = kind.coordinates([1e8, 1e-8])
    z = np.array([-1.0, 0.0, 1.0])
    found = kind.logpdf(1 + 1e-4 * z, at)
    # Edgeworth's first term: skewness / 6 times (z^3 - 3 z).
    expected = stats.norm(1, 1e-4).logpdf(1 + 1e-4 * z) + 2e-4 / 6 * (z**3 - 3 * z)
    assert found == pytest.approx(expected, abs=1e-7)


def test_the_maximum_of_a_lognormal_is_that_of_its_logarithms() -> None:
    x = np.exp(np.array([[0.0, 1.0, 2.0, 5.0]]))
    at = FAMILIES["lognormal"].closed_form(x)[:, 0]
    assert FAMILIES["lognormal"].parameters(at) == pytest.approx([2.0, np.sqrt(14 / 4)])


def test_a_lognormal_finds_no_start_at_the_bound_nor_without_spread() -> None:
    kind = FAMILIES["lognormal"]
    assert kind.starts(np.array([0.0, 1.0]), np.ones(2)) == []
    assert kind.starts(np.array([2.0]), np.array([5.0])) == []
