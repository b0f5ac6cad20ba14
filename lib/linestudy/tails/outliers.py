"""A normal distribution with a share of values from a wider one: outliers of the same middle.

Model: ``(1 - share) N(m, s^2) + share N(m, (k s)^2)`` with k from 2 to 12 (Tukey's contaminated
normal). It is followed along k; at each k the share, the middle and the spread are found by the EM
algorithm. Its quantiles' covariance at a fixed k is that of the share (from its curvature) and of
the spread together. It is tried because no other candidate has a tail that begins only beyond the
body: outliers too rare to bend peaks over a threshold. Fewer outliers than about five in all the values are
not seen by anything.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.tails.candidate import QUANTILES, Candidate, anderson_darling, step_edges

_RATIO = np.array([2.0, 2.5, 3.2, 4.0, 5.0, 6.5, 8.5, 12.0])
_SWEEPS = 120


def fit_outliers(x: Any, w: Any) -> Candidate:
    """A contaminated normal distribution.

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
    >>> bool(3.5 < fit_outliers(x, np.ones(4000)).quantiles[3, 2] < 6.5)
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
    z2 = ((u - m) / s[:, None]) ** 2
    density = (1 - share[:, None]) * np.exp(-z2 / 2) + share[:, None] / k * np.exp(-z2 / 2 / k**2)
    loglik = np.log(density + 1e-300) @ w - n * np.log(s * scale0) - n * 0.5 * np.log(2 * np.pi)
    best = int(loglik.argmax())
    unit = _quantile(share, _RATIO)
    sd = s * scale0
    # How sure the share is: the curvature of the likelihood along it.
    gain = (np.exp(-z2 / 2 / k**2) / k - np.exp(-z2 / 2)) / (density + 1e-300)
    of_share = 1 / np.maximum(gain**2 @ w, 1e-9)
    step = np.maximum(0.02 * share, 1e-7)
    slope = (_quantile(share + step, _RATIO) - _quantile(share - step, _RATIO)) / (2 * step)
    reach = sd * unit
    at = np.array([-1.0, 0.0, 1.0])
    spread = (reach**2 / (2 * n) + sd**2 * slope**2 * of_share)[:, None, None] * np.outer(at, at)
    cov = (sd**2 / n)[:, None, None] + spread

    def cdf(value: Any) -> Any:
        t = (np.asarray(value, dtype=float) - mean) / sd[best]
        return (1 - share[best]) * ndtr(t) + share[best] * ndtr(t / _RATIO[best])

    return Candidate(
        "normal with outliers",
        round(n),
        float(loglik[best]),
        4,
        mean + reach[:, None] * at,
        cov,
        2 * (loglik[best] - loglik),
        best,
        cdf,
        lambda v: cdf(2 * mean - np.asarray(v, dtype=float)),
        anderson_darling(w, cdf(step_edges(x))),
    )


def _quantile(share: Any, ratio: Any) -> Any:
    """x99.865 of the standard contaminated normal, by halving."""
    from scipy.special import ndtr

    low, high = np.full(share.size, 2.5), 3.2 * ratio
    for _ in range(45):
        middle = (low + high) / 2
        beyond = (1 - share) * ndtr(-middle) + share * ndtr(-middle / ratio)
        far = beyond > 1 - QUANTILES[2]
        low, high = np.where(far, middle, low), np.where(far, high, middle)
    return (low + high) / 2
