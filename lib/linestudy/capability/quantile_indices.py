"""Indices from quantiles, for any distribution.

Model: the fitted family is right. ``Pp = (U - L) / (x99.865 - x0.135)`` and
``Ppk = min((U - x50) / (x99.865 - x50), (x50 - L) / (x50 - x0.135))`` (ISO 22514-4:2016, general
geometric method). For a normal distribution they are the usual indices. Their uncertainty is that
of the fitted parameters: the range over which the likelihood stays near enough to its best
(`profile`), which for thousands of values and a likelihood that is quadratic is that of its curvature (delta
method on the logarithm);
both are made larger for serial correlation. Where a family has no curvature to start from, or the
values are not at hand, few values are drawn and fitted again (parametric bootstrap).
What it does not hold is the doubt about the family. Where nothing but the values chose the family,
`envelope` widens every interval until it holds those of all families that describe the values about
as well (``ShapeStudy.admissible``); the proof of room shape measures what that is worth.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from linestudy.capability.quantile_movement import by_curvature, by_refits, profiled, targets_of
from linestudy.results import Absent, CannotJudge, Interval
from linestudy.shape import Fitted
from linestudy.shape.profile import MANY, contour_of, is_quadratic

#: Below this many effective values the curvature alone is not trusted.
_FEW = 200
_NO_LIMIT = "no such limit"


def quantile_intervals(
    item: Fitted,
    lower: float | None,
    upper: float | None,
    n_mean: float,
    n_spread: float,
    confidence: float = 0.95,
    rng: np.random.Generator | None = None,
    refits: int = 400,
    values: ArrayLike | None = None,
) -> dict[str, Interval | Absent]:
    """Pp, Ppk and expected parts per million with intervals, for a fitted distribution.

    Parameters
    ----------
    item : Fitted
        With the covariance of its free parameters.
    lower, upper : float or None
    n_mean, n_spread : float
        Effective numbers of values for the mean and for the spread.
    confidence : float
    rng : numpy.random.Generator, optional
    refits : int
        Refits of the parametric bootstrap where values are few and not given.
    values : array_like of float, shape (n,), optional
        Those the distribution was fitted to; below two thousand effective ones the likelihood is
        then followed itself.

    Returns
    -------
    dict
        ``Pp``, ``Ppk``, ``below``, ``above``, ``total`` (the last three in ppm).

    Raises
    ------
    CannotJudge
        Too few simulated samples could be fitted.

    Notes
    -----
    ISO 22514-4:2016 for the indices; profile likelihood (Venzon & Moolgavkar, *Applied Statistics*
    37 (1988), 87-94), for many values the delta method on the logarithm; without the values, below
    200 effective ones, a parametric bootstrap (Davison & Hinkley, *Bootstrap Methods and their
    Application*, 1997, ch. 5).

    Examples
    --------
    >>> import numpy as np
    >>> from linestudy.shape import fit
    >>> y = np.random.default_rng(1).normal(0, 1, 400)
    >>> item = fit(y, "normal", uncertainty=True)
    >>> found = quantile_intervals(item, -4.0, 4.0, 400, 400)
    >>> found["Ppk"].low < found["Ppk"].estimate < found["Ppk"].high
    True
    """
    targets = targets_of(lower, upper)
    found: dict[str, Interval | Absent]
    worth = min(n_mean, n_spread)
    curved = item.covariance is not None and bool(np.isfinite(item.covariance).all())
    contour = None
    if curved and values is not None:
        contour = contour_of(item, values, max(n_spread, 4.0), confidence)
    if contour is not None and (worth < MANY or not is_quadratic(contour)):
        found = {
            name: profiled(
                item, contour, name, target, (lower, upper), n_mean, n_spread, confidence
            )
            for name, target in targets.items()
        }
    elif worth < _FEW or not curved:
        source = rng or np.random.default_rng(0)
        found = by_refits(item, targets, round(max(worth, 10)), confidence, source, refits)
    else:
        found = {
            name: by_curvature(item, target, n_mean, n_spread, confidence)
            for name, target in targets.items()
        }
    if "total" not in found:
        found["total"] = found["below" if upper is None else "above"]
    zero = Interval(0.0, 0.0, 0.0, confidence, _NO_LIMIT)
    if lower is None or upper is None:
        found["Pp"] = Absent("there is one limit only")
    return {"below": zero, "above": zero} | found


def envelope(
    found: dict[str, Interval | Absent],
    others: Iterable[Fitted],
    lower: float | None,
    upper: float | None,
    n_mean: float,
    n_spread: float,
    rng: np.random.Generator | None = None,
    values: ArrayLike | None = None,
) -> dict[str, Interval | Absent]:
    """Intervals widened until they hold those of other families too.

    Parameters
    ----------
    found : dict
        As :func:`quantile_intervals` gives them, of the family that was chosen.
    others : iterable of Fitted
        Families that describe the values about as well.
    lower, upper : float or None
    n_mean, n_spread : float
        Effective numbers of values.
    rng : numpy.random.Generator, optional
    values : array_like of float, shape (n,), optional
        As for :func:`quantile_intervals`, where they are worth fewer than two hundred.

    Returns
    -------
    dict
        Estimates are those of the chosen family.

    Examples
    --------
    >>> import numpy as np
    >>> from linestudy.shape import fit
    >>> y = np.random.default_rng(1).normal(0, 1, 400)
    >>> one, other = (fit(y, name, uncertainty=True) for name in ("normal", "logistic"))
    >>> own = quantile_intervals(one, -4.0, 4.0, 400, 400)
    >>> both = envelope(own, [other], -4.0, 4.0, 400, 400)
    >>> bool(both["Ppk"].low < own["Ppk"].low and both["Ppk"].high == own["Ppk"].high)
    True
    """
    wide, count = dict(found), 1
    # From two hundred values on their curvature will do: they only widen what the likelihood gave.
    near = values if min(n_mean, n_spread) < _FEW else None
    for item in others:
        try:
            theirs = quantile_intervals(
                item, lower, upper, n_mean, n_spread, _confidence(found), rng, values=near
            )
        except CannotJudge:
            continue
        count += 1
        for name, own in wide.items():
            other = theirs.get(name)
            if isinstance(own, Interval) and isinstance(other, Interval):
                wide[name] = replace(
                    own, low=min(own.low, other.low), high=max(own.high, other.high)
                )
    if count == 1:
        return wide
    return {
        name: replace(own, method=f"{own.method}; envelope of {count} families")
        if isinstance(own, Interval) and own.method != _NO_LIMIT
        else own
        for name, own in wide.items()
    }


def _confidence(found: dict[str, Interval | Absent]) -> float:
    return next(item.confidence for item in found.values() if isinstance(item, Interval))
