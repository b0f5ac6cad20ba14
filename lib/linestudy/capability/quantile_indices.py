"""Indices from the quantiles of a fitted distribution, with their intervals."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.capability.quantile_movement import by_curvature, by_refits, profiled, targets_of
from linestudy.capability.streams.streams_together import StreamMixture, mixture_intervals
from linestudy.results import Absent, CannotJudge, Interval, arguments
from linestudy.shape.fitting import FittedDistribution
from linestudy.shape.profile import MANY, can_be_followed, contour_of, is_quadratic

#: Below this many effective values the curvature alone is not trusted.
_FEW = 200
_NO_LIMIT = "no such limit"
#: The readings do not determine an index whose interval spans more than tenfold (common practice, no source), unless it is near
#: nought, where any spread does.
_TENFOLD, _NEAR_NOUGHT = 10.0, 1 / 3


def is_uninformative(index: Interval | Absent) -> bool:
    """Check whether an interval of an index spans more than tenfold.

    Parameters
    ----------
    index : Interval or Absent

    Returns
    -------
    bool

    Examples
    --------
    >>> is_uninformative(Interval(2.0, 0.1, 99.0, 0.95, "profile likelihood"))
    True
    """
    return (
        isinstance(index, Interval)
        and index.estimate > _NEAR_NOUGHT
        and index.high > _TENFOLD * max(index.low, 0.0)
    )


def quantile_intervals(
    fitted: FittedDistribution,
    lower: float | None,
    upper: float | None,
    *,
    n_eff_mean: float,
    n_eff_sd: float,
    confidence: float = 0.95,
    rng: np.random.Generator | None = None,
    refits: int = 400,
    values: ArrayLike | None = None,
    with_rates: bool = True,
) -> dict[str, Interval | Absent]:
    r"""Compute Pp, Ppk and expected parts per million with intervals, for a fitted distribution.

    Parameters
    ----------
    fitted : FittedDistribution
        With the covariance of its coordinates (``fit(..., with_covariance=True)``).
    lower, upper : float or None
        Tolerance limits in the unit of the values; at least one.
    n_eff_mean, n_eff_sd : float
        Effective sample sizes for the mean and for the standard deviation.
    confidence : float
        Of the two-sided intervals, between 0 and 1.
    rng : numpy.random.Generator, optional
        Source of the parametric bootstrap; a fixed one when absent.
    refits : int
        Refits of the parametric bootstrap where values are few and not given.
    values : array_like of float, shape (n,), optional
        Those the distribution was fitted to; below two thousand effective ones the likelihood is
        then followed itself.
    with_rates : bool
        Whether to compute expected rates too; they take more than half of the time.

    Returns
    -------
    dict of str to Interval or Absent
        ``Pp``, ``Ppk``, ``below``, ``above``, ``total`` (the last three in ppm).

    Raises
    ------
    CannotJudge
        Too few simulated samples could be fitted.
    ValueError, TypeError
        No limit, limits that are not in order, or an argument outside its range.

    See Also
    --------
    quantile_index : The indices without intervals.
    process_capability : All indices of a sample at once.

    Notes
    -----
    Model: the fitted family is right.

    .. math:: P_p = \frac{U - L}{x_{0.99865} - x_{0.00135}}, \qquad
        P_{pk} = \min\left(\frac{U - x_{0.5}}{x_{0.99865} - x_{0.5}},
        \frac{x_{0.5} - L}{x_{0.5} - x_{0.00135}}\right)

    For a normal distribution they are the usual indices. Their uncertainty is that of the fitted
    parameters: the range over which the likelihood stays near enough to its best, which for thousands
    of values and a likelihood that is quadratic is that of its curvature (delta method on the logarithm);
    both are made larger for serial correlation. Where a family has no curvature to start from, or fewer
    than 200 effective values are not at hand, values are drawn and fitted again (parametric bootstrap).
    Misleads where none of the families is the true one: the doubt about the family is not held.

    References
    ----------
    ISO 22514-4:2016; Venzon & Moolgavkar, *Applied Statistics* 37 (1988), 87-94; Davison & Hinkley,
    *Bootstrap Methods and their Application* (1997), ch. 5.

    Examples
    --------
    >>> import numpy as np
    >>> from linestudy.shape import fit
    >>> y = np.random.default_rng(1).normal(0, 1, 400)
    >>> item = fit(y, "normal", with_covariance=True)
    >>> print(quantile_intervals(item, -4.0, 4.0, n_eff_mean=400, n_eff_sd=400)["Ppk"])
    1.44 (1.33 to 1.54)
    """
    lower, upper = arguments.limits(lower, upper)
    arguments.share("confidence", confidence)
    arguments.positive(n_eff_mean=n_eff_mean, n_eff_sd=n_eff_sd)
    arguments.whole("refits", refits, least=1)
    found: dict[str, Interval | Absent]
    if isinstance(fitted, StreamMixture):
        sizes: Any = {"n_eff_mean": n_eff_mean, "n_eff_sd": n_eff_sd, "confidence": confidence}
        source = rng or np.random.default_rng(0)
        found = dict(mixture_intervals(fitted, lower, upper, **sizes, rng=source))
        return _whole(found, lower, upper, confidence)
    targets = targets_of(lower, upper)
    if not with_rates:
        targets = {name: target for name, target in targets.items() if name in ("Pp", "Ppk")}
    fewest = min(n_eff_mean, n_eff_sd)
    curved = fitted.covariance is not None and bool(np.isfinite(fitted.covariance).all())
    contour = None
    followed = can_be_followed(fitted, fewest)
    if curved and followed and values is not None:
        contour = contour_of(fitted, values, max(n_eff_sd, 4.0), confidence)
    if contour is not None and (fewest < MANY or not is_quadratic(contour)):
        found = {
            name: profiled(
                fitted, contour, name, target, (lower, upper), n_eff_mean, n_eff_sd, confidence
            )
            for name, target in targets.items()
        }
    elif (fewest < _FEW and followed) or not curved:
        source = rng or np.random.default_rng(0)
        found = by_refits(fitted, targets, round(max(fewest, 10)), confidence, source, refits)
    else:
        found = {
            name: by_curvature(
                fitted, target, n_eff_mean, n_eff_sd, confidence, math.inf if "P" in name else 1e6
            )
            for name, target in targets.items()
        }
    return _whole(found, lower, upper, confidence)


def _whole(
    found: dict[str, Interval | Absent],
    lower: float | None,
    upper: float | None,
    confidence: float,
) -> dict[str, Interval | Absent]:
    """Add the entries of a limit that is not there."""
    if "total" not in found and {"below", "above"} & found.keys():
        found["total"] = found["below" if upper is None else "above"]
    zero = Interval(0.0, 0.0, 0.0, confidence, _NO_LIMIT)
    if lower is None or upper is None:
        found["Pp"] = Absent("there is one limit only")
    return {"below": zero, "above": zero} | found


def envelope(
    found: dict[str, Interval | Absent],
    others: Iterable[FittedDistribution],
    lower: float | None,
    upper: float | None,
    *,
    n_eff_mean: float,
    n_eff_sd: float,
    rng: np.random.Generator | None = None,
    values: ArrayLike | None = None,
    with_rates: bool = True,
) -> dict[str, Interval | Absent]:
    """Widen intervals until they hold those of other families too.

    Parameters
    ----------
    found : dict
        As :func:`quantile_intervals` gives them, of the family that was chosen.
    others : iterable of FittedDistribution
        Families that describe the values about as well.
    lower, upper : float or None
        Tolerance limits in the unit of the values.
    n_eff_mean, n_eff_sd : float
        Effective sample sizes for the mean and for the standard deviation.
    rng : numpy.random.Generator, optional
        As for :func:`quantile_intervals`.
    values : array_like of float, shape (n,), optional
        As for :func:`quantile_intervals`, where fewer than two hundred are effective.
    with_rates : bool
        Whether `found` has expected rates besides the indices.

    Returns
    -------
    dict
        Estimates are those of the chosen family.

    Examples
    --------
    >>> import numpy as np
    >>> from linestudy.shape import fit
    >>> y = np.random.default_rng(1).normal(0, 1, 400)
    >>> one, other = (fit(y, name, with_covariance=True) for name in ("normal", "logistic"))
    >>> own = quantile_intervals(one, -4.0, 4.0, n_eff_mean=400, n_eff_sd=400)
    >>> both = envelope(own, [other], -4.0, 4.0, n_eff_mean=400, n_eff_sd=400)
    >>> bool(both["Ppk"].low < own["Ppk"].low and both["Ppk"].high == own["Ppk"].high)
    True
    """
    wide, count = dict(found), 1
    # From two hundred values on their curvature will do: they only widen what the likelihood gave.
    near = values if min(n_eff_mean, n_eff_sd) < _FEW else None
    for item in others:
        try:
            theirs = quantile_intervals(
                item,
                lower,
                upper,
                n_eff_mean=n_eff_mean,
                n_eff_sd=n_eff_sd,
                confidence=_confidence(found),
                rng=rng,
                values=near,
                with_rates=with_rates,
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
