"""A bivariate normal distribution and a round zone: largest ellipse inside, share outside, pivots."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from linestudy.numerics.quadrature import legendre

#: Directions in which the zone's edge is looked at for the nearest ellipse.
_DIRECTIONS = 360
#: Sizes of the bonus that the integration distinguishes.
_BONUSES = 16
_DRAWS = 2_000


def ellipse_index(
    means: NDArray[np.float64], covariances: NDArray[np.float64], radius: float
) -> NDArray[np.float64]:
    """Compute the index from the share of the largest ellipse around the mean that a circle holds.

    Parameters
    ----------
    means : numpy.ndarray of float, shape (k, 2)
        From the centre of the circle.
    covariances : numpy.ndarray of float, shape (k, 2, 2)
    radius : float
        Of the circle, in the same unit.

    Returns
    -------
    numpy.ndarray of float, shape (k,)
        Pure numbers; 0 where the mean lies outside the circle.

    Notes
    -----
    An ellipse at Mahalanobis distance k holds ``1 - exp(-k**2 / 2)``; ISO 22514-6 (from memory).

    Examples
    --------
    >>> import numpy as np
    >>> one = np.eye(2)[None]
    >>> round(float(ellipse_index(np.zeros((1, 2)), one, 3.439)[0]), 3)
    1.0
    """
    from scipy.special import log_ndtr, ndtri_exp

    angle = np.linspace(0, 2 * np.pi, _DIRECTIONS, endpoint=False)
    edge = radius * np.stack([np.cos(angle), np.sin(angle)])
    away = edge[None] - means[:, :, None]
    precise = np.linalg.inv(covariances)
    squared = np.einsum("kia,kij,kja->ka", away, precise, away)
    # From the nearest direction Newton's method finds the least itself.
    where = angle[squared.argmin(axis=1)]
    step = 2 * np.pi / _DIRECTIONS
    for _ in range(8):
        out = np.stack([np.cos(where), np.sin(where)], axis=1)
        along = np.stack([-out[:, 1], out[:, 0]], axis=1)
        pull = np.einsum("kij,kj->ki", precise, radius * out - means)
        slope = (along * pull).sum(axis=1)
        bend = radius * np.einsum("ki,kij,kj->k", along, precise, along) - (out * pull).sum(axis=1)
        move = np.divide(slope, bend, out=np.zeros_like(slope), where=bend > 0)
        where = where - np.clip(move, -step, step)
    gap = radius * np.stack([np.cos(where), np.sin(where)], axis=1) - means
    least = np.maximum(np.einsum("ki,kij,kj->k", gap, precise, gap), 0.0)
    # Both tails of a normal value that hold what lies outside the ellipse.
    index = -ndtri_exp(np.minimum(-least / 2 - math.log(2), float(log_ndtr(0.0)))) / 3
    return np.asarray(np.where(np.hypot(*means.T) < radius, index, 0.0), dtype=float)


def share_outside(
    means: NDArray[np.float64],
    covariances: NDArray[np.float64],
    radius: float,
    nodes: int = 48,
) -> NDArray[np.float64]:
    """Compute the share of a bivariate normal distribution outside a circle around the origin.

    Parameters
    ----------
    means : numpy.ndarray of float, shape (k, 2)
    covariances : numpy.ndarray of float, shape (k, 2, 2)
    radius : float
    nodes : int
        Of the Gauss-Legendre rule in the angle.

    Returns
    -------
    numpy.ndarray of float, shape (k,)

    Notes
    -----
    Turned to the principal axes, one integral over the first coordinate of the normal share of the
    second beyond the circle's edge, plus what the first has beyond the circle.

    Examples
    --------
    >>> import numpy as np
    >>> round(float(share_outside(np.zeros((1, 2)), np.eye(2)[None], 2.0)[0]), 6)
    0.135335
    """
    from scipy.special import ndtr

    variances, turn = np.linalg.eigh(covariances)
    centre = np.einsum("kij,ki->kj", turn, means)
    # The narrower direction is integrated last, so that the integrand stays smooth in the first.
    wide, narrow = np.sqrt(variances[:, 1])[:, None], np.sqrt(variances[:, 0])[:, None]
    m_wide, m_narrow = centre[:, 1][:, None], centre[:, 0][:, None]
    at, weight = legendre(nodes)
    # Substituting u = R sin(t) takes the root out of the edge; cut where the density has vanished.
    low = np.clip((m_wide - 9 * wide) / radius, -1.0, 1.0)
    high = np.clip((m_wide + 9 * wide) / radius, -1.0, 1.0)
    first, last = np.arcsin(low), np.arcsin(high)
    half = (last - first) / 2
    t = (first + last) / 2 + half * at[None]
    u, edge = radius * np.sin(t), radius * np.cos(t)
    density = np.exp(-0.5 * ((u - m_wide) / wide) ** 2) / (wide * math.sqrt(2 * math.pi))
    beyond = ndtr((-edge - m_narrow) / narrow) + ndtr((m_narrow - edge) / narrow)
    between = (density * beyond * edge * weight[None]).sum(axis=1) * half[:, 0]
    ends = ndtr((-radius - m_wide) / wide) + ndtr((m_wide - radius) / wide)
    outside: NDArray[np.float64] = np.clip(between + ends[:, 0], 0.0, 1.0)
    return outside


def ppm_outside(
    means: NDArray[np.float64],
    covariances: NDArray[np.float64],
    radii: NDArray[np.float64],
    weights: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Compute parts per million outside circles of several radii, each with its weight."""
    total = np.zeros(len(means))
    for radius, weight in zip(radii.tolist(), weights.tolist(), strict=True):
        total += weight * share_outside(means, covariances, radius)
    return 1e6 * total


def grouped(radii: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Group radii into few, each the mean of an equal share of them."""
    groups = np.array_split(np.sort(radii), min(_BONUSES, radii.size))
    sizes = np.array([len(group) for group in groups], dtype=float)
    return np.array([group.mean() for group in groups]), sizes / sizes.sum()


def pivots(
    mean: NDArray[np.float64],
    covariance: NDArray[np.float64],
    n_eff_mean: float,
    n_eff_sd: float,
    rng: np.random.Generator,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Make draws in place of the true mean and covariance, shapes (draws, 2) and (draws, 2, 2)."""
    df = n_eff_sd - 1
    # Bartlett's factor of a Wishart matrix, all draws at once.
    lower = np.zeros((_DRAWS, 2, 2))
    lower[:, 0, 0] = np.sqrt(rng.chisquare(df, _DRAWS))
    lower[:, 1, 1] = np.sqrt(rng.chisquare(df - 1, _DRAWS))
    lower[:, 1, 0] = rng.standard_normal(_DRAWS)
    root = np.linalg.cholesky(covariance * df)
    factor = root @ np.linalg.inv(lower).transpose(0, 2, 1)
    drawn = factor @ factor.transpose(0, 2, 1)
    noise = rng.standard_normal((_DRAWS, 2, 1)) / math.sqrt(n_eff_mean)
    return mean + (factor @ noise)[:, :, 0], drawn
