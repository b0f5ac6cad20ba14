"""Intervals of a characteristic's numbers where its readings come from a few lots.

Two doubts meet: how the lots to come differ from those seen (`lot_draws`), and what family the
readings follow, which the intervals of independent readings hold. For a normal distribution the
first alone is exact, the second being part of it. For another the distribution is taken to be moved
and stretched as a whole by what the lots leave open, and both doubts are added as independent ones on
the scale on which the number is nearly straight (logarithm of an index, normal deviate of a rate). Where
serial correlation has widened the intervals already, coils are in that too, and the wider end of the
two counts. How badly a few clumps of readings show the shape itself is added where the indices are made.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from linestudy.capability.lots.lot_draws import LotDraws
from linestudy.capability.quantile_movement import index_sides, scale_of
from linestudy.results import Absent, Interval
from linestudy.shape.fitting import FittedDistribution

Found = dict[str, Interval | Absent]


def sides_of(
    draws: LotDraws, fitted: FittedDistribution | None, lower: float | None, upper: float | None
) -> tuple[float | None, float | None]:
    """Compute the index of the readings towards the lower and the upper limit; None where there is none."""
    if fitted is None or fitted.family == "normal":
        return (
            None if lower is None else (draws.mean - lower) / (3 * draws.sd),
            None if upper is None else (upper - draws.mean) / (3 * draws.sd),
        )
    if lower is None and upper is None:
        return None, None
    named = index_sides(fitted, lower, upper)
    return None if lower is None else named[-1], None if upper is None else named[0]


def bound_over_lots(
    draws: LotDraws,
    estimate: float,
    bound: float,
    about: tuple[float, float],
    lower: float | None,
    upper: float | None,
    confidence: float,
) -> tuple[float, float]:
    """Compute the lower bound of an index of independent readings, with what few lots leave open.

    Parameters
    ----------
    draws : LotDraws
    estimate, bound : float
        Of the index, the values independent within their lots.
    about : tuple of float
        Mean and standard deviation of the values, by which the farther limit lies farther.
    lower, upper : float or None
    confidence : float
        Of the one-sided bound.

    Returns
    -------
    bound : float
    by_lots : float
        The bound that the lots alone give.
    """
    mean, sd = about
    plain = {
        "below": None if lower is None else (mean - lower) / (3 * sd),
        "above": None if upper is None else (upper - mean) / (3 * sd),
    }
    near = min(side for side in plain.values() if side is not None)
    if near <= 0 or estimate <= 0:
        return bound, bound
    below, above = (None if side is None else side * estimate / near for side in plain.values())
    by_lots = min(draws.bound(below, above, confidence), estimate)
    return min(_further("Ppk", estimate, by_lots, bound), bound), by_lots


def over_lots(
    found: Found,
    draws: LotDraws,
    fitted: FittedDistribution | None,
    lower: float | None,
    upper: float | None,
    *,
    target: float | None = None,
    independent: bool = True,
) -> Found:
    """Widen the intervals of indices and rates by what few lots leave open.

    Parameters
    ----------
    found : dict of str to Interval or Absent
        ``Pp``, ``Ppk``, ``Cpm`` and the rates ``below``, ``above``, ``total``, as independent readings give them.
    draws : LotDraws
    fitted : FittedDistribution or None
        Normal when absent.
    lower, upper : float or None
        Limits in the unit of the readings.
    target : float, optional
    independent : bool
        False where `found` allows for serial correlation already.

    Returns
    -------
    dict of str to Interval or Absent
    """
    normal = fitted is None or fitted.family == "normal"
    sides = dict(zip(("below", "above"), sides_of(draws, fitted, lower, upper), strict=True))
    wide = dict(found)
    for name, own in found.items():
        if not isinstance(own, Interval) or own.method == "no such limit":
            continue
        ends = _ends(name, own, draws, sides, found, lower, upper, target)
        if ends is not None:
            wide[name] = _together(name, own, ends, exact=normal and independent, add=independent)
    return wide


def _ends(
    name: str,
    own: Interval,
    draws: LotDraws,
    sides: dict[str, float | None],
    found: Found,
    lower: float | None,
    upper: float | None,
    target: float | None,
) -> tuple[float, float] | None:
    """Compute the ends of an interval by the lots alone."""
    tails = ((1 - own.confidence) / 2, (1 + own.confidence) / 2)
    if name == "Ppk":
        return draws.ends(sides["below"], sides["above"], own.confidence)
    if name == "Pp":
        low, high = np.quantile(own.estimate / draws.stretch, tails)
        return float(low), float(high)
    if name == "Cpm":
        if lower is None or upper is None or target is None:
            return None
        off = (draws.mean - target) / draws.sd + draws.shift
        sample = (upper - lower) / (6 * draws.sd * np.sqrt(draws.stretch**2 + off**2))
        low, high = np.quantile(sample, tails)
        return float(low), float(high)
    rates = [
        _rates(rate, side == "above", draws)
        for side in ("above", "below")
        if name in (side, "total")
        and sides[side] is not None
        and isinstance(rate := found.get(side, own), Interval)
        and rate.method != "no such limit"
    ]
    low, high = np.quantile(np.sum(rates, axis=0), tails)
    return float(low), float(high)


def _rates(rate: Interval, above: bool, draws: LotDraws) -> Any:
    """Draw possible rates in ppm beyond one limit, by the normal deviate of the rate found."""
    from scipy.special import ndtr, ndtri

    away = -float(ndtri(min(max(rate.estimate / 1e6, 1e-300), 1.0)))
    moved = away - draws.shift if above else away + draws.shift
    return 1e6 * ndtr(-moved / draws.stretch)


def _together(
    name: str, own: Interval, ends: tuple[float, float], *, exact: bool, add: bool
) -> Interval:
    low, high = min(ends[0], own.estimate), max(ends[1], own.estimate)
    if not exact and not add:
        low, high = min(low, own.low), max(high, own.high)
    elif not exact:
        low, high = (
            _further(name, own.estimate, end, theirs)
            for end, theirs in ((low, own.low), (high, own.high))
        )
    return Interval(
        own.estimate,
        min(low, own.estimate),
        max(high, own.estimate),
        own.confidence,
        "pivots of lots" if exact else f"{own.method}; pivots of lots",
    )


def _further(name: str, estimate: float, end: float, other: float) -> float:
    """Combine the ends, on the same side, of two independent uncertainties."""
    if name in ("Pp", "Ppk", "Cpm") and min(estimate, end, other) <= 0:
        return min(end, other) if end < estimate else max(end, other)
    there, back = scale_of("Ppk" if name == "Cpm" else name, estimate)
    middle = there(estimate)
    away = math.hypot(there(end) - middle, there(other) - middle)
    return back(middle + math.copysign(away, there(end) - middle))
