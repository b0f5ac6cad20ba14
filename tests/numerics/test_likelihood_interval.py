"""Ends of likelihood intervals where the contour has corners: held against geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest

from linestudy.numerics.likelihood_interval import Contour, extremes


def clipped_circle(end: float) -> Contour:
    """A circle of radius 2 whose first coordinate counts as no more than an end."""
    ends = np.array([[-np.inf, -np.inf], [end, np.inf]])

    def inside(p: np.ndarray) -> np.ndarray:
        return np.array([min(p[0], end), p[1]])

    def slopes(p: np.ndarray) -> np.ndarray:
        return -inside(p) * np.array([p[0] < end, 1.0])

    return Contour(
        np.zeros(2), lambda p: float(inside(p) @ inside(p)) / 2, slopes, np.eye(2), 2.0, ends
    )


@pytest.mark.parametrize("end", [0.1, 0.5, 1.0, 1.3])
@pytest.mark.parametrize("weight", [0.7, 1.0, 3.0])
def test_a_corner_is_reached(end: float, weight: float) -> None:
    # On the circle the greatest of w x + y lies at x = 2 w / sqrt(1 + w²), or at the end if that is less.
    x = min(end, 2 * weight / math.hypot(1, weight))
    least, greatest = extremes(
        [lambda p: weight * min(float(p[0]), end) + float(p[1])], clipped_circle(end)
    )
    assert greatest == pytest.approx(weight * x + math.sqrt(4 - x * x), abs=1e-9)
    assert least == pytest.approx(-2 * math.hypot(1, weight), abs=1e-9)


def test_a_contour_that_is_no_star() -> None:
    # A bent likelihood: the fall is that of x and of y - x², so the greatest y at x² + (y - x²)² = 4 is x² + v with
    # v² = 4 - x², and v = 1/2 there: y = 4 - 1/4 + 1/2.
    def fall(p: np.ndarray) -> float:
        return (p[0] ** 2 + (p[1] - p[0] ** 2) ** 2) / 2

    def slopes(p: np.ndarray) -> np.ndarray:
        v = p[1] - p[0] ** 2
        return -np.array([p[0] - 2 * p[0] * v, v])

    contour = Contour(np.zeros(2), fall, slopes, np.eye(2), 2.0)
    # Tilted a little, for at the top the number does not know which way to turn.
    _, greatest = extremes([lambda p: float(p[1] + 1e-6 * p[0])], contour)
    assert greatest == pytest.approx(4.25, abs=1e-5)
