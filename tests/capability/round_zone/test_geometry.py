"""A bivariate normal distribution and a round zone: Rice, chi-square, counting."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import chi2, norm, rice

from linestudy.capability.round_zone.geometry import ellipse_index, share_outside

RNG = np.random.default_rng(20_26)


CENTRE = np.zeros((1, 2))


@pytest.mark.checks("share outside a round zone", source="SciPy: Rice's distribution")
@pytest.mark.parametrize("radius", [0.5, 1.0, 2.0, 4.0])
def test_round_scatter_off_centre_is_rice(radius: float) -> None:
    # SciPy: the distance of an isotropic normal point from elsewhere follows Rice's distribution.
    share = share_outside(np.array([[0.3, 0.4]]), 0.49 * np.eye(2)[None], radius)[0]
    assert share == pytest.approx(rice.sf(radius, 0.5 / 0.7, scale=0.7), rel=1e-9, abs=1e-15)


def test_scatter_in_one_direction_is_normal() -> None:
    # SciPy: with no scatter across, the zone is an interval.
    share = share_outside(CENTRE, np.diag([1.0, 1e-8])[None], 2.5)[0]
    assert share == pytest.approx(2 * norm.sf(2.5), rel=1e-6)


def test_oblique_scatter_against_counting() -> None:
    mean, covariance = np.array([0.3, -0.2]), np.array([[0.9, 0.3], [0.3, 0.2]])
    points = RNG.multivariate_normal(mean, covariance, 1_000_000)
    counted = (np.hypot(*points.T) > 1.5).mean()
    share = share_outside(mean[None], covariance[None], 1.5)[0]
    assert share == pytest.approx(counted, abs=4 * np.sqrt(counted / 1e6))


def test_index_of_a_round_scatter_by_chi_square() -> None:
    # SciPy: the circle of radius k holds chi2(2).cdf(k**2); the index is that of a normal value
    # with both limits where they leave as much.
    for k in (1.0, 3.0, 5.0):
        beyond = chi2.sf(k * k, 2)
        expected = norm.isf(beyond / 2) / 3
        found = ellipse_index(CENTRE, np.eye(2)[None], k)[0]
        assert found == pytest.approx(expected, rel=1e-10)


def test_nearest_ellipse_against_a_fine_search() -> None:
    mean, covariance = np.array([0.4, 0.1]), np.array([[1.0, 0.6], [0.6, 0.9]])
    angle = np.linspace(0, 2 * np.pi, 2_000_001)
    away = 3.0 * np.stack([np.cos(angle), np.sin(angle)]) - mean[:, None]
    least = np.einsum("ia,ij,ja->a", away, np.linalg.inv(covariance), away).min()
    expected = norm.isf(np.exp(-least / 2) / 2) / 3
    assert ellipse_index(mean[None], covariance[None], 3.0)[0] == pytest.approx(expected, rel=1e-6)


def test_mean_outside_the_zone_has_no_index() -> None:
    assert ellipse_index(np.array([[2.0, 0.0]]), np.eye(2)[None], 1.0)[0] == 0.0
