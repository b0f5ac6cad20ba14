"""The top of a likelihood, brought to the root of its score.

Model: a mean log likelihood, smooth, with its slopes, over coordinates that may have ends. Newton's
method with a curvature taken from differences of the slopes (Nocedal & Wright, *Numerical Optimization*,
2nd ed., 2006, ch. 3 and 6), its step bent towards the slope while the way does not lead up, and cut where it
leaves the ends. Once near, full steps are taken until the slopes fall no further: what is left is rounding, so that the
top is the same on every processor, by every order of the sums, to a hundred millionth of its own uncertainty and better.

Misleads where the likelihood has several tops: the one that is found is that above the start. A top at an end of the
coordinates is held there, and says so.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linestudy.numerics.arrays import FloatArray

Value = Callable[[FloatArray], float]
Slopes = Callable[[FloatArray], FloatArray]

_STEPS = 300
#: Twice the gain a step promises, of the mean log likelihood, from which on full steps are taken.
_NEAR = 1e-9
#: Slopes that a top may keep, in units of the slope that costs one standard deviation of the coordinates.
_FLAT = 1e-7


@dataclass(frozen=True)
class Top:
    """Where a mean log likelihood is highest.

    Attributes
    ----------
    point : numpy.ndarray, shape (k,)
    value : float
    information : numpy.ndarray, shape (k, k)
        Minus the second derivatives; nought in the rows of coordinates that are held.
    held : numpy.ndarray of bool, shape (k,)
        Coordinates that lie at an end of their range.
    found : bool
        Whether the slopes of all others are nought and the curvature is downwards every way.
    """

    point: FloatArray
    value: float
    information: FloatArray
    held: NDArray[np.bool_]
    found: bool

    @property
    def determined(self) -> bool:
        """Whether it is a top of its own, with no coordinate held at an end."""
        return self.found and not self.held.any()


def climb(
    value: Value, slopes: Slopes, start: FloatArray, limits: Sequence[tuple[float, float]], n: float
) -> Top:
    """Walk to the top above a start.

    Parameters
    ----------
    value : callable
        Mean log likelihood at a point; minus infinity where nothing is possible.
    slopes : callable
        Its derivatives, shape (k,).
    start : numpy.ndarray, shape (k,)
        Where the value is finite; coordinates on a scale of about one.
    limits : sequence of (low, high)
        Ends of the coordinates.
    n : float
        Values behind the mean, for the steps of the last differences.

    Returns
    -------
    Top
        The point reached, and whether its slopes are nought there.

    Examples
    --------
    >>> import numpy as np
    >>> top = climb(lambda p: -float(p @ p), lambda p: -2 * p, np.ones(2), [(-9, 9)] * 2, 10)
    >>> top.point.tolist(), top.determined
    ([0.0, 0.0], True)
    """
    low, high = (np.array(side, dtype=float) for side in zip(*limits, strict=True))
    point = np.clip(np.asarray(start, dtype=float), low, high)
    here, slope = value(point), slopes(point)
    damping = 1e-3
    for _ in range(_STEPS):
        free = ~(((point <= low) & (slope < 0)) | ((point >= high) & (slope > 0)))
        if not free.any():
            break
        # On the way a rough curvature does; the last steps take a finer one.
        information = curvature(slopes, point, free, np.full(point.size, 1e-5), rough=True)
        step, promised = _step(information, slope, free, 0.0)
        if promised < _NEAR:
            return _polished(value, slopes, point, slope, limits, n)
        for _ in range(60):
            step, promised = _step(information, slope, free, damping)
            there = np.clip(point + step, low, high)
            new = value(there)
            # A hundredth of what the slope promises is the least that a step must bring.
            if np.isfinite(new) and new >= here + 0.01 * float(slope @ (there - point)) - 1e-15:
                break
            damping = max(4 * damping, 1e-6)
        else:
            break
        point, here = there, new
        slope = slopes(point)
        damping = damping / 8 if damping > 1e-8 else 0.0
        if not np.isfinite(slope).all():
            break
    return _polished(value, slopes, point, slope, limits, n)


def curvature(
    slopes: Slopes,
    point: FloatArray,
    free: NDArray[np.bool_],
    h: FloatArray,
    *,
    rough: bool = False,
) -> FloatArray:
    """Compute minus the derivatives of the slopes by central differences of fourth order.

    Parameters
    ----------
    slopes : callable
        Gives the slopes at a point.
    point : numpy.ndarray, shape (k,)
        Where to compute the curvature.
    free : numpy.ndarray of bool, shape (k,)
        Coordinates of interest; rows and columns of the others are nought.
    h : numpy.ndarray, shape (k,)
        Steps.
    rough : bool
        Differences of second order, which cost half.

    Returns
    -------
    numpy.ndarray, shape (k, k)
        Symmetric.
    """
    k = point.size
    found = np.zeros((k, k))
    for i in np.flatnonzero(free):
        move = np.zeros(k)
        move[i] = h[i]
        one = slopes(point + move) - slopes(point - move)
        if rough:
            found[i] = -one / (2 * h[i])
            continue
        two = slopes(point + 2 * move) - slopes(point - 2 * move)
        found[i] = -(8 * one - two) / (12 * h[i])
    found[:, ~free] = 0.0
    found = np.where(np.isfinite(found), found, 0.0)
    return (found + found.T) / 2


def _step(
    information: FloatArray, slope: FloatArray, free: NDArray[np.bool_], damping: float
) -> tuple[FloatArray, float]:
    """Compute a step uphill, and twice the gain it promises."""
    step = np.zeros(slope.size)
    inner = information[np.ix_(free, free)]
    values, vectors = np.linalg.eigh(inner)
    # Where the likelihood curves upwards its curvature still tells how far to go.
    size = np.maximum(np.abs(values), 1e-10 * max(float(np.abs(values).max()), 1e-10)) + damping
    along = vectors.T @ slope[free]
    step[free] = vectors @ (along / size)
    return step, float(slope @ step)


def _polished(
    value: Value,
    slopes: Slopes,
    point: FloatArray,
    slope: FloatArray,
    limits: Sequence[tuple[float, float]],
    n: float,
) -> Top:
    """Take full Newton steps until the slopes fall no further."""
    low, high = (np.array(side, dtype=float) for side in zip(*limits, strict=True))
    k = point.size
    found = False
    free = np.ones(k, dtype=bool)
    information = np.zeros((k, k))
    spread, known = np.ones(k), np.zeros(k, dtype=bool)
    left = np.inf
    for _ in range(25):
        free = ~(((point <= low) & (slope <= 0)) | ((point >= high) & (slope >= 0)))
        if not free.any():
            found = True
            break
        if not np.array_equal(free, known):
            # Differences over a share of the standard error: long enough to lose no digits to rounding.
            rough = curvature(slopes, point, free, np.full(k, 1e-4), rough=True)
            spread, known = 1 / np.sqrt(np.maximum(np.abs(np.diag(rough)), 1e-8) * n), free
        information = curvature(slopes, point, free, np.clip(0.02 * spread, 1e-5, 1e-2))
        inner = information[np.ix_(free, free)]
        # As correlations, so that a coordinate of a small unit is not taken for a flat direction.
        size = np.sqrt(np.abs(np.diag(inner)))
        if not (np.isfinite(inner).all() and (np.diag(inner) > 0).all()):
            break
        if np.linalg.eigvalsh(inner / np.outer(size, size))[0] <= 1e-10:
            break
        step = np.zeros(k)
        step[free] = np.linalg.solve(inner, slope[free])
        miss = float(slope[free] @ step[free])
        found = n * miss < _FLAT**2
        if not miss < 0.25 * left:
            break
        there = np.clip(point + step, low, high)
        fresh = slopes(there)
        if not (np.isfinite(fresh).all() and np.isfinite(value(there))):
            break
        point, slope, left = there, fresh, miss
        if miss == 0:
            break
    return Top(point, value(point), information, ~free, bool(found))
