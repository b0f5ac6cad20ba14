"""Weighted kappa of graded judgements, with an interval by part that never has zero width.

Kappa is one less the weighted disagreement over that which chance gives at the same shares of grades. The part
is the unit. Two intervals are taken, and the farther end of each counts: (1) the jackknife over parts of
the logarithm of the ratio, by Student's t (Efron & Tibshirani, *An Introduction to the Bootstrap*, 1993,
ch. 11); (2) the exact interval of the share of parts with any disagreement, times its mean weight, which is
what is left to say where hardly any part is disputed. That both are taken is a choice of this kit,
measured: 93.3 to 99.7 % hold at 95 % for 15 to 50 parts, three and five grades, linear and quadratic weights,
verdicts that repeat themselves, and one grade in six (600 studies a cell).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from linestudy.numerics.shares import share_interval
from linestudy.results import Absent, Interval

_Array = np.ndarray[Any, np.dtype[np.float64]]


def weights_of(kind: str, grades: int) -> _Array:
    """Compute the cost of each grade taken for each other, from 0 to 1.

    Parameters
    ----------
    kind : str
        ``"linear"``: the number of grades between; ``"quadratic"``: its square.
    grades : int
        At least two.

    Returns
    -------
    numpy.ndarray of float, shape (grades, grades)

    Examples
    --------
    >>> weights_of("quadratic", 3)[0].tolist()
    [0.0, 0.25, 1.0]
    """
    at = np.arange(grades)
    distance = np.abs(at[:, None] - at) / (grades - 1)
    return np.asarray(distance**2 if kind == "quadratic" else distance, dtype=float)


def weighted_kappa(
    pairs: Sequence[tuple[_Array, _Array]],
    weights: _Array,
    confidence: float,
    own: Sequence[_Array] = (),
) -> Interval | Absent:
    """Compute weighted kappa of two people, or of several pairs of people together.

    Parameters
    ----------
    pairs : sequence of (numpy.ndarray, numpy.ndarray), each of shape (parts, grades)
        Of every two people the share of each one's judgements of each part that fell on each grade; rows
        of NaN where a part was not judged.
    weights : numpy.ndarray of float, shape (grades, grades)
        From :func:`weights_of`.
    confidence : float
        Of the interval.
    own : sequence of numpy.ndarray of float, shape (parts,)
        Disagreement on each part that is to count in place of that between the two, for each pair: of a person
        with themselves, whose trials are not compared with themselves.

    Returns
    -------
    Interval or Absent
        Absent where fewer than three parts were judged by both, or all judgements are the same grade.

    Examples
    --------
    >>> a, b = np.eye(3)[[0, 1, 2, 2]], np.eye(3)[[0, 1, 1, 2]]
    >>> round(weighted_kappa([(a, b)], weights_of("linear", 3), 0.95).estimate, 3)
    0.714
    """
    parts = pairs[0][0].shape[0]
    disagreement, judged = np.zeros(parts), np.zeros(parts)
    chance, without = 0.0, np.zeros(parts)
    for number, (a, b) in enumerate(pairs):
        both = np.isfinite(a).all(axis=1) & np.isfinite(b).all(axis=1)
        if own:
            both &= np.isfinite(own[number])
        n = int(both.sum())
        if n < 3:
            continue
        first, second = a[both], b[both]
        if own:
            disagreement[both] += own[number][both]
        else:
            disagreement[both] += np.einsum("pi,ij,pj->p", first, weights, second)
        judged[both] += 1
        one, two = first.sum(axis=0), second.sum(axis=0)
        expected = float(one @ weights @ two) / n
        chance += expected
        without += expected
        left = np.einsum("pi,ij,pj->p", one - first, weights, two - second) / (n - 1)
        without[both] += left - expected
    use = judged > 0
    if not use.any():
        return Absent("fewer than three parts were graded by both")
    if chance <= 1e-12:
        return Absent("all judgements are the same grade, so chance explains any agreement")
    return _interval(
        disagreement, judged, chance, without, float(weights[weights > 0].min()), confidence
    )


def _interval(
    disagreement: _Array,
    judged: _Array,
    chance: float,
    without: _Array,
    step: float,
    confidence: float,
) -> Interval:
    """Compute the interval of the ratio of disagreement to chance: jackknife or exact, whichever reaches farther."""
    from scipy.special import stdtrit

    use = judged > 0
    n, seen = int(use.sum()), float(disagreement.sum())
    ratio = seen / chance
    disputed = disagreement[use] > 1e-12
    # Disputed once in many comparisons weighs less than in one.
    each = float((disagreement[use] / judged[use])[disputed].mean()) if disputed.any() else step
    exact = share_interval(int(disputed.sum()), n, confidence)
    scale = each * float(judged[use].sum()) / chance
    low, high = exact.low * scale, exact.high * scale
    if int(disputed.sum()) > 1 and (without[use] > 1e-12).all():
        logs = np.log((seen - disagreement[use]) / without[use])
        spread = math.sqrt((n - 1) / n * float(((logs - logs.mean()) ** 2).sum()))
        reach = float(stdtrit(n - 1, (1 + confidence) / 2)) * spread
        low, high = (
            min(low, ratio * math.exp(-reach)),
            max(high, ratio * math.exp(min(reach, 50.0))),
        )
    return Interval(
        1 - ratio,
        min(max(1 - high, -1.0), 1 - ratio),
        min(max(1 - low, 1 - ratio), 1.0),
        confidence,
        "disagreement by part, jackknife",
    )
