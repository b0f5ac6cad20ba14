"""Exact intervals for a normal sample: its spread, and how far its limits lie away.

Model: independent values of one normal distribution; where they are serially correlated,
`df` and `n` are the effective ones. Misleads when the distribution is not normal: the
interval of a standard deviation depends on kurtosis, however large the sample.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from linestudy.results.interval import Interval


def sd_interval(sd: float, df: float, confidence: float = 0.95) -> Interval:
    """Compute the interval of a standard deviation.

    Parameters
    ----------
    sd : float
        Sample standard deviation.
    df : float
        Its degrees of freedom.
    confidence : float
        Of the two-sided interval, between 0 and 1.

    Returns
    -------
    Interval
        In the unit of `sd`; chi-square.

    Examples
    --------
    >>> sd_interval(1.0, 9).high.__round__(3)
    1.826
    """
    down, up = _sd_factors(float(df), confidence)
    return Interval(sd, sd * down, sd * up, confidence, "chi-square")


@lru_cache(maxsize=1024)
def _sd_factors(df: float, confidence: float) -> tuple[float, float]:
    from scipy.special import chdtri

    tail = (1 - confidence) / 2
    return math.sqrt(df / float(chdtri(df, tail))), math.sqrt(df / float(chdtri(df, 1 - tail)))


def spread_index_interval(
    allowed: float, sd: float, df: float, confidence: float = 0.95
) -> Interval:
    """Compute the interval of ``allowed / sd``, as for Cp with ``allowed = tolerance / 6``.

    Parameters
    ----------
    allowed, sd : float
        In the same unit.
    df : float
        Degrees of freedom of `sd`.
    confidence : float
        Of the two-sided interval, between 0 and 1.

    Returns
    -------
    Interval
        Pure number; chi-square (Kane, *Journal of Quality Technology* 18 (1986), 41-52).

    Examples
    --------
    >>> spread_index_interval(4.0, 1.75, 19).low.__round__(2)
    1.56
    """
    return sd_interval(sd, df, confidence).mapped(lambda s: allowed / s)


def one_sided_index_interval(
    distance: float, sd: float, n: float, df: float, confidence: float = 0.95
) -> Interval:
    """Compute the interval of ``distance / (3 sd)``, the distance of the mean from one limit.

    Parameters
    ----------
    distance : float
        Limit minus mean, or mean minus limit, in the unit of `sd`; may be negative.
    sd : float
        Standard deviation.
    n : float
        Number of independent values behind the mean.
    df : float
        Degrees of freedom of `sd`.
    confidence : float
        Of the two-sided interval, between 0 and 1.

    Returns
    -------
    Interval
        Pure number; exact, by inverting the noncentral t distribution (Owen,
        *Technometrics* 10 (1968), 445-478).

    Examples
    --------
    >>> one_sided_index_interval(3.99, 1.0, 20, 19).estimate
    1.33
    """
    from scipy.optimize import brentq
    from scipy.stats import nct, norm

    root = math.sqrt(n)
    observed = root * distance / sd
    tail = (1 - confidence) / 2

    def solve(probability: float) -> float:
        # The noncentrality whose distribution has `probability` below what was observed.
        spread = math.sqrt(1 + observed**2 / (2 * df))
        middle = observed + norm.ppf(1 - probability) * spread
        width = 4 * spread + 1

        def excess(delta: float) -> float:
            below = float(nct.cdf(observed, df, delta))
            if math.isnan(below):
                # SciPy gives no number far out in a tail, where it is all or nothing.
                below = 1.0 if delta < observed else 0.0
            return below - probability

        return float(brentq(excess, middle - width, middle + width, xtol=1e-14))

    low, high = solve(1 - tail) / (3 * root), solve(tail) / (3 * root)
    return Interval(distance / (3 * sd), low, high, confidence, "noncentral t")


@lru_cache(maxsize=64)
def _sigma_ratios(df: float) -> np.ndarray:
    """Return possible values of sigma / s, evenly weighted: midpoints of the pivot's distribution."""
    from scipy.stats import chi2

    points = 4000
    return np.asarray(np.sqrt(df / chi2.ppf((np.arange(points) + 0.5) / points, df)))


def two_sided_index_interval(
    mean: float,
    sd: float,
    lower: float,
    upper: float,
    n: float,
    df: float,
    confidence: float = 0.95,
    divisor: float = 3.0,
) -> Interval:
    """Compute the interval of ``min(upper - mean, mean - lower) / (3 sd)``, as for a two-sided Cpk.

    Parameters
    ----------
    mean, sd, lower, upper : float
        In the same unit.
    n : float
        Number of independent values behind the mean.
    df : float
        Degrees of freedom of `sd`.
    confidence : float
        Of the two-sided interval, between 0 and 1.
    divisor : float
        3 for Cpk; what the half spread is a multiple of.

    Returns
    -------
    Interval
        Pure number, by the generalized pivotal quantity of mean and standard deviation
        (Mathew, Sebastian & Kurian, *Statistics & Probability Letters* 77 (2007)), whose
        distribution is integrated over the pivot of sigma instead of being sampled.

    Examples
    --------
    >>> interval = two_sided_index_interval(0.0, 1.0, -4.0, 4.0, 50, 49)
    >>> interval.low < interval.estimate < interval.high
    True
    """
    from scipy.optimize import brentq
    from scipy.special import ndtr

    sigmas = sd * _sigma_ratios(df)
    se = sigmas / math.sqrt(n)

    def at_least(index: float) -> float:
        # The mean must keep `index` times the half spread away from both limits.
        top = ndtr((upper - divisor * index * sigmas - mean) / se)
        bottom = ndtr((lower + divisor * index * sigmas - mean) / se)
        return float(np.maximum(top - bottom, 0.0).mean())

    estimate = min(upper - mean, mean - lower) / (divisor * sd)
    tail = (1 - confidence) / 2
    reach = 1.0 + abs(estimate)
    below, above = estimate - reach, estimate + reach
    while at_least(below) < 1 - tail / 2:
        below -= reach
    while at_least(above) > tail / 2:
        above += reach
    low = brentq(lambda c: at_least(c) - (1 - tail), below, above, xtol=1e-14)
    high = brentq(lambda c: at_least(c) - tail, below, above, xtol=1e-14)
    return Interval(
        estimate, min(low, estimate), max(high, estimate), confidence, "generalized pivot"
    )
