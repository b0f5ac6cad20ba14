"""Tops of the likelihood of two normal components, for many samples at once.

Model: rounds of the EM algorithm (Dempster, Laird & Rubin, *JRSS B* 39 (1977)), each of which lifts the likelihood and
none of which jumps, lead from the start to the summit above it; Newton's method
(:mod:`linestudy.numerics.maximum_many`) to its top.

Misleads where that summit is not the highest: one start sees one summit.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy import special

from linestudy.numerics.maximum_many import climb_all

#: Smallest component SD and share, relative to the whole.
LEAST_SD, LEAST_SHARE = 0.1, 0.02
_SHARES = float(special.logit(1 - LEAST_SHARE))
_LEAST_LOG = math.log(LEAST_SD)
#: Ends of the coordinates: logit of the first share; mean and log SD of the first, and of the second.
LIMITS = (
    (-_SHARES, _SHARES),
    (-math.inf, math.inf),
    (_LEAST_LOG, math.inf),
    (-math.inf, math.inf),
    (_LEAST_LOG, math.inf),
)
#: Rounds of EM before the search.
_ROUNDS = 40


def belongs(x: Any, c: Any) -> tuple[Any, Any, Any, Any]:
    """Compute how much of each value belongs to the first component, and where it lies in both.

    Parameters
    ----------
    x : numpy.ndarray, shape (..., n)
    c : numpy.ndarray, shape (5, ..., 1)
        Coordinates.

    Returns
    -------
    tuple of numpy.ndarray, shape (..., n)
        Share between nought and one; distances from the components' means, in their SDs; logit of the share.
    """
    u1, u2 = (x - c[1]) * np.exp(-c[2]), (x - c[3]) * np.exp(-c[4])
    odds = c[0] - c[2] + c[4] + 0.5 * (u2 * u2 - u1 * u1)
    return special.expit(odds), u1, u2, odds


def rounds_of_em(x: Any, w: Any, c: Any, rounds: int) -> Any:
    """Take some rounds of EM, coordinates kept inside their limits.

    Parameters
    ----------
    x : numpy.ndarray, shape (..., n)
        Values on a scale of one.
    w : numpy.ndarray, shape (n,)
        Share of each in its sample.
    c : numpy.ndarray, shape (5, ..., 1)
    rounds : int

    Returns
    -------
    numpy.ndarray, shape (5, ..., 1)
    """
    for _ in range(rounds):
        first = w * belongs(x, c)[0]
        of_each = []
        for part in (first, w - first):
            size = np.maximum(part.sum(axis=-1, keepdims=True), 1e-300)
            mean = (part * x).sum(axis=-1, keepdims=True) / size
            square = (part * (x - mean) ** 2).sum(axis=-1, keepdims=True) / size
            of_each += [mean, 0.5 * np.log(np.maximum(square, LEAST_SD**2))]
        share = np.clip(first.sum(axis=-1, keepdims=True), LEAST_SHARE, 1 - LEAST_SHARE)
        c = np.array([special.logit(share), *of_each])
    return c


def tops(x: Any, start: Any) -> tuple[Any, Any]:
    """Walk to the top above a start, for every sample.

    Parameters
    ----------
    x : numpy.ndarray, shape (b, n)
        Samples, each on a scale of one.
    start : numpy.ndarray, shape (5, b)
        Coordinates.

    Returns
    -------
    coordinates : numpy.ndarray, shape (5, b)
    missing : numpy.ndarray, shape (b,)
        Twice the log likelihood that is missing, as :func:`climb_all` has it.
    """
    n = x.shape[1]
    c = rounds_of_em(x, np.full(n, 1 / n), np.asarray(start)[:, :, None], _ROUNDS)[:, :, 0]
    return climb_all(lambda rows, there: _landscape(x[rows], there), c, LIMITS, n)


def _landscape(x: Any, c: Any) -> tuple[Any, Any, Any]:
    """Compute the mean log likelihood of each sample, its slopes, and minus its second derivatives."""
    b, n = x.shape
    first, u1, u2, odds = belongs(x, c[:, :, None])
    second = 1 - first
    share, s1, s2 = special.expit(c[0]), np.exp(c[2]), np.exp(c[4])
    value = special.log_expit(c[0]) - c[2] - (0.5 * u1 * u1 + special.log_expit(odds)).mean(axis=1)
    slope = np.empty((5, b))
    # Curvature of the components themselves, less what is gained by values changing sides.
    bent = np.zeros((b, 5, 5))
    slope[0] = first.mean(axis=1) - share
    bent[:, 0, 0] = share * (1 - share)
    for at, part, u, s in ((1, first, u1, s1), (3, second, u2, s2)):
        lever = part * u
        size, mean, square = part.mean(axis=1), lever.mean(axis=1) / s, (lever * u).mean(axis=1)
        slope[at], slope[at + 1] = mean, square - size
        bent[:, at, at] = size / s**2
        bent[:, at, at + 1] = bent[:, at + 1, at] = 2 * mean
        bent[:, at + 1, at + 1] = 2 * square
    ones = np.ones_like(u1)
    by = np.array([ones, u1 / s1[:, None], u1 * u1 - 1, -u2 / s2[:, None], 1 - u2 * u2])
    bent -= np.matmul((by * (first * second / n)).transpose(1, 0, 2), by.transpose(1, 2, 0))
    return value, slope, bent
