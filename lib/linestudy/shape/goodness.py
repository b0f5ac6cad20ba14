"""Anderson-Darling for any family, with a p-value that knows the parameters were estimated.

The null distribution depends on the family and on its parameters having been fitted to the same
values, so it is simulated: samples are drawn from the fitted family, fitted again, and measured
against their own fit (Stute, Gonzáles-Manteiga & Presedo-Quindimil, *Metrika* 40 (1993)).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.core import Absent, CannotJudge
from linestudy.shape.fitting import Fitted, fit_counts, smallest_step


def anderson_darling(item: Fitted, values: Any) -> float:
    """Anderson-Darling statistic of values against a fitted distribution.

    Parameters
    ----------
    item : Fitted
    values : array_like of float, shape (n,)

    Returns
    -------
    float

    Notes
    -----
    Anderson & Darling, *JASA* 49 (1954), eq. 1. Probabilities are kept away from 0 and 1
    by the smallest double, so that one impossible value gives a large number, not infinity.

    Examples
    --------
    >>> from linestudy.shape import fit
    >>> y = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]
    >>> round(anderson_darling(fit(y, "normal"), y), 3)
    0.17
    """
    y = np.sort(np.asarray(values, dtype=float))
    n = y.size
    if item.bound is not None and y[0] <= item.bound:
        y = np.maximum(y, item.bound + smallest_step(y) / 4)
    tiny = np.finfo(float).tiny
    lower = np.log(np.maximum(item.cdf(y), tiny))
    upper = np.log(np.maximum(item.sf(y), tiny))[::-1]
    weights = (2 * np.arange(1, n + 1) - 1) / n
    return float(-n - weights @ (lower + upper))


def bootstrap_p(item: Fitted, values: Any, refits: int, rng: np.random.Generator) -> float | Absent:
    """p-value of the Anderson-Darling statistic, parameters estimated.

    Parameters
    ----------
    item : Fitted
        Its family is fitted to `values` anew.
    values : array_like of float, shape (n,)
        Independent values.
    refits : int
        Simulated samples; the smallest p is ``1 / (refits + 1)``.
    rng : numpy.random.Generator

    Returns
    -------
    float or Absent

    Examples
    --------
    >>> import numpy as np
    >>> from linestudy.shape import fit
    >>> y = np.random.default_rng(1).normal(size=50)
    >>> p = bootstrap_p(fit(y, "normal"), y, 39, np.random.default_rng(2))
    >>> 0.025 <= p <= 1
    True
    """
    y = np.asarray(values, dtype=float)
    try:
        own = _refit(item, y)
    except CannotJudge as stop:
        return Absent(stop.reason.rstrip("."))
    observed = anderson_darling(own, y)
    # Readings come in steps; simulated ones must, or rounding alone would reject.
    steps = np.diff(np.unique(y))
    step = float(steps.min()) if steps.size else 0.0
    above = done = 0
    for _ in range(refits):
        sample = own.rvs(y.size, rng)
        if step > 0:
            sample = np.round(sample / step) * step
            if item.bound is not None:
                sample = np.maximum(sample, item.bound)
        try:
            again = _refit(own, sample, near=own)
        except CannotJudge:
            continue
        done += 1
        above += anderson_darling(again, sample) >= observed
    if done < refits / 2:
        return Absent("too many simulated samples could not be fitted")
    return (above + 1) / (done + 1)


def _refit(item: Fitted, values: Any, near: Fitted | None = None) -> Fitted:
    x, counts = np.unique(values, return_counts=True)
    return fit_counts(x, counts.astype(float), item.family, item.bound, near=near)
