"""A normal distribution with a share of values from a wider one: outliers of the same middle.

Model: ``(1 - share) N(m, s^2) + share N(m, (k s)^2)`` with k from 2 to 12 (Tukey's contaminated
normal). It is followed along k and along the share; at each of them the spread is found by the EM
algorithm, and its scatter is the covariance of the quantiles there. It is tried because no other candidate has a tail that begins only beyond the
body: outliers too rare to bend peaks over a threshold. Fewer outliers than about five in all the values are
not seen by anything.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.tails.candidate import QUANTILES, Candidate, anderson_darling, step_edges

_RATIO = np.array([2.0, 2.5, 3.2, 4.0, 5.0, 6.5, 8.5, 12.0])
_SWEEPS, _STEPS = 120, 12
#: Logarithms of the shares that are followed, less that of the best one for the same k.
_SHARES = np.linspace(-1.8, 1.8, 19)
_MOST = 400
#: What deviances are divided by: chi-square's limit alone holds the truth in 89 % where 95 % is claimed, for the few
#: outliers of one sample also say how far they reach (measured, proof).
_WIDER = 1.6


def fit_outliers(x: Any, w: Any) -> Candidate:
    """Fit a contaminated normal distribution.

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
    >>> r = np.random.default_rng(1)
    >>> x = np.sort(r.normal(size=4000) * np.where(r.random(4000) < 0.02, 4, 1))
    >>> found = fit_outliers(x, np.ones(4000))
    >>> bool(3.5 < found.quantiles[found.deviance.argmin(), 2] < 6.5)
    True
    """
    from scipy.special import ndtr

    n = float(w.sum())
    mean = float(w @ x / n)
    scale0 = float(np.sqrt(w @ (x - mean) ** 2 / n))
    u = (x - mean) / scale0
    k = _RATIO[:, None]
    share = np.full(_RATIO.size, 0.02)
    s = np.full(_RATIO.size, 0.9)
    m = 0.0
    for _ in range(_SWEEPS):
        z2 = ((u - m) / s[:, None]) ** 2
        wide = share[:, None] / k * np.exp(-z2 / 2 / k**2)
        narrow = (1 - share[:, None]) * np.exp(-z2 / 2)
        odds = wide / (wide + narrow + 1e-300)
        new = np.clip(odds @ w / n, 1e-5, 0.4)
        pull = (1 - odds + odds / k**2) * w
        s_new = np.sqrt((pull * (u - m) ** 2).sum(axis=1) / n)
        done = np.abs(new - share).max() < 1e-6 and np.abs(s_new - s).max() < 1e-6
        share, s = new, s_new
        if done:
            break
    # Along k and the share: few outliers are known to within a factor, more upward than downward.
    share = np.clip(share[:, None] * np.exp(_SHARES)[None, :], 1e-5, 0.45).ravel()
    k, s = np.repeat(_RATIO, _SHARES.size), np.repeat(s, _SHARES.size)
    away, c = _fewer(u - m, w)
    for _ in range(_STEPS):
        z2 = (away / s[:, None]) ** 2
        wide = (share / k)[:, None] * np.exp(-z2 / 2 / (k * k)[:, None])
        odds = wide / (wide + (1 - share)[:, None] * np.exp(-z2 / 2) + 1e-300)
        s = np.sqrt((1 - odds + odds / (k * k)[:, None]) @ (c * away * away) / n)
    z2 = (away / s[:, None]) ** 2
    density = (1 - share)[:, None] * np.exp(-z2 / 2) + (share / k)[:, None] * np.exp(
        -z2 / 2 / (k * k)[:, None]
    )
    loglik = np.log(density + 1e-300) @ c - n * np.log(s * scale0) - n * 0.5 * np.log(2 * np.pi)
    best = int(loglik.argmax())
    sd = s * scale0
    reach = sd * _quantile(share, k)
    at = np.array([-1.0, 0.0, 1.0])
    spread = (reach**2 / (2 * n))[:, None, None] * np.outer(at, at)
    cov = (sd**2 / n)[:, None, None] + spread

    def cdf(value: Any) -> Any:
        t = (np.asarray(value, dtype=float) - mean) / sd[best]
        return (1 - share[best]) * ndtr(t) + share[best] * ndtr(t / k[best])

    return Candidate(
        "normal with outliers",
        round(n),
        float(loglik[best]),
        4,
        mean + reach[:, None] * at,
        cov,
        2 * (loglik[best] - loglik) / _WIDER,
        best,
        cdf,
        lambda v: cdf(2 * mean - np.asarray(v, dtype=float)),
        anderson_darling(w, cdf(step_edges(x))),
    )


def _fewer(u: Any, w: Any) -> tuple[Any, Any]:
    """Group values in at most some hundred cells; the outer values single, for they may be outliers."""
    if u.size <= _MOST:
        return u, w
    ends = np.arange(u.size)
    inner = (np.cumsum(w) / w.sum() * (_MOST - 200)).astype(int)
    cell = np.where((ends < 100) | (ends >= u.size - 100), _MOST + ends, inner)
    _, where = np.unique(cell, return_inverse=True)
    total = np.bincount(where, w)
    # Of a cell its square is kept, which is what the likelihood reads.
    square = np.bincount(where, w * u * u) / total
    return np.sqrt(square), total


def _quantile(share: Any, ratio: Any) -> Any:
    """Find x99.865 of the standard contaminated normal, by halving."""
    from scipy.special import ndtr

    low, high = np.full(share.size, 2.5), 3.2 * ratio
    for _ in range(45):
        middle = (low + high) / 2
        beyond = (1 - share) * ndtr(-middle) + share * ndtr(-middle / ratio)
        far = beyond > 1 - QUANTILES[2]
        low, high = np.where(far, middle, low), np.where(far, high, middle)
    return (low + high) / 2
