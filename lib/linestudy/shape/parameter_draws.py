"""Draws from what the values leave open about the parameters of a fitted distribution."""

from __future__ import annotations

import math

import numpy as np

from linestudy.numerics.arrays import FloatArray
from linestudy.numerics.likelihood_interval import Contour
from linestudy.numerics.randomness import normal_draws
from linestudy.shape.fitting import FittedDistribution
from linestudy.shape.profile import above_bound, contour_of_counts, is_quadratic

#: Candidates that are weighed by their likelihood, and values that are looked at together.
_CANDIDATES, _BLOCK = 2_000, 2_000_000
#: Steps per standard deviation in which values are gathered before candidates are weighed.
_STEPS = 100
#: How far beyond the standard error a direction is followed, and what the candidates reach beyond the likelihood's own width.
_FAR, _WIDER = 8.0, 1.3


def draw_parameters(
    item: FittedDistribution,
    x: FloatArray,
    w: FloatArray,
    count: int,
    rng: np.random.Generator,
    *,
    n_eff: float | None = None,
) -> FloatArray:
    r"""Draw coordinates of a fitted distribution, as likely as its likelihood makes them.

    Parameters
    ----------
    item : FittedDistribution
        With the covariance of its coordinates.
    x, w : numpy.ndarray of float, shape (m,)
        Distinct values it was fitted to, ascending, and how often each occurs.
    count : int
        Draws.
    rng : numpy.random.Generator
        Source of the draws.
    n_eff : float, optional
        Effective sample size where values are serially correlated; all of them when absent.

    Returns
    -------
    numpy.ndarray of float, shape (count, k)
        Equally likely coordinates, for :meth:`FittedDistribution.with_free`.

    Notes
    -----
    Model: the family is right. Where the likelihood is quadratic, draws come from the normal
    distribution that its curvature gives. Where it is not (the mean of a folded normal near zero,
    whose curvature vanishes there and whose normal approximation reaches to anywhere), candidates from
    a wider distribution, Student's t with four degrees of freedom about the maximum, its scales the
    distances at which the likelihood itself has fallen by a half, are weighed by

    .. math:: L(\theta)^{n_\mathrm{eff} / n} / q(\theta)

    and drawn again with these weights (sampling, importance, resampling), systematically. Misleads
    where a likelihood has several maxima far apart: only the neighbourhood of the best is seen.

    References
    ----------
    Rubin, in *Bayesian Statistics 3* (1988), 395-402; Smith & Gelfand, *American Statistician* 46 (1992),
    84-88.

    Examples
    --------
    >>> from linestudy.shape import fit
    >>> y = np.sort(np.abs(np.random.default_rng(1).normal(0.02, 1, 2000)))
    >>> item = fit(y, "half-normal", 0.0, with_covariance=True)
    >>> drawn = draw_parameters(item, y, np.ones(2000), 100, np.random.default_rng(2))
    >>> bool(0.01 < np.exp(drawn[:, 0]).std() < 0.025)
    True
    """
    n = float(w.sum())
    effective = max(min(n_eff or n, n), 4.0)
    contour = contour_of_counts(item, x, w, effective, 0.95)
    widen = n / effective
    if is_quadratic(contour):
        best = np.asarray(item.free, dtype=float)
        return best + normal_draws(widen * np.asarray(item.covariance), count, rng)
    return _resampled(item, contour, *_gathered(above_bound(item, x), w), count, widen, rng)


def _resampled(
    item: FittedDistribution,
    contour: Contour,
    z: FloatArray,
    w: FloatArray,
    count: int,
    widen: float,
    rng: np.random.Generator,
) -> FloatArray:
    root = contour.root * [_reach(contour, axis, widen) for axis in np.eye(contour.root.shape[1])]
    k = root.shape[1]
    heavy = np.sqrt(4 / rng.chisquare(4, _CANDIDATES))
    u = _WIDER * rng.standard_normal((_CANDIDATES, k)) * heavy[:, None]
    points = np.array([item.kind.in_range(contour.best + root @ row) for row in u])
    # Log of the candidates' own density, up to a constant.
    own = -(4 + k) / 2 * np.log1p((u * u).sum(axis=1) / (4 * _WIDER**2))
    weight = _log_likelihood(item, points, z, w) / widen - own
    weight = np.exp(weight - weight.max())
    total = np.cumsum(weight) / weight.sum()
    chosen = np.searchsorted(total, (np.arange(count) + rng.random()) / count)
    # In an order of their own: what is drawn beside them must not go with the weights.
    order = rng.permutation(np.minimum(chosen, _CANDIDATES - 1))
    return np.asarray(points[order], dtype=float)


def _reach(contour: Contour, axis: FloatArray, widen: float) -> float:
    """Find how many standard errors lead to half a unit of log likelihood less, on the wider side of an axis."""
    reached = []
    for sign in (-1.0, 1.0):
        low, high = 0.0, _FAR * math.sqrt(widen)
        for _ in range(20):
            middle = (low + high) / 2
            down = contour.fall(contour.at(sign * middle * axis)) / widen
            low, high = (low, middle) if down > 0.5 else (middle, high)
        reached.append(low)
    return max(*reached, 1e-3)


def _log_likelihood(
    item: FittedDistribution, points: FloatArray, z: FloatArray, w: FloatArray
) -> FloatArray:
    rows = max(_BLOCK // z.size, 1)
    found = []
    with np.errstate(all="ignore"):
        for first in range(0, len(points), rows):
            c = points[first : first + rows].T[:, :, None]
            found.append(item.kind.logpdf(z[None], c) @ w)
    every = np.concatenate(found)
    return np.where(np.isfinite(every), every, -np.inf)


def _gathered(z: FloatArray, w: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Group values in steps far finer than a distribution's width, so that thousands become hundreds."""
    mean = float(w @ z / w.sum())
    step = math.sqrt(float(w @ (z - mean) ** 2 / w.sum())) / _STEPS
    _, where = np.unique(np.rint(z / step).astype(np.int64), return_inverse=True)
    total = np.asarray(np.bincount(where, w), dtype=float)
    return np.bincount(where, w * z) / total, total
