"""Masters whose values were taken from the readings themselves, so that no bias can be seen.

Model of an honest study: n readings of a master err by a bias, which may be nought, and independently of each other. The mean
error of each of k masters, squared and times n, is then on average at least the variance of repetition; their mean over that
variance follows F with k degrees of freedom and those of repetition, or lies above. A value far too small says that the masters lie
where the gauge's own averages lie. Rounding, of readings and of the masters' values, counts with n twelfths of the step's square.

Misleads where the gauge was set by these very readings: then they show how it was set, and not how it reads.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.results.rounding import as_given
from linestudy.verdict.facts import Doubt
from linestudy.verdict.soundness.readings import step_of

#: Masters, and readings of each, from which their values are looked at.
_MASTERS, _READINGS = 3, 2


def values_of_readings(reference: Any, value: Any) -> Doubt | None:
    """Whether readings of masters lie nearer to the masters' values than they repeat.

    Parameters
    ----------
    reference, value : array_like of float, shape (n,)
        In one unit.

    Returns
    -------
    Doubt or None
        None where fewer than three masters were read twice, or readings never differ.

    Examples
    --------
    >>> import numpy as np
    >>> read = np.random.default_rng(1).normal(np.arange(5)[:, None], 0.1, (5, 12)).round(4)
    >>> values_of_readings(np.arange(5).repeat(12), read.ravel()).p > 0.01
    True
    >>> values_of_readings(read.mean(axis=1).round(4).repeat(12), read.ravel()).p < 1e-6
    True
    """
    known, y = np.asarray(reference, dtype=float), np.asarray(value, dtype=float)
    masters, at = np.unique(known, return_inverse=True)
    n = np.bincount(at)
    if masters.size < _MASTERS or (n < _READINGS).any():
        return None
    mean = np.bincount(at, y - known) / n
    free = y.size - masters.size
    variance = float(((y - known - mean[at]) ** 2).sum()) / free
    if variance <= 0:
        return None
    from scipy.special import fdtr

    step = step_of(y)
    hidden = float(n.mean()) * step**2 / 12
    ratio = (float((n * mean**2).mean()) + hidden) / variance
    return Doubt(
        "masters' values taken from the readings",
        float(fdtr(masters.size, free, ratio)),
        f"{masters.size} masters were read {as_given(float(np.abs(mean).max()), digits=2)} off at most, where readings that repeat with an SD of "
        f"{as_given(np.sqrt(variance), digits=2)} differ by {as_given(np.sqrt(variance / n.mean()), digits=2)} on average",
    )
