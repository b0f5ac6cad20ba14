"""Capability and performance indices of a normal characteristic, with intervals that cover.

Model: values are normal; the mean of n of them is known as well as that of ``n_mean`` independent
ones, their standard deviation as well as that of ``n_spread`` (serial correlation makes both
smaller than n). Pp and Ppk use the spread of all values, Cp and Cpk that within subgroups, which
describes the process only while its location holds still. Misleads when the distribution is not
normal (use quantile indices) and when parts were sorted before they were measured.

Sources: ISO 22514-2:2017, ISO 22514-4:2016; Kane, *Journal of Quality Technology* 18 (1986);
intervals as in :mod:`linestudy.numerics.normal_intervals`.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.numerics.normal_intervals import (
    one_sided_index_interval,
    spread_index_interval,
    two_sided_index_interval,
)
from linestudy.numerics.samples import as_sample
from linestudy.numerics.shares import share_interval
from linestudy.results import Absent, Interval


def spread_index(
    sd: float, df: float, lower: float | None, upper: float | None, confidence: float = 0.95
) -> Interval | Absent:
    """Cp or Pp: tolerance over six standard deviations.

    Parameters
    ----------
    sd : float
        Within subgroups for Cp, of all values for Pp; in the unit of the limits.
    df : float
        Its (effective) degrees of freedom.
    lower, upper : float or None
        Tolerance limits.
    confidence : float

    Returns
    -------
    Interval or Absent
        Absent where a limit is missing.

    Examples
    --------
    >>> round(spread_index(2.0, 49, 8.0, 20.0).estimate, 4)
    1.0
    """
    if lower is None or upper is None:
        return Absent("there is one limit only")
    return spread_index_interval((upper - lower) / 6, sd, df, confidence)


def location_index(
    mean: float,
    sd: float,
    n: float,
    df: float,
    lower: float | None,
    upper: float | None,
    confidence: float = 0.95,
) -> Interval | Absent:
    """Cpk or Ppk: distance from the mean to the nearer limit over three standard deviations.

    Parameters
    ----------
    mean, sd : float
        In the unit of the limits.
    n : float
        (Effective) number of values behind the mean.
    df : float
        (Effective) degrees of freedom of `sd`.
    lower, upper : float or None
    confidence : float

    Returns
    -------
    Interval or Absent
        Exact for one limit; by the generalized pivot for two.

    Examples
    --------
    >>> round(location_index(16.0, 2.0, 50, 49, 8.0, 20.0).estimate, 4)
    0.6667
    """
    if lower is None and upper is None:
        return Absent("there is no limit")
    if lower is None or upper is None:
        distance = mean - lower if lower is not None else (upper or 0.0) - mean
        return one_sided_index_interval(distance, sd, n, df, confidence)
    return two_sided_index_interval(mean, sd, lower, upper, n, df, confidence)


def target_index(
    mean: float,
    sd: float,
    n: float,
    df: float,
    lower: float | None,
    upper: float | None,
    target: float | None,
    confidence: float = 0.95,
) -> Interval | Absent:
    """Cpm: tolerance over six root mean square deviations from the target.

    Parameters
    ----------
    mean, sd : float
    n, df : float
    lower, upper, target : float or None
    confidence : float

    Returns
    -------
    Interval or Absent
        The interval is Boyles' chi-square approximation (*Journal of Quality Technology*
        23 (1991), 17-26).

    Examples
    --------
    >>> round(target_index(10.0, 1.0, 50, 49, 7.0, 13.0, 10.0).estimate, 2)
    1.0
    """
    from scipy.stats import chi2

    if lower is None or upper is None or target is None:
        return Absent("a target and both limits are needed")
    off = (mean - target) / sd
    estimate = (upper - lower) / (6 * sd * np.sqrt(1 + off**2))
    equivalent = df * (1 + off**2) ** 2 / (1 + 2 * off**2)
    tail = (1 - confidence) / 2
    low, high = np.sqrt(chi2.ppf([tail, 1 - tail], equivalent) / equivalent) * estimate
    return Interval(float(estimate), float(low), float(high), confidence, "Boyles chi-square")


def normal_nonconforming(
    mean: float,
    sd: float,
    n: float,
    df: float,
    lower: float | None,
    upper: float | None,
    confidence: float = 0.95,
    draws: int = 20_000,
    rng: np.random.Generator | None = None,
) -> dict[str, Interval]:
    """Expected parts per million below, above and outside, for normal values.

    Parameters
    ----------
    mean, sd : float
    n, df : float
        As for :func:`location_index`.
    lower, upper : float or None
    confidence : float
    draws : int
        Draws of the pivotal quantities for the total.
    rng : numpy.random.Generator, optional

    Returns
    -------
    dict of str to Interval
        ``below``, ``above``, ``total`` in parts per million; exact (noncentral t) for each
        side, generalized pivot for the total.

    Examples
    --------
    >>> round(normal_nonconforming(0.0, 1.0, 100, 99, None, 3.0)["above"].estimate)
    1350
    """
    from scipy.special import ndtr

    found = {}
    zero = Interval(0.0, 0.0, 0.0, confidence, "no such limit")
    for side, distance in (
        ("below", None if lower is None else mean - lower),
        ("above", None if upper is None else upper - mean),
    ):
        if distance is None:
            found[side] = zero
            continue
        index = one_sided_index_interval(distance, sd, n, df, confidence)
        found[side] = index.mapped(lambda c: float(1e6 * ndtr(-3 * c)))
    if lower is None or upper is None:
        found["total"] = found["above"] if lower is None else found["below"]
        return found
    source = rng or np.random.default_rng(0)
    sigma = sd * np.sqrt(df / source.chisquare(df, draws))
    centre = mean - source.standard_normal(draws) * sigma / np.sqrt(n)
    sample = 1e6 * (ndtr((lower - centre) / sigma) + ndtr((centre - upper) / sigma))
    estimate = found["below"].estimate + found["above"].estimate
    low, high = np.quantile(sample, [(1 - confidence) / 2, (1 + confidence) / 2])
    found["total"] = Interval(
        estimate,
        min(float(low), estimate),
        max(float(high), estimate),
        confidence,
        "generalized pivot",
    )
    return found


def observed_nonconforming(
    values: Any, lower: float | None, upper: float | None, confidence: float = 0.95
) -> dict[str, Any]:
    """Values counted outside the limits.

    Parameters
    ----------
    values : array_like of float, shape (n,)
    lower, upper : float or None
    confidence : float

    Returns
    -------
    dict
        ``below``, ``above``, ``n`` (counts) and ``ppm`` (Interval, Clopper & Pearson 1934,
        by statsmodels).

    Raises
    ------
    CannotJudge
        No value, or values that are missing.

    Examples
    --------
    >>> observed_nonconforming([1.0, 2.0, 3.0], 1.5, None)["below"]
    1
    """
    y = as_sample(values, least=1)
    below = 0 if lower is None else int((y < lower).sum())
    above = 0 if upper is None else int((y > upper).sum())
    outside, n = below + above, int(y.size)
    ppm = share_interval(outside, n, confidence).times(1e6)
    return {"below": below, "above": above, "n": n, "ppm": ppm}


def none_seen_limit(n: int, confidence: float = 0.95) -> float:
    """What share of bad parts is still possible when none was seen in n, one-sided.

    Parameters
    ----------
    n : int
    confidence : float

    Returns
    -------
    float
        Parts per million: ``1 - (1 - confidence)**(1/n)``; near ``3/n`` at 95 %.

    Raises
    ------
    ValueError
        No part at all.

    Examples
    --------
    >>> round(none_seen_limit(300))
    9936
    """
    if n < 1:
        raise ValueError("at least one part is needed")
    return float(-np.expm1(np.log1p(-confidence) / n) * 1e6)
