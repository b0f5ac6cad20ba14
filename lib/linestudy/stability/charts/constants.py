"""Constants of control charts for any subgroup size, computed, never tabulated.

Model: n independent values of one normal distribution with standard deviation 1. They mislead
where values are skewed (the range and the median most of all). The shared ones (d2, d3, c4,
d2*) come from ``numerics``; those only charts need are integrated here. Sources: Tippett,
*Biometrika* 17 (1925), 364-387 (range); Kendall & Stuart, *The Advanced Theory of Statistics*
vol. 1, ch. 14 (order statistics); ASTM MNL 7 prints the same numbers rounded.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np

from linestudy.numerics.normal_constants import c4, d2, d2_star, d3, range_df
from linestudy.results import arguments

__all__ = [
    "c4",
    "d2",
    "d2_star",
    "d3",
    "median_sd",
    "range_cdf",
    "range_df",
    "range_limits",
    "range_probability_limits",
    "sd_limits",
    "sd_probability_limits",
]

_REACH, _NODES = 9.0, 240


@cache
def _grid() -> tuple[Any, Any]:
    from scipy.special import roots_legendre

    nodes, weights = roots_legendre(_NODES)
    return nodes, weights


def sd_limits(n: int, *, sigmas: float = 3.0) -> tuple[float, float, float]:
    """Compute limits and centre of a chart of standard deviations, as multiples of sigma.

    Parameters
    ----------
    n : int
        Subgroup size, at least 2.
    sigmas : float
        Distance of the limits in standard errors.

    Returns
    -------
    lower, centre, upper : float
        The lower limit is not below zero.

    See Also
    --------
    sd_probability_limits : Limits by probability.
    range_limits : The same for ranges.

    Notes
    -----
    ASTM MNL 7: centre ``c4``, limits ``c4 ± 3 sqrt(1 - c4**2)``.

    Examples
    --------
    >>> [round(x, 3) for x in sd_limits(5)]
    [0.0, 0.94, 1.964]
    """
    centre = c4(n)
    arguments.positive(sigmas=sigmas)
    half = sigmas * math.sqrt(1 - centre**2)
    return max(centre - half, 0.0), centre, centre + half


def range_limits(n: int, *, sigmas: float = 3.0) -> tuple[float, float, float]:
    """Compute limits and centre of a chart of ranges, as multiples of sigma.

    Parameters
    ----------
    n : int
        Subgroup size, at least 2.
    sigmas : float
        Distance of the limits in standard errors.

    Returns
    -------
    lower, centre, upper : float
        The lower limit is not below zero.

    See Also
    --------
    range_probability_limits : Limits by probability.
    sd_limits : The same for standard deviations.

    Notes
    -----
    ASTM MNL 7: centre ``d2``, limits ``d2 ± 3 d3``.

    Examples
    --------
    >>> [round(x, 3) for x in range_limits(5)]
    [0.0, 2.326, 4.918]
    """
    arguments.positive(sigmas=sigmas)
    centre, half = d2(n), sigmas * d3(n)
    return max(centre - half, 0.0), centre, centre + half


@cache
def median_sd(n: int) -> float:
    """Compute the standard deviation of the median of n standard normal values.

    Parameters
    ----------
    n : int
        Sample size, at least 1.

    Returns
    -------
    float
        Multiple of the standard deviation of single values.

    Raises
    ------
    ValueError
        `n` below 1.

    Notes
    -----
    Odd n: second moment of the middle order statistic. Even n: of the mean of the two
    middle ones, a double integral over their joint density.

    Examples
    --------
    >>> round(median_sd(3), 4), round(median_sd(5), 4)
    (0.6698, 0.5356)
    """
    from scipy.special import gammaln, log_ndtr

    if n < 1:
        raise ValueError("a median needs at least one value")
    nodes, weights = _grid()
    # The median lies within a few of its own standard errors; a fixed grid would miss it.
    reach = min(_REACH, 12.0 * math.sqrt(math.pi / (2 * n)) + 1e-9) if n > 2 else _REACH
    x = reach * nodes
    log_density = -0.5 * x**2 - 0.5 * math.log(2 * math.pi)
    m = n // 2
    if n % 2:
        log_f = gammaln(n + 1) - 2 * gammaln(m + 1) + m * (log_ndtr(x) + log_ndtr(-x)) + log_density
        return math.sqrt(float(reach * weights @ (x**2 * np.exp(log_f))))
    half = (reach - x[:, None]) / 2
    y = x[:, None] + half * (nodes[None, :] + 1)
    log_f = (
        gammaln(n + 1)
        - 2 * gammaln(m)
        + (m - 1) * (log_ndtr(x)[:, None] + log_ndtr(-y))
        + log_density[:, None]
        - 0.5 * y**2
        - 0.5 * math.log(2 * math.pi)
    )
    inner = (half * np.exp(log_f) * ((x[:, None] + y) / 2) ** 2) @ weights
    return math.sqrt(float(reach * weights @ inner))


def range_cdf(width: Any, n: int) -> Any:
    """Compute the probability that the range of n standard normal values is at most `width`.

    Parameters
    ----------
    width : array_like of float
        Range in standard deviations.
    n : int
        Sample size, at least 2.

    Returns
    -------
    float or numpy.ndarray
        Between 0 and 1, for each width.

    Notes
    -----
    ``n * integral of phi(x) (Phi(x + w) - Phi(x))**(n - 1)`` (Tippett 1925).

    Examples
    --------
    >>> round(range_cdf(4.918, 5), 4)
    0.9954
    """
    from scipy.special import ndtr

    w = np.asarray(width, dtype=float)
    nodes, weights = _grid()
    x = _REACH * nodes
    inside = ndtr(x + np.maximum(w, 0.0)[..., None]) - ndtr(x)
    density = np.exp(-0.5 * x**2) / math.sqrt(2 * math.pi)
    out = np.clip(n * _REACH * ((density * inside ** (n - 1)) @ weights), 0.0, 1.0)
    return float(out) if out.ndim == 0 else out


def range_probability_limits(n: int, *, false_rate: float = 0.0027) -> tuple[float, float]:
    """Compute the limits that the range of a process in control leaves with probability `false_rate`, half each side.

    Parameters
    ----------
    n : int
        Subgroup size, at least 2.
    false_rate : float
        Probability outside, both sides together.

    Returns
    -------
    lower, upper : float
        Multiples of sigma.

    Raises
    ------
    ValueError, TypeError
        A probability outside 0 to 1.

    See Also
    --------
    range_limits : Limits at a number of standard errors.

    Examples
    --------
    >>> round(range_probability_limits(5, false_rate=0.002)[0], 2)
    0.37
    """
    from scipy.optimize import brentq

    arguments.share("false_rate", false_rate)
    arguments.whole("n", n, least=2)
    top = 2 * _REACH
    return (
        float(brentq(lambda w: range_cdf(w, n) - false_rate / 2, 0.0, top, xtol=1e-13)),
        float(brentq(lambda w: range_cdf(w, n) - 1 + false_rate / 2, 0.0, top, xtol=1e-13)),
    )


def sd_probability_limits(n: int, *, false_rate: float = 0.0027) -> tuple[float, float]:
    """Compute the limits that the SD of a process in control leaves with probability `false_rate`.

    Parameters
    ----------
    n : int
        Subgroup size, at least 2.
    false_rate : float
        Probability outside, both sides together, half on each.

    Returns
    -------
    lower, upper : float
        Multiples of sigma, from the chi-square distribution.

    Raises
    ------
    ValueError, TypeError
        A probability outside 0 to 1.

    See Also
    --------
    sd_limits : Limits at a number of standard errors.

    Examples
    --------
    >>> [round(x, 3) for x in sd_probability_limits(5, false_rate=0.002)]
    [0.151, 2.149]
    """
    from scipy.stats import chi2

    arguments.share("false_rate", false_rate)
    arguments.whole("n", n, least=2)
    low = float(chi2.ppf(false_rate / 2, n - 1))
    high = float(chi2.ppf(1 - false_rate / 2, n - 1))
    return math.sqrt(low / (n - 1)), math.sqrt(high / (n - 1))
