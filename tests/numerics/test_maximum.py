"""The top of a likelihood and the ends of a likelihood interval, against formulas."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import rosen, rosen_der

from linestudy.numerics.likelihood_interval import Contour, extremes
from linestudy.numerics.maximum import climb
from linestudy.shape import fit
from linestudy.shape.profile import contour_of, is_quadratic


def test_a_bent_valley_is_climbed_to_its_end() -> None:
    # Rosenbrock's function, SciPy's: least at one in every coordinate.
    top = climb(
        lambda p: -float(rosen(p)),
        lambda p: -rosen_der(p),
        np.array([-1.2, 1.0, 0.7]),
        [(-9, 9)] * 3,
        10,
    )
    assert top.determined
    assert top.point == pytest.approx(np.ones(3), abs=1e-12)


def test_a_top_beyond_an_end_is_held_there() -> None:
    top = climb(
        lambda p: -float((p[0] - 2) ** 2 + (p[1] - p[0]) ** 2),
        lambda p: np.array([-2 * (p[0] - 2) + 2 * (p[1] - p[0]), -2 * (p[1] - p[0])]),
        np.zeros(2),
        [(-9, 1), (-9, 9)],
        10,
    )
    assert top.point == pytest.approx([1.0, 1.0], abs=1e-12)
    assert top.held.tolist() == [True, False]
    assert top.found
    assert not top.determined


def test_what_has_no_top_is_not_called_one() -> None:
    top = climb(
        lambda p: float(p[0]), lambda p: np.ones(1), np.zeros(1), [(-math.inf, math.inf)], 9
    )
    assert not top.determined


@pytest.fixture(name="normal")
def _normal() -> tuple[np.ndarray, Contour]:
    y = np.random.default_rng(3).normal(5, 2, 40)
    return y, contour_of(fit(y, "normal", with_covariance=True), y, 40, 0.95)


def test_ends_of_a_normal_mean_are_those_of_its_formula(normal) -> None:
    # The spread following, the log likelihood of a mean m falls by n/2 log(1 + (m - mean)² / sd²).
    y, contour = normal
    reach = y.std() * math.sqrt(math.expm1(2 * contour.allowed / y.size))
    low, high = extremes([lambda c: float(c[0])], contour)
    assert (low, high) == pytest.approx((y.mean() - reach, y.mean() + reach), rel=1e-12)


def test_the_lesser_of_two_numbers_is_followed_to_its_corner(normal) -> None:
    _, contour = normal
    sides = [
        lambda c: (11.0 - c[0]) / math.exp(c[1]),
        lambda c: (c[0] + 1.0) / math.exp(c[1]),
    ]
    low, high = extremes(sides, contour)
    # Every direction of the contour looked at.
    seen = []
    for angle in np.linspace(0, 2 * math.pi, 4_001):
        direction = np.array([math.cos(angle), math.sin(angle)])
        point = contour.at(contour.edge(direction)[0] * direction)
        seen.append(min(side(point) for side in sides))
    assert low == pytest.approx(min(seen), abs=1e-6)
    assert high == pytest.approx(max(seen), abs=2e-4)
    assert high >= max(seen) - 1e-9


def test_a_likelihood_that_is_not_quadratic_is_seen() -> None:
    rng = np.random.default_rng(4)
    many = rng.normal(5, 2, 5000)
    assert is_quadratic(contour_of(fit(many, "normal", with_covariance=True), many, 5000, 0.95))
    few = rng.gamma(4, 1, 40) + 3
    item = fit(few, "lognormal with threshold", with_covariance=True)
    assert not is_quadratic(contour_of(item, few, 40, 0.95))
