"""The normal distribution and Student's t, the one symmetric family with a tail of any weight.

Model: independent values, ``location + scale * T(df)``. Student's t is followed along 1/df from 0
(the normal) to 1/2: for each df location and scale are found by the EM algorithm that weighs every
value by ``(df + 1) / (df + z^2)`` (Liu & Rubin, *Statistica Sinica* 5 (1995), 19-39), all df at
once. Their covariance at a fixed df is that of the expected information, ``scale^2 (df + 3) /
((df + 1) n)`` for the location and ``(df + 3) / (2 df n)`` for the logarithm of the scale (Lange,
Little & Taylor, *JASA* 84 (1989), 881-896); that of the location is larger where n is small, which
matters little beside the scale. It misleads for skewed values, which no symmetric family describes.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from linestudy.tails.candidate import QUANTILES, Candidate, anderson_darling, step_edges

#: Reciprocal degrees of freedom that are followed, the normal first.
_INVERSE = np.concatenate([[0.0], np.geomspace(0.01, 0.5, 28)])
#: The same six times as fine: five thousand values know 1/df to a fraction of the coarse steps.
_FINE = np.concatenate([[0.0], np.geomspace(0.01, 0.5, 27 * 6 + 1)])
_SWEEPS = 60


def fit_normal(x: Any, w: Any) -> Candidate:
    """Fit the normal distribution.

    Parameters
    ----------
    x : numpy.ndarray, shape (k,)
        Different values, ascending.
    w : numpy.ndarray, shape (k,)
        How often each occurs.

    Returns
    -------
    Candidate

    Examples
    --------
    >>> import numpy as np
    >>> float(fit_normal(np.arange(9.0), np.ones(9)).quantiles[0, 1])
    4.0
    """
    from scipy.special import ndtr, ndtri

    n = float(w.sum())
    mean = float(w @ x / n)
    # The usual estimate, as the index of a normal distribution has it.
    sd = float(np.sqrt(w @ (x - mean) ** 2 / (n - 1)))
    z = np.array([float(ndtri(q)) for q in QUANTILES])
    quantiles = (mean + sd * z)[None, :]
    cov = sd * sd * (1 / n + np.outer(z, z) / (2 * (n - 1)))
    ml = sd * np.sqrt((n - 1) / n)
    loglik = -n * (np.log(ml) + 0.5 * np.log(2 * np.pi) + 0.5)
    return Candidate(
        "normal",
        round(n),
        float(loglik),
        2,
        quantiles,
        cov[None],
        np.zeros(1),
        0,
        lambda v: ndtr((np.asarray(v, dtype=float) - mean) / sd),
        lambda v: ndtr(-(np.asarray(v, dtype=float) - mean) / sd),
        anderson_darling(w, ndtr((step_edges(x) - mean) / sd)),
    )


@lru_cache(maxsize=2)
def _table(fine: bool) -> tuple[Any, Any, Any]:
    """Return degrees of freedom, their outer quantile, and the constant of the log density."""
    from scipy.special import gammaln, stdtrit

    inverse = _FINE if fine else _INVERSE
    df = 1 / np.maximum(inverse, 1e-9)
    outer = np.array([stdtrit(v, QUANTILES[2]) for v in df])
    constant = gammaln((df + 1) / 2) - gammaln(df / 2) - 0.5 * np.log(df * np.pi)
    constant[0] = -0.5 * np.log(2 * np.pi)
    return df, outer, constant


def _between(known: Any) -> Any:
    """Interpolate results on the coarse grid to the fine one; the normal stays as it is."""
    from scipy.interpolate import CubicSpline

    at, fine = np.log(_INVERSE[1:]), np.log(_FINE[1:])
    return np.concatenate([known[:1], CubicSpline(at, known[1:])(fine)])


def fit_t(x: Any, w: Any) -> Candidate:
    """Fit Student's t with location and scale, along its degrees of freedom from 2 on.

    Parameters
    ----------
    x, w : numpy.ndarray, shape (k,)
        Different values, ascending, and how often each occurs.

    Returns
    -------
    Candidate

    Examples
    --------
    >>> import numpy as np
    >>> x = np.sort(np.random.default_rng(1).standard_t(4, 2000))
    >>> found = fit_t(x, np.ones(2000))
    >>> bool(5.0 < found.quantiles[found.best, 2] < 8.0)
    True
    """
    from scipy.special import stdtr

    df, _, constant = _table(False)
    n = float(w.sum())
    mean = float(w @ x / n)
    scale0 = float(np.sqrt(w @ (x - mean) ** 2 / n))
    u = (x - mean) / scale0
    v = df[:, None]
    a, spread = np.zeros(df.size), np.sqrt(np.where(df > 3, (df - 2) / df, 0.4))
    for _ in range(_SWEEPS):
        z2 = ((u - a[:, None]) / spread[:, None]) ** 2
        weight = (v + 1) / (v + z2) * w
        total = weight.sum(axis=1)
        a_new = weight @ u / total
        # Dividing by the weights' sum instead of n makes the steps longer (Kent, Tyler & Vardi 1994).
        s_new = np.sqrt((weight * (u - a_new[:, None]) ** 2).sum(axis=1) / total)
        moved = max(np.abs(a_new - a).max(), np.abs(np.log(s_new / spread)).max())
        a, spread = a_new, s_new
        if moved < 1e-6:
            break
    z2 = ((u - a[:, None]) / spread[:, None]) ** 2
    body = -(v + 1) / 2 * np.log1p(z2 / v)
    body[0] = -z2[0] / 2
    loglik = body @ w + n * (constant - np.log(spread)) - n * np.log(scale0)
    loglik, a, spread = _between(loglik), _between(a), np.exp(_between(np.log(spread)))
    df, outer, _ = _table(True)
    best = int(loglik.argmax())
    location, scale = mean + scale0 * a, scale0 * spread
    if best:
        scale = scale * np.sqrt(n / (n - 1))
    zq = outer[:, None] * np.array([-1.0, 0.0, 1.0])
    quantiles = location[:, None] + scale[:, None] * zq
    of_location = scale**2 * (df + 3) / ((df + 1) * n)
    of_scale = (df + 3) / (2 * df * (n - 1))
    spread = zq * scale[:, None]
    cov = (
        of_location[:, None, None]
        + of_scale[:, None, None] * spread[:, :, None] * spread[:, None, :]
    )

    def cdf(value: Any) -> Any:
        return stdtr(df[best], (np.asarray(value, dtype=float) - location[best]) / scale[best])

    def sf(value: Any) -> Any:
        return stdtr(df[best], -(np.asarray(value, dtype=float) - location[best]) / scale[best])

    return Candidate(
        f"Student's t with {df[best]:.3g} df" if best else "Student's t (as good as normal)",
        round(n),
        float(loglik[best]),
        3,
        quantiles,
        cov,
        2 * (loglik[best] - loglik),
        best,
        cdf,
        sf,
        anderson_darling(w, cdf(step_edges(x))),
    )
