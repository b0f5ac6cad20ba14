"""The chance that a study of normal parts passes, by the very bound or estimate that the verdict decides on.

Model: values of one normal distribution, independent or with the correlation of an autoregressive series of
first order. With one limit the bound is that of the noncentral t distribution; with two it is the generalized pivotal
quantity of :func:`linestudy.numerics.normal_intervals.two_sided_index_interval`, and the chance is an integral over the
standard deviation a sample may show. Misleads where the distribution has to be found first: its choice costs
readings that are not counted here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

DecideOn = Literal["estimate", "lower bound"]
BASES = ("estimate", "lower bound")
_NODES = 96


@dataclass(frozen=True)
class Process:
    """What the process is believed to be.

    Attributes
    ----------
    index : float
        Ppk towards the nearer limit.
    potential : float or None
        Pp, from the width of the tolerance; None where one limit decides.
    correlation : float
        Of neighbouring parts in the sample, 0 for independent ones.
    """

    index: float
    potential: float | None = None
    correlation: float = 0.0


def ar1_sample_sizes(n: int, correlation: float) -> tuple[float, float]:
    r"""Compute the effective sample sizes of correlated parts.

    Parameters
    ----------
    n : int
    correlation : float
        :math:`\rho` of neighbours, from 0 to below 1; :math:`\rho^k` at distance k.

    Returns
    -------
    (float, float)
        For the mean and for the standard deviation.

    Notes
    -----
    :math:`n / (1 + 2\sum_k (1 - k/n)\rho^k)` and the same with :math:`\rho^{2k}` (Bayley & Hammersley, *Supplement to
    the Journal of the Royal Statistical Society* 8 (1946), 184-197).

    Examples
    --------
    >>> [round(size, 1) for size in ar1_sample_sizes(100, 0.5)]
    [33.8, 60.3]
    """

    def n_eff(r: float) -> float:
        if r == 0:
            return float(n)
        total = r / (1 - r) - r * (1 - r**n) / (n * (1 - r) ** 2)
        return n / (1 + 2 * total)

    return n_eff(correlation), n_eff(correlation**2)


def chance(
    n: int, process: Process, required: float, confidence: float, decide_on: DecideOn
) -> float:
    """Compute the probability that a sample passes.

    Parameters
    ----------
    n : int
        Parts.
    process : Process
    required : float
        What the index has to exceed.
    confidence : float
        Of the one-sided bound.
    decide_on : {"estimate", "lower bound"}

    Returns
    -------
    float

    Examples
    --------
    >>> round(chance(100, Process(2.0), 1.67, 0.95, "lower bound"), 2)
    0.77
    """
    n_mean, n_sd = ar1_sample_sizes(n, process.correlation)
    df = max(n_sd - 1, 1.0)
    if process.potential is None:
        return _one_limit(n_mean, df, process.index, required, confidence, decide_on)
    return _two_limits(n_mean, df, process, required, confidence, decide_on)


def _one_limit(
    n: float, df: float, index: float, required: float, confidence: float, decide_on: DecideOn
) -> float:
    from scipy.stats import nct

    root = 3 * math.sqrt(n)
    # The bound exceeds `required` where the observed t exceeds this quantile under `required`.
    critical = (
        nct.ppf(confidence, df, root * required) if decide_on == "lower bound" else root * required
    )
    return float(nct.sf(critical, df, root * index))


@lru_cache(maxsize=512)
def seen_spreads(df: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give standard deviations that a sample may show, in units of the true one, with their weights."""
    from scipy.special import chdtri

    points, weights = np.polynomial.legendre.leggauss(_NODES)
    shares = (points + 1) / 2
    return np.sqrt(chdtri(df, 1 - shares) / df), weights / 2


def _two_limits(
    n: float, df: float, process: Process, required: float, confidence: float, decide_on: DecideOn
) -> float:
    from scipy.special import ndtr

    assert process.potential is not None
    half = 3 * process.potential
    away = half - 3 * process.index
    root = math.sqrt(n)
    sds, weights = seen_spreads(df)
    if decide_on == "estimate":
        reach = half - 3 * required * sds
    else:
        reach = _reach(half, required, root, df, confidence)
    reached = ndtr((reach - away) * root) - ndtr((-reach - away) * root)
    return float((weights * np.where(reach > 0, reached, 0.0)).sum())


def _reach(
    half: float, required: float, root: float, df: float, confidence: float
) -> NDArray[np.float64]:
    """Find how far the mean may lie from the middle for each standard deviation, the bound still above `required`."""
    from scipy.special import ndtr

    sds, weights = seen_spreads(df)
    # Sigma over s is the inverse of s over sigma.
    sigmas = sds[:, None] / sds[None, :]
    margin = half - 3 * required * sigmas

    def held(off: NDArray[np.float64]) -> NDArray[np.float64]:
        scale = root / sigmas
        inside = ndtr((margin - off[:, None]) * scale) - ndtr((-margin - off[:, None]) * scale)
        return np.asarray((np.maximum(inside, 0.0) * weights).sum(axis=1))

    low, high = np.zeros_like(sds), np.full_like(sds, half)
    possible = held(low) >= confidence
    for _ in range(40):
        middle = (low + high) / 2
        passes = held(middle) >= confidence
        low, high = np.where(passes, middle, low), np.where(passes, high, middle)
    return np.where(possible, low, -1.0)


def per_cent_of(chance: float) -> int:
    """Round a chance to whole per cents, and call nothing certain or impossible that is not.

    Parameters
    ----------
    chance : float
        From 0 to 1.

    Returns
    -------
    int
        99 at most below 0.9995, 1 at least above 0.0005.

    Examples
    --------
    >>> [per_cent_of(chance) for chance in (0.1439, 0.9968, 0.99998, 0.002, 0.0)]
    [14, 99, 100, 1, 0]
    """
    whole = round(100 * chance)
    if 0.0005 < chance < 0.9995:
        return min(max(whole, 1), 99)
    return whole
