"""Block means of a run, long enough that serial correlation between them is negligible.

A slope or a step judged on single parts is too often significant where neighbours correlate. Means of
blocks several correlation times long are close to independent, so ordinary least squares and
Student's t hold for them ("batch means": Conway, *Management Science* 10 (1963), 47-61). Misleads
where the process moves slowly on the scale of the whole run: then few blocks remain, and intervals
are wide, as they should be.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linestudy.numerics.arrays import FloatArray, IntArray
from linestudy.results import CannotJudge


@dataclass(frozen=True)
class Blocks:
    """Block means of a run.

    Attributes
    ----------
    order, mean, n, stretch : numpy.ndarray
        Mean order number, mean value, parts and stretch of each block.
    length : int
        Parts of a full block.
    """

    order: FloatArray
    mean: FloatArray
    n: FloatArray
    stretch: IntArray
    length: int


def correlation_time(residual: Any) -> float:
    """Compute the correlation time: ``1 + 2 * sum of autocorrelations``, at least 1; the number of parts per independent part.

    Parameters
    ----------
    residual : numpy.ndarray of float, shape (n,)
        Values less their known movements.

    Returns
    -------
    float
    """
    from statsmodels.tsa.stattools import acf

    n = residual.size
    if n < 10 or np.ptp(residual) == 0:
        return 1.0
    r = np.asarray(acf(residual, nlags=max(1, min(n // 4, 4000)), fft=True))[1:]
    time = 1 + 2 * np.cumsum(r)
    enough = np.flatnonzero(np.arange(1, r.size + 1) >= 5 * np.maximum(time, 1.0))
    return max(float(time[enough[0]] if enough.size else time[-1]), 1.0)


def stretch_of(order: Any, marks: Any) -> Any:
    """Number the stretch between marks that each part lies in, from 0, without gaps."""
    numbers = np.searchsorted(np.sort(np.asarray(marks, dtype=float)), order, side="right")
    return np.unique(numbers, return_inverse=True)[1]


def block_means(y: Any, x: Any, stretch: Any, length: int) -> Blocks:
    """Average blocks of `length` neighbours that do not straddle stretches.

    Parameters
    ----------
    y, x : numpy.ndarray of float, shape (n,)
        Values and order numbers.
    stretch : numpy.ndarray of int, shape (n,)
    length : int

    Returns
    -------
    Blocks
        A remainder shorter than half a block is left out.

    Raises
    ------
    CannotJudge
        No stretch is as long as half a block.
    """
    starts = np.concatenate([[0], np.flatnonzero(np.diff(stretch)) + 1])
    sizes = np.diff(np.append(starts, y.size))
    inside = np.arange(y.size) - np.repeat(starts, sizes)
    _, block = np.unique(
        np.repeat(np.arange(starts.size), sizes) * (y.size + 1) + inside // length,
        return_inverse=True,
    )
    n = np.bincount(block).astype(float)
    keep = n >= max(length / 2, 1)
    if not keep.any():
        raise CannotJudge("The run is too short against its own serial correlation.")
    offset = float(y.mean())
    mean = offset + np.bincount(block, y - offset) / n
    order = np.bincount(block, x) / n
    first = np.unique(block, return_index=True)[1]
    return Blocks(order[keep], mean[keep], n[keep], stretch[first][keep], length)


def without_stretches(y: Any, stretch: Any, x: Any = None) -> Any:
    """Return values less the mean of their stretch and, with `x`, a common slope within stretches."""
    counts = np.bincount(stretch)
    centred = y - y.mean()
    centred = centred - (np.bincount(stretch, centred) / counts)[stretch]
    if x is None:
        return centred
    across = x - (np.bincount(stretch, x) / counts)[stretch]
    total = float(across @ across)
    return centred - across * (float(across @ centred) / total if total > 0 else 0.0)


def without_stations(y: Any, station: Any) -> Any:
    """Return values less their station's distance from the grand mean; unchanged without stations."""
    if station is None:
        return y
    import pandas as pd

    codes, levels = pd.factorize(pd.array(station))
    if len(levels) < 2 or (codes < 0).any():
        return y
    centred = y - y.mean()
    return y - (np.bincount(codes, centred) / np.bincount(codes))[codes]
