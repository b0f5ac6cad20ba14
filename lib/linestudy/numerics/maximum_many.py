"""The tops of many likelihoods of one kind at once, each above its start.

Model: as in :mod:`linestudy.numerics.maximum`, for b samples side by side: Newton's method, its step bent towards the
slope and kept short while the way does not lead up, until the slopes fall no further. Every step goes uphill, and none jumps:
so the top that is reached is the one above the start, and a last digit that differs from processor to processor moves it
by a last digit. Solving the equations of the slopes from afar has no such property: they are also nought on saddles,
and as good as nought at infinity.

Misleads where a start lies as near as rounding to the watershed between two tops; nothing but chance brings that about.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

#: Of rows and of points (k, rows): mean log likelihood (rows,), its slopes (k, rows), and minus its second
#: derivatives (rows, k, k).
Landscape = Callable[[Any, Any], tuple[Any, Any, Any]]

_STEPS = 200
#: Squares of what is left of the way, in standard errors: from where on it must grow shorter with each step, and where
#: that may end.
_NEAR, _ENOUGH = 1e-6, 1e-15
#: Longest step, in units of what one value tells, and the damping at which a search is given up.
_REACH, _STUCK = 0.5, 1e8


@dataclass(frozen=True)
class _Places:
    """What the likelihoods look like about a point each."""

    value: Any
    #: (k, b); nought where a coordinate is held at its end.
    slope: Any
    #: Scales (b, k) that make the diagonal of the curvature one; its values (b, k), ascending, and vectors (b, k, k).
    scale: Any
    bent: Any
    ways: Any

    @classmethod
    def seen(cls, found: tuple[Any, Any, Any], c: Any, low: Any, high: Any) -> _Places:
        value, slope, curvature = found
        # Where nothing can be computed nothing is possible.
        sound = np.isfinite(value) & np.isfinite(slope).all(axis=0)
        sound &= np.isfinite(curvature).all(axis=(1, 2))
        every = np.arange(len(c))
        curvature = np.where(sound[:, None, None], curvature, np.eye(len(c)))
        slope = np.where(sound, slope, 0.0)
        held = ((c <= low) & (slope <= 0)) | ((c >= high) & (slope >= 0))
        slope[held] = 0.0
        curvature[(held[:, None] | held[None]).transpose(2, 0, 1)] = 0.0
        curvature[:, every, every] += held.T
        scale = np.sqrt(np.maximum(np.abs(curvature[:, every, every]), 1e-8))
        bent, ways = np.linalg.eigh(curvature / (scale[:, :, None] * scale[:, None, :]))
        return cls(np.where(sound, value, -np.inf), slope, scale, bent, ways)

    def step(self, damping: Any = 0.0) -> tuple[Any, Any]:
        """Step uphill (k, b), and twice the gain it promises: infinite where a full step leads to no top."""
        along = np.einsum("bik,ib->bk", self.ways, self.slope / self.scale.T)
        along /= np.maximum(np.abs(self.bent), 1e-10) + np.reshape(damping, (-1, 1))
        step = np.einsum("bik,bk->ib", self.ways, along)
        step /= np.maximum(np.sqrt((step * step).sum(axis=0)) / _REACH, 1.0) * self.scale.T
        promise = (self.slope * step).sum(axis=0)
        return step, np.where((self.bent[:, 0] > 1e-10) & np.isfinite(self.value), promise, np.inf)

    def of(self, rows: Any) -> _Places:
        """Return some of the samples only."""
        return _Places(
            self.value[rows],
            self.slope[:, rows],
            self.scale[rows],
            self.bent[rows],
            self.ways[rows],
        )

    def instead(self, other: _Places, rows: Any) -> _Places:
        """Return the same with some of the samples at another point."""
        wide, deep = rows[:, None], rows[:, None, None]
        return _Places(
            np.where(rows, other.value, self.value),
            np.where(rows, other.slope, self.slope),
            np.where(wide, other.scale, self.scale),
            np.where(wide, other.bent, self.bent),
            np.where(deep, other.ways, self.ways),
        )


def climb_all(
    landscape: Landscape, start: Any, limits: Sequence[tuple[float, float]], n: float
) -> tuple[Any, Any]:
    """Walk to the top above its start for each of many samples.

    Parameters
    ----------
    landscape : callable
        From row numbers (m,) and points (k, m) to the mean log likelihood of each, minus infinity where nothing is
        possible, its slopes (k, m) and minus its second derivatives (m, k, k).
    start : numpy.ndarray, shape (k, b)
        Where the values are finite; coordinates on a scale of about one.
    limits : sequence of (low, high)
        Ends of the coordinates.
    n : float
        Values behind each mean.

    Returns
    -------
    points : numpy.ndarray, shape (k, b)
    left : numpy.ndarray, shape (b,)
        Twice the log likelihood that is missing where the walk ended: nought at a top (some coordinates held at an end,
        maybe), infinite where the likelihood does not bend downwards.

    Examples
    --------
    >>> import numpy as np
    >>> def bowls(rows, c):
    ...     return -((c - rows) ** 2).sum(axis=0), 2 * (rows - c), np.tile(2 * np.eye(2), (rows.size, 1, 1))
    >>> points, left = climb_all(bowls, np.ones((2, 3)), [(-9, 1.5), (-9, 9)], 10)
    >>> points.round(9).tolist(), left.tolist()
    ([[0.0, 1.0, 1.5], [0.0, 1.0, 2.0]], [0.0, 0.0, 0.0])
    """
    low, high = (np.array(side, dtype=float)[:, None] for side in zip(*limits, strict=True))
    c = np.clip(np.array(start, dtype=float), low, high)
    rows = np.arange(c.shape[1])
    missing, damping = np.full(rows.size, np.inf), np.full(rows.size, 1e-3)
    here = _Places.seen(landscape(rows, c), c, low, high)
    for _ in range(_STEPS):
        if not rows.size:
            break
        left = here.step()[1]
        near = n * left < _NEAR
        missing[rows] = n * left
        step = here.step(np.where(near, 0.0, damping[rows]))[0]
        there = np.clip(c[:, rows] + step, low, high)
        new = _Places.seen(landscape(rows, there), there, low, high)
        # A hundredth of what the slope promises is the least that a step must bring. Near the top that is less than
        # rounding, and the way that is left must grow shorter instead.
        promise = (here.slope * (there - c[:, rows])).sum(axis=0)
        shorter, higher = (
            new.step()[1] < 0.25 * left,
            new.value >= here.value + 0.01 * promise - 1e-15,
        )
        taken = np.where(near, shorter, higher)
        ended = near & ~taken
        missing[rows[ended & (n * left < _ENOUGH)]] = 0.0
        c[:, rows[taken]] = there[:, taken]
        damping[rows] = np.where(taken, damping[rows] / 8, np.maximum(4 * damping[rows], 1e-6))
        on = ~ended & (damping[rows] < _STUCK)
        here, rows = here.instead(new, taken).of(on), rows[on]
    return c, missing
