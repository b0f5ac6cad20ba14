"""Student's t folded at a bound: the magnitude of an error, with a tail of any weight.

Model: ``bound + |location + scale * T(df)|``. The folded normal is the case of infinitely many
degrees of freedom, the half-normal and half-t that of location 0. The family is followed over a
grid of 1/df and of location over scale, and over a finer one where the likelihood is not lost; at each point only the scale is fitted, by a parabola
through the log-likelihood on two grids of its logarithm, the second a sixth as wide as the first
(the vertex is then right to about a thousandth). At a fixed point the curvature of that parabola is
the scale's variance, and all quantiles move with it. It misleads where readings of a magnitude
scatter about the bound because the gauge does.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from linestudy.numerics.arrays import FloatArray
from linestudy.tails.candidate import QUANTILES, Candidate, anderson_darling, step_edges

_Settings = tuple[FloatArray, FloatArray, FloatArray, FloatArray]

_INVERSE = np.array([0.0, 0.03, 0.06, 0.09, 0.125, 0.16, 0.2, 0.25, 0.31, 0.38, 0.46])
_RATIO = np.array([0.0, 0.5, 0.9, 1.3, 1.8, 2.4, 3.2])
#: Points of the finer grid along either, where the likelihood is not lost, and the deviance up to which it is not.
_FINE, _LOST = (11, 7), 12.0
_MOST = 400


def _settings(inverse: FloatArray, ratio: FloatArray) -> _Settings:
    """Compute everything about settings of the shape that does not depend on the values."""
    from scipy.special import gammaln

    df = 1 / np.maximum(inverse, 1e-9)
    constant = gammaln((df + 1) / 2) - gammaln(df / 2) - 0.5 * np.log(df * np.pi)
    constant = np.where(inverse == 0, -0.5 * np.log(2 * np.pi), constant)
    return df, ratio, constant, _unit_quantiles(df, ratio)


def _unit_quantiles(df: FloatArray, ratio: FloatArray) -> FloatArray:
    """Find quantiles of |ratio + T|, by halving."""
    from scipy.special import stdtr

    low = np.zeros((df.size, 3))
    high = np.full((df.size, 3), 200.0)
    v, r = df[:, None], ratio[:, None]
    for _ in range(52):
        middle = (low + high) / 2
        # Beyond, where shares are small, less is lost than below.
        far = stdtr(v, r - middle) + stdtr(v, -r - middle) > 1 - np.array(QUANTILES)
        low, high = np.where(far, middle, low), np.where(far, high, middle)
    return np.asarray((low + high) / 2, dtype=float)


@lru_cache(maxsize=1)
def _table() -> _Settings:
    """Return settings of the coarse grid."""
    inverse, ratio = (grid.ravel() for grid in np.meshgrid(_INVERSE, _RATIO, indexing="ij"))
    return _settings(inverse, ratio)


def _finer(deviance: FloatArray) -> _Settings:
    """Return settings of a finer grid about those of the coarse one that are not negligible."""
    near = np.flatnonzero(deviance <= _LOST)
    axes = []
    for grid, at, points in zip(
        (_INVERSE, _RATIO), np.unravel_index(near, (_INVERSE.size, _RATIO.size)), _FINE, strict=True
    ):
        first, last = max(at.min() - 1, 0), min(at.max() + 1, grid.size - 1)
        axes.append(np.linspace(grid[first], grid[last], points))
    inverse, ratio = (grid.ravel() for grid in np.meshgrid(*axes, indexing="ij"))
    return _settings(inverse, ratio)


def fit_folded_t(x: Any, w: Any, bound: float) -> Candidate | None:
    """Fit a folded t, along its degrees of freedom and its location.

    Parameters
    ----------
    x, w : numpy.ndarray, shape (k,)
        Different values, ascending, and how often each occurs.
    bound : float
        Where the values are folded.

    Returns
    -------
    Candidate or None
        None where a value lies below the bound.

    Examples
    --------
    >>> import numpy as np
    >>> x = np.sort(np.abs(np.random.default_rng(1).standard_normal(500)))
    >>> fit_folded_t(x, np.ones(500), 0.0).name.startswith("folded")
    True
    """
    from scipy.special import stdtr

    if x[0] < bound:
        return None
    n = float(w.sum())
    scale0 = float(np.sqrt(w @ (x - bound) ** 2 / n))
    z, c = _gathered((x - bound) / scale0, w)
    top, _, _ = _scales(z, c, _table())
    settings = _finer(2 * (top.max() - top))
    top, log_s, curve = _scales(z, c, settings)
    df, ratio, _, unit = settings
    loglik = top - n * np.log(scale0)
    best = int(loglik.argmax())
    scale = scale0 * np.exp(log_s)
    quantiles = bound + scale[:, None] * unit
    reach = quantiles - bound
    cov = reach[:, :, None] * reach[:, None, :] / curve[:, None, None]

    def both(value: Any) -> tuple[Any, Any]:
        y = np.maximum((np.asarray(value, dtype=float) - bound) / scale[best], 0.0)
        below, above = -y - ratio[best], y - ratio[best]
        return (
            stdtr(df[best], above) - stdtr(df[best], below),
            stdtr(df[best], -above) + stdtr(df[best], below),
        )

    return Candidate(
        "folded normal" if df[best] > 1e6 else f"folded t with {df[best]:.3g} df",
        round(n),
        float(loglik[best]),
        3,
        quantiles,
        cov,
        2 * (loglik[best] - loglik),
        best,
        lambda v: both(v)[0],
        lambda v: both(v)[1],
        anderson_darling(w, both(step_edges(x))[0]),
        "upper",
    )


def _scales(
    z: FloatArray, c: FloatArray, settings: _Settings
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Find the greatest likelihood over the scale at each setting, that scale's logarithm, and the curvature there."""
    df, ratio, constant, unit = settings
    # Start where the median is right.
    middle = float(np.interp(c.sum() / 2, np.cumsum(c), z))
    log_s = np.log(max(middle, 1e-6) / unit[:, 1])
    top, curve = np.zeros(df.size), np.full(df.size, 2.0)
    for width in (0.25, 0.04):
        offsets = width * np.arange(-2, 3)
        ll = np.stack([_loglik(z, c, df, ratio, constant, log_s + d) for d in offsets])
        at = np.clip(ll.argmax(axis=0), 1, 3)
        pick = np.arange(df.size)
        lo, mid, hi = ll[at - 1, pick], ll[at, pick], ll[at + 1, pick]
        bend = np.maximum(2 * mid - lo - hi, 1e-9)
        step = np.clip((hi - lo) / (2 * bend), -1.5, 1.5)
        log_s = log_s + offsets[at] + width * step
        top = mid + (hi - lo) * step / 2 - bend * step**2 / 2
        curve = bend / width**2
    return top, log_s, curve


def _gathered(z: Any, w: Any) -> tuple[Any, Any]:
    """Group values in at most a few hundred cells, finest where values lie thick."""
    if z.size <= _MOST:
        return z, w
    cell = (np.cumsum(w) - w / 2) / w.sum() * (_MOST - 100)
    # The outer values stay single: they know the tail.
    cell = np.where(np.arange(z.size) >= z.size - 100, 1e6 + np.arange(z.size), cell.astype(int))
    _, where = np.unique(cell, return_inverse=True)
    total = np.bincount(where, w)
    return np.bincount(where, w * z) / total, total


def _loglik(z: Any, c: Any, df: Any, ratio: Any, constant: Any, log_s: Any) -> Any:
    """Compute the log-likelihood at each point of the grid for one scale each."""
    y = z * np.exp(-log_s)[:, None]
    v, r = df[:, None], ratio[:, None]
    half = -(v + 1) / 2
    near, far = half * np.log1p((y - r) ** 2 / v), half * np.log1p((y + r) ** 2 / v)
    return np.logaddexp(near, far) @ c + c.sum() * (constant - log_s)
