"""Two normal components, as two stations or two cavities give.

Model: each part comes from one of two normal distributions, in fixed shares. Fitted by the EM
algorithm (Dempster, Laird & Rubin, *JRSS B* 39 (1977)) from a split at the mean; each component
keeps a standard deviation of at least a tenth of the whole, without which the likelihood has no
maximum. Misleads where one skewed distribution is cut in two: a mixture fits any hump, so it is
preferred only where it is told of stations or where nothing simpler fits.
"""

from __future__ import annotations

from typing import Any

import numpy as np

#: Smallest component SD and share, relative to the whole.
_LEAST_SD, _LEAST_SHARE = 0.1, 0.02


class Mixture:
    """Two normal components as a distribution with the calls the kit needs.

    Parameters
    ----------
    p : array_like
        share of the first, mean and SD of the first, mean and SD of the second.
    """

    def __init__(self, p: Any) -> None:
        self.share, self.m1, self.s1, self.m2, self.s2 = (float(v) for v in p)

    def cdf(self, x: Any) -> Any:
        """Share of parts up to x."""
        from scipy.special import ndtr

        return self.share * ndtr((x - self.m1) / self.s1) + (1 - self.share) * ndtr(
            (x - self.m2) / self.s2
        )

    def sf(self, x: Any) -> Any:
        """Share of parts beyond x, exact in the far tail."""
        from scipy.special import ndtr

        return self.share * ndtr((self.m1 - x) / self.s1) + (1 - self.share) * ndtr(
            (self.m2 - x) / self.s2
        )

    def logpdf(self, x: Any) -> Any:
        """Log density."""
        return logpdf(x, (self.share, self.m1, self.s1, self.m2, self.s2))

    def ppf(self, q: Any) -> Any:
        """Quantiles, by bisection over all at once."""
        q = np.asarray(q, dtype=float)
        reach = 12 * max(self.s1, self.s2)
        low = np.full(q.shape, min(self.m1, self.m2) - reach)
        high = np.full(q.shape, max(self.m1, self.m2) + reach)
        for _ in range(80):
            middle = (low + high) / 2
            below = self.cdf(middle) < q
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        return (low + high) / 2

    def rvs(self, size: Any, random_state: np.random.Generator) -> Any:
        """Random parts."""
        first = random_state.random(size) < self.share
        unit = random_state.standard_normal(size)
        return np.where(first, self.m1 + self.s1 * unit, self.m2 + self.s2 * unit)


def logpdf(x: Any, p: Any) -> Any:
    """Log density of the mixture with parameters p at x."""
    share, m1, s1, m2, s2 = p
    a = np.log(share) - 0.5 * ((x - m1) / s1) ** 2 - np.log(s1)
    b = np.log1p(-share) - 0.5 * ((x - m2) / s2) ** 2 - np.log(s2)
    return np.logaddexp(a, b) - 0.9189385332046727


def fit_mixture(x: Any, w: Any, rounds: int = 1000, start: Any = None) -> Any:
    """Parameters of the two components by EM, weighted.

    Parameters
    ----------
    x : numpy.ndarray, shape (m,)
        Distinct values.
    w : numpy.ndarray, shape (m,)
        How often each occurs.
    rounds : int
        Most EM rounds.
    start : array_like, shape (5,), optional
        Parameters to begin from; a split at the mean when absent.

    Returns
    -------
    numpy.ndarray, shape (5,)
    """
    total = w.sum()
    mean = float(w @ x / total)
    sd = float(np.sqrt(w @ (x - mean) ** 2 / total))
    p = np.array([0.5, mean - 0.8 * sd, 0.6 * sd, mean + 0.8 * sd, 0.6 * sd])
    if start is not None:
        p = np.asarray(start, dtype=float)
    before = -np.inf
    for _ in range(rounds):
        a = np.log(p[0]) - 0.5 * ((x - p[1]) / p[2]) ** 2 - np.log(p[2])
        b = np.log1p(-p[0]) - 0.5 * ((x - p[3]) / p[4]) ** 2 - np.log(p[4])
        both = np.logaddexp(a, b)
        first = np.exp(a - both)
        loglik = float(w @ both)
        w1 = w * first
        w2 = w - w1
        n1, n2 = float(w1.sum()), float(w2.sum())
        share = min(max(n1 / total, _LEAST_SHARE), 1 - _LEAST_SHARE)
        m1, m2 = float(w1 @ x) / max(n1, 1e-300), float(w2 @ x) / max(n2, 1e-300)
        s1 = np.sqrt(float(w1 @ (x - m1) ** 2) / max(n1, 1e-300))
        s2 = np.sqrt(float(w2 @ (x - m2) ** 2) / max(n2, 1e-300))
        p = np.array([share, m1, max(s1, _LEAST_SD * sd), m2, max(s2, _LEAST_SD * sd)])
        if loglik - before < 1e-8 * abs(loglik):
            break
        before = loglik
    return p if p[1] <= p[3] else np.array([1 - p[0], p[3], p[4], p[1], p[2]])
