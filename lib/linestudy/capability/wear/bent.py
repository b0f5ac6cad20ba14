"""Whether a tool wears straight on: how far the mean moves in the first half of a life, and in the second."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from linestudy.numerics.arrays import FloatArray

#: Blocks of a life, fewest parts of one, and share of the longest life that a life must have to count.
_BLOCKS, _LEAST, _WHOLE = 20, 5, 0.6
#: Fewest lives, level of the test, and share of the wear by which the halves must differ to matter (common practice, no source).
_LIVES, _LEVEL, _MATTERS = 3, 0.01, 0.25


@dataclass(frozen=True, slots=True)
class Bend:
    """Wear that is not straight.

    Attributes
    ----------
    first, second : float
        [unit of the values] By how much the mean moves in the first and in the second half of a life.
    lives : int
        Lives that show it.
    """

    first: float
    second: float
    lives: int


def bend_of(values: FloatArray, order: FloatArray, resets: Sequence[float]) -> Bend | None:
    """Tell whether the halves of tool lives wear by different amounts; None where nothing shows, or too few lives do.

    Parameters
    ----------
    values, order : numpy.ndarray of float, shape (n,)
        In production order, streams brought to one level.
    resets : sequence of float
        Strokes at which the tool was ground.

    Returns
    -------
    Bend or None

    Notes
    -----
    Model: each life is one observation of how much more the mean moves in its second half than in its first, by lines through the
    block means of either half, so that correlation within a life does no harm. Student's t over lives, level 0.01, and a
    difference of at least a quarter of the wear. Misleads where a run begins with a tool already worn and has three lives only.
    """
    from scipy.stats import ttest_1samp

    marks = sorted({float(at) for at in resets if order[0] < at <= order[-1]})
    cuts = np.searchsorted(order, marks)
    lives = [rows for rows in np.split(np.arange(order.size), cuts) if rows.size]
    longest = max(float(np.ptp(order[rows])) for rows in lives)
    moves = [
        _moves(values[rows], order[rows])
        for rows in lives
        if rows.size >= _BLOCKS * _LEAST and np.ptp(order[rows]) >= _WHOLE * longest
    ]
    if len(moves) < _LIVES:
        return None
    first, second = np.array(moves).T
    difference, whole = float((second - first).mean()), float((first + second).mean())
    if (
        abs(difference) < _MATTERS * max(abs(whole), abs(difference))
        or abs(whole) < abs(difference) / 4
    ):
        return None
    if float(ttest_1samp(second - first, 0.0).pvalue) >= _LEVEL:
        return None
    return Bend(float(first.mean()), float(second.mean()), len(moves))


def _moves(y: FloatArray, x: FloatArray) -> tuple[float, float]:
    """Compute how far a line through the block means of either half goes."""
    blocks = np.array_split(np.arange(y.size), _BLOCKS)
    mean = np.array([y[rows].mean() for rows in blocks])
    at = np.array([x[rows].mean() for rows in blocks])
    half = float(np.ptp(x)) / 2
    middle = float(x[0]) + half
    early = at < middle
    first, second = (
        float(np.polyfit(at[side], mean[side], 1)[0]) * half for side in (early, ~early)
    )
    return first, second
