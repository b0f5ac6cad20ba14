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

from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.mean_squares import MeanSquares

_DOWN_AND_UP = np.array([[-1.0], [1.0]])


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


def mls_intervals(
    squares: MeanSquares, weights: NDArray[np.float64], confidence: float
) -> NDArray[np.float64]:
    """Intervals of weighted sums of expected mean squares.

    Parameters
    ----------
    squares : MeanSquares
    weights : numpy.ndarray of float, shape (sums, sources)
        Of the mean squares, one row for each sum; either sign.
    confidence : float

    Returns
    -------
    numpy.ndarray of float, shape (2, sums)
        Low and high ends in the squared unit; may be below zero.
    """
    terms = weights * squares.ms
    sizes = np.abs(terms)
    # A mean square of nothing takes part in no correction either.
    terms[sizes < 1e-12 * np.maximum.reduce(sizes, axis=1, keepdims=True)] = 0.0
    forms = _forms(tuple(squares.df.tolist()), np.sign(terms).tobytes(), (1 - confidence) / 2)
    products = (sizes[:, :, None] * sizes[:, None, :]).reshape(len(sizes), -1)
    squared = np.add.reduce(forms * products, axis=2)
    # Rounding may leave a square just below nothing.
    return np.add.reduce(terms, axis=1) + _DOWN_AND_UP * np.sqrt(np.maximum(squared, 0.0))


@lru_cache(maxsize=256)
def _forms(df: tuple[float, ...], signs: bytes, tail: float) -> NDArray[np.float64]:
    """Squared distances from the sum down and up, as quadratic forms in the sizes of its terms.

    Shape (2, sums, sources * sources); they hang on the design and on the signs alone, so
    studies of one design share them.
    """
    table = np.frombuffer(signs).reshape(-1, len(df))
    forms = np.zeros((2, len(table), len(df), len(df)))
    down, up = forms
    for row, sign in enumerate(table.tolist()):
        added = [i for i, s in enumerate(sign) if s > 0]
        taken = [i for i, s in enumerate(sign) if s < 0]
        for i in added + taken:
            g, h = _constants(df[i], tail)
            down[row, i, i], up[row, i, i] = (g**2, h**2) if sign[i] > 0 else (h**2, g**2)
        for i in added:
            for j in taken:
                down[row, i, j], up[row, i, j] = _of_a_difference(df[i], df[j], tail)
        if taken:
            for one_sign, form in ((added, down), (taken, up)):
                # Cross terms of one sign are spread over the number of them less one.
                for i, j in combinations(one_sign, 2):
                    form[row, i, j] = _of_a_sum(df[i], df[j], tail) / (len(one_sign) - 1)
    return forms.reshape(2, len(table), -1)
