"""Intervals of combinations of mean squares by modified large samples.

Model: independent mean squares, each its expectation times chi-square over degrees of freedom. The
interval is that of a large normal sample with each variance constant changed so that it is exact
when one mean square stands alone (Graybill & Wang, *JASA* 75 (1980), 869-873, for sums; Ting,
Burdick, Graybill, Jeyaratnam & Lu, *Journal of Statistical Computation and Simulation* 35 (1990),
135-143, where some are subtracted; Burdick & Graybill, *Confidence Intervals on Variance
Components*, 1992, ch. 3). Formulas from memory, held against simulated coverage in the proof.
Misleads where a mean square that is subtracted has very few degrees of freedom.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

from numpy.typing import NDArray

from linestudy.gauges.mean_squares import MeanSquares


@lru_cache(maxsize=256)
def _constants(df: float, tail: float) -> tuple[float, float]:
    """G and H of one mean square: how far below and above it its expectation may lie."""
    from scipy.special import chdtri

    return 1 - df / float(chdtri(df, tail)), df / float(chdtri(df, 1 - tail)) - 1


@lru_cache(maxsize=256)
def _of_a_difference(first: float, second: float, tail: float) -> tuple[float, float]:
    """Cross constants that make the interval of a difference of two mean squares nearly exact."""
    from scipy.special import fdtri

    g1, h1 = _constants(first, tail)
    g2, h2 = _constants(second, tail)
    high, low = float(fdtri(first, second, 1 - tail)), float(fdtri(first, second, tail))
    lower = ((high - 1) ** 2 - (g1 * high) ** 2 - h2**2) / high
    upper = ((1 - low) ** 2 - (h1 * low) ** 2 - g2**2) / low
    return lower, upper


@lru_cache(maxsize=256)
def _of_a_sum(first: float, second: float, tail: float) -> float:
    """Cross constant of two mean squares of one sign."""
    both = _constants(first + second, tail)[0] ** 2 * (first + second) ** 2 / (first * second)
    g1, g2 = _constants(first, tail)[0], _constants(second, tail)[0]
    return both - g1**2 * first / second - g2**2 * second / first


def mls_interval(
    squares: MeanSquares, weights: NDArray[Any], confidence: float
) -> tuple[float, float]:
    """Interval of a weighted sum of expected mean squares.

    Parameters
    ----------
    squares : MeanSquares
    weights : numpy.ndarray of float, shape (sources,)
        Of the mean squares; either sign.
    confidence : float

    Returns
    -------
    low, high : float
        In the squared unit; may be below zero.
    """
    tail = (1 - confidence) / 2
    sizes = (weights * squares.ms).tolist()
    small = 1e-12 * max(map(abs, sizes))
    terms = [
        (abs(size), df, size > 0)
        for size, df in zip(sizes, squares.df.tolist(), strict=True)
        if abs(size) > small
    ]
    added = [(size, df) for size, df, plus in terms if plus]
    taken = [(size, df) for size, df, plus in terms if not plus]
    middle = sum(size for size, _ in added) - sum(size for size, _ in taken)
    down = up = 0.0
    for size, df in added:
        g, h = _constants(df, tail)
        down, up = down + (g * size) ** 2, up + (h * size) ** 2
    for size, df in taken:
        g, h = _constants(df, tail)
        down, up = down + (h * size) ** 2, up + (g * size) ** 2
    for size, df in added:
        for other, other_df in taken:
            lower, upper = _of_a_difference(df, other_df, tail)
            down, up = down + lower * size * other, up + upper * size * other
    if taken:
        down += _pairs(added, tail)
        up += _pairs(taken, tail)
    return middle - math.sqrt(max(down, 0.0)), middle + math.sqrt(max(up, 0.0))


def _pairs(terms: list[tuple[float, float]], tail: float) -> float:
    """Cross terms of mean squares of one sign, spread over the number of them less one."""
    if len(terms) < 2:
        return 0.0
    total = 0.0
    for i, (size, df) in enumerate(terms):
        for other, other_df in terms[i + 1 :]:
            total += _of_a_sum(df, other_df, tail) * size * other
    return total / (len(terms) - 1)
