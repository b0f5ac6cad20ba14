"""Student's t folded at a bound: the magnitude of an error, with a tail of any weight.

Model: ``bound + |location + scale * T(df)|``. The folded normal is the case of infinitely many
degrees of freedom, the half-normal and half-t that of location 0. The family is followed over a
grid of 1/df and of location over scale; at each point only the scale is fitted, by a parabola
through the log-likelihood on two grids of its logarithm, the second a sixth as wide as the first
(the vertex is then right to about a thousandth). At a fixed point the curvature of that parabola is
the scale's variance, and all quantiles move with it. It misleads where readings of a magnitude
scatter about the bound because the gauge does.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from linestudy.tails.candidate import QUANTILES, Candidate, anderson_darling, step_edges

_INVERSE = np.array([0.0, 0.04, 0.08, 0.125, 0.18, 0.25, 0.333, 0.45])
_RATIO = np.array([0.0, 0.5, 0.9, 1.3, 1.8, 2.4, 3.2])
_MOST = 400


@lru_cache(maxsize=1)
def _table() -> tuple[Any, Any, Any, Any]:
    """df, location over scale, constant of the log density, and quantiles of |ratio + T|."""
    from scipy.optimize import brentq
    from scipy.special import gammaln, stdtr

    inverse, ratio = (grid.ravel() for grid in np.meshgrid(_INVERSE, _RATIO, indexing="ij"))
    df = 1 / np.maximum(inverse, 1e-9)
    constant = gammaln((df + 1) / 2) - gammaln(df / 2) - 0.5 * np.log(df * np.pi)
    constant[inverse == 0] = -0.5 * np.log(2 * np.pi)

    def share(q: float, v: float, r: float) -> float:
        return float(stdtr(v, q - r) - stdtr(v, -q - r))

    unit = np.array(
        [
            [
                brentq(lambda q, v=v, r=r, p=p: share(q, v, r) - p, 0, 200, xtol=1e-10)
                for p in QUANTILES
            ]
            for v, r in zip(df, ratio, strict=True)
        ]
    )
    return df, ratio, constant, unit


def fit_folded_t(x: Any, w: Any, bound: float) -> Candidate | None:
    """A folded t, along its degrees of freedom and its location.

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
    df, ratio, constant, unit = _table()
    n = float(w.sum())
    scale0 = float(np.sqrt(w @ (x - bound) ** 2 / n))
    z, c = _gathered((x - bound) / scale0, w)
    # Start where the median is right.
    middle = float(np.interp(n / 2, np.cumsum(c), z))
    log_s = np.log(max(middle, 1e-6) / unit[:, 1])
    curve = np.full(df.size, 2.0)
    top = np.zeros(df.size)
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


def _gathered(z: Any, w: Any) -> tuple[Any, Any]:
    """At most a few hundred cells, finest where values lie thick."""
    if z.size <= _MOST:
        return z, w
    cell = (np.cumsum(w) - w / 2) / w.sum() * (_MOST - 100)
    # The outer values stay single: they know the tail.
    cell = np.where(np.arange(z.size) >= z.size - 100, 1e6 + np.arange(z.size), cell.astype(int))
    _, where = np.unique(cell, return_inverse=True)
    total = np.bincount(where, w)
    return np.bincount(where, w * z) / total, total


def _loglik(z: Any, c: Any, df: Any, ratio: Any, constant: Any, log_s: Any) -> Any:
    """Log-likelihood at each point of the grid for one scale each."""
    y = z * np.exp(-log_s)[:, None]
    v, r = df[:, None], ratio[:, None]
    half = -(v + 1) / 2
    near, far = half * np.log1p((y - r) ** 2 / v), half * np.log1p((y + r) ** 2 / v)
    return np.logaddexp(near, far) @ c + c.sum() * (constant - log_s)
