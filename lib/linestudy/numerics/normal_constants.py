"""Constants of the range and the standard deviation of normal samples, computed for any n.

Model: n independent values of one normal distribution with standard deviation 1. Sources:
Tippett, *Biometrika* 17 (1925), 364-387 (range); Patnaik, *Biometrika* 37 (1950), 78-87 (the
scaled chi that a mean range is treated as); the tables of ASTM MNL 7 are these numbers rounded.
"""

from __future__ import annotations

import math
from functools import cache

from linestudy.numerics.quadrature import legendre
from linestudy.results import arguments

#: Beyond nine standard deviations nothing is left that a double could show.
_REACH = 9.0
_NODES = 240


@cache
def d2(n: int) -> float:
    r"""Compute d2, the expected range of n standard normal values.

    Parameters
    ----------
    n : int
        Sample size, at least 2.

    Returns
    -------
    float
        Multiple of the standard deviation.

    See Also
    --------
    d3 : The standard deviation of the range.
    d2_star : The divisor for few samples.

    Notes
    -----
    .. math:: d_2 = \int 1 - \Phi(x)^n - (1 - \Phi(x))^n \,dx

    References
    ----------
    Tippett, *Biometrika* 17 (1925), 364-387.

    Examples
    --------
    >>> round(d2(5), 3)
    2.326
    """
    from scipy.special import ndtr

    _check(n)
    nodes, weights = legendre(_NODES)
    x = _REACH * nodes
    lower = ndtr(x)
    return float(_REACH * weights @ (1 - lower**n - ndtr(-x) ** n))


@cache
def d3(n: int) -> float:
    """Compute d3, the standard deviation of the range of n standard normal values.

    Parameters
    ----------
    n : int
        Sample size, at least 2.

    Returns
    -------
    float
        Multiple of the standard deviation.

    See Also
    --------
    d2 : The expected range.

    Notes
    -----
    From the second moment of the range, a double integral over the smallest and
    largest value (Tippett 1925), by Gauss-Legendre quadrature.

    Examples
    --------
    >>> round(d3(5), 3)
    0.864
    """
    from scipy.special import ndtr

    _check(n)
    nodes, weights = legendre(_NODES)
    x = (_REACH * nodes)[:, None]
    # The larger value y runs from x to the end of the grid.
    half = (_REACH - x) / 2
    y = x + half * (nodes[None, :] + 1)
    inner = 1 - ndtr(y) ** n - ndtr(-x) ** n + (ndtr(y) - ndtr(x)) ** n
    second = 2 * _REACH * weights @ (half[:, 0] * (inner @ weights))
    return float(math.sqrt(second - d2(n) ** 2))


@cache
def c4(n: int) -> float:
    r"""Compute c4, the expected sample standard deviation of n standard normal values.

    Parameters
    ----------
    n : int
        Sample size, at least 2.

    Returns
    -------
    float
        Multiple of the standard deviation.

    See Also
    --------
    d2 : The same for the range.

    Notes
    -----
    .. math:: c_4 = \sqrt{2/(n-1)}\;\Gamma(n/2) / \Gamma((n-1)/2)

    Examples
    --------
    >>> round(c4(5), 4)
    0.94
    """
    _check(n)
    return math.sqrt(2 / (n - 1)) * math.exp(math.lgamma(n / 2) - math.lgamma((n - 1) / 2))


def d2_star(n: int, g: int = 1) -> float:
    """Compute d2*, the divisor that makes the mean range of g samples estimate the standard deviation in squares.

    Parameters
    ----------
    n : int
        Size of each sample, at least 2.
    g : int
        Number of samples, at least 1.

    Returns
    -------
    float
        ``sqrt(d2**2 + d3**2 / g)``; tends to d2 as g grows.

    Raises
    ------
    ValueError, TypeError
        A size or a number of samples that is too small or not whole.

    See Also
    --------
    d2 : Its limit for many samples.
    range_df : Degrees of freedom of the estimate.

    Examples
    --------
    >>> round(d2_star(15), 3)
    3.553
    """
    arguments.whole("g", g, least=1)
    return math.sqrt(d2(n) ** 2 + d3(n) ** 2 / g)


@cache
def range_df(n: int, g: int = 1) -> float:
    r"""Compute the degrees of freedom of a standard deviation estimated from the mean range of g samples.

    Parameters
    ----------
    n : int
        Size of each sample, at least 2.
    g : int
        Number of samples, at least 1.

    Returns
    -------
    float
        Degrees of freedom.

    See Also
    --------
    d2_star : The divisor that goes with them.

    Notes
    -----
    Patnaik (1950): the scaled chi with the same mean and variance, here by its exact moments and not by his
    series: with :math:`a(\nu) = \sqrt{2/\nu}\,\Gamma((\nu+1)/2)/\Gamma(\nu/2)` the root of

    .. math:: 1/a(\nu)^2 - 1 = d_3^2 / (g\,d_2^2)

    One range of two is exactly a chi of one degree of freedom, and so it comes out.

    Examples
    --------
    >>> round(range_df(15), 1), round(range_df(2), 9)
    (10.8, 1.0)
    """
    from scipy.optimize import brentq

    squared_cv = d3(n) ** 2 / (g * d2(n) ** 2)
    series = 1 / (-2 + 2 * math.sqrt(1 + 2 * squared_cv))
    if series > 1000:
        # Both agree to six digits there, and differences of gamma functions lose theirs.
        return series

    def excess(df: float) -> float:
        ratio = math.lgamma((df + 1) / 2) - math.lgamma(df / 2)
        return 2 * ratio + math.log(2 / df) + math.log1p(squared_cv)

    return float(brentq(excess, 0.8 * series, 1.1 * series, xtol=1e-14 * series))


def _check(n: int) -> None:
    if n < 2:
        raise ValueError("a range or standard deviation needs at least two values")
