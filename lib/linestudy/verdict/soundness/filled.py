"""Readings that nobody took: a gap filled with the reading before it, with what lies between its neighbours, or with one value.

Model of an honest record: differences of readings, and how far a reading lies from the middle of its neighbours, have a smooth
density. Counts of them on the grid of steps are then about alike next to each other, and so they are at nought. Three places are
looked at where filling in leaves more than that:

- *held*: the reading some rows before is repeated. The differences of nought are held against those of one and two steps, with
  the rise that the values themselves bring (a magnitude that is often nought);
- *between*: twice a reading less both neighbours is nought but for rounding, held against the places next to it;
- *one value*: a place of the grid, at neither end, that holds many times what the three on either side do.

A density may rise to its top by :data:`RISE` between two neighbouring places, or as much as it does a little further out. The least likely place counts, times their number
(exact binomial test, given the counts of the places compared).

It misleads where a gauge shows its last reading until the next is sure: then these are no measurements either. Readings drawn
at random in place of bad ones look like readings.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.results.rounding import as_given
from linestudy.verdict.facts import Doubt

#: A density may rise by this factor between places next to each other.
RISE = 1.3
#: The same of single values, whose grid may be that of another step.
RISE_OF_VALUES = 3.0
#: Middle half of the differences, in steps, from which their density is smooth on the grid.
_SMOOTH = 8.0
#: The same of readings so many rows apart that are nearest to each other, as those of one stream of several are.
_NARROWEST, _TURNS = 4.0, 16
#: Rows between a reading and the one it repeats: streams may alternate.
_LAGS = (1, 2, 3, 4)
#: Share of the spread that is taken as the step where readings come in none.
_FINE = 1e-4


def filled_in(y: Any, step: float, bound: float | None = None) -> Doubt | None:
    """Test whether readings were filled in.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
        In the order recorded.
    step : float
        Of the readings; nought where they come in none.
    bound : float, optional
        Physical bound, at which readings may pile up.

    Returns
    -------
    Doubt or None
        None where the readings are too few or too coarse.
    """
    sd = float(y.std())
    if y.size < 50 or sd <= 0:
        return None
    unit = step if step > 0 else _FINE * sd
    whole = np.round(y / unit)
    if np.abs(whole).max() > 2**50 or _narrow(whole):
        return None
    found = [one for lag in _LAGS for one in (_held(whole, lag), _between(whole, lag)) if one]
    found += [one for one in (_one_value(whole, unit, bound),) if one]
    if not found:
        return None
    p, said = min(found)
    return Doubt("filled-in readings", min(p * len(found), 1.0), said)


def _tail(here: int, beside: int, odds: float) -> float:
    """Compute the chance of so many here and so few beside, at the largest `odds` that an honest record has."""
    from scipy.special import bdtrc

    return float(bdtrc(here - 1, here + beside, odds / (1 + odds))) if here else 1.0


def _coarse(d: Any) -> bool:
    return _middle_half(d) < _SMOOTH


def _narrow(whole: Any) -> bool:
    """Check whether one stream of several moves by few steps, so that differences lie on a lattice of their levels."""
    lags = range(1, _TURNS + 1)
    return min(_middle_half(whole[lag:] - whole[:-lag]) for lag in lags) < _NARROWEST


def _middle_half(d: Any) -> float:
    low, high = np.quantile(d, [0.25, 0.75])
    return float(high - low)


def _held(whole: Any, lag: int) -> tuple[float, str] | None:
    d = np.abs(whole[lag:] - whole[:-lag])
    if _coarse(whole[lag:] - whole[:-lag]):
        return None
    here, beside = int((d == 0).sum()), int(((d == 1) | (d == 2)).sum())
    # What two readings taken at random have: values that are often taken are often taken twice.
    values, counts = np.unique(whole, return_counts=True)
    near = sum(_pairs(values, counts, k) for k in (1, 2))
    alone = float((counts * (counts - 1.0)).sum()) / 2
    p = _tail(here, beside, RISE * max(alone / near, 0.25)) if near else 1.0
    where = "the row before" if lag == 1 else f"{lag} rows before"
    return (
        p,
        f"{here} readings are that of {where}, where {beside} differ from it by one or two steps",
    )


def _pairs(values: Any, counts: Any, difference: int) -> float:
    """Sum the products of the counts of values that differ by so many steps."""
    at = np.searchsorted(values, values + difference)
    there = at < values.size
    there[there] = values[at[there]] == values[there] + difference
    return float((counts[there].astype(float) * counts[at[there]]).sum())


def _between(whole: Any, lag: int) -> tuple[float, str] | None:
    before, here, after = whole[: -2 * lag], whole[lag:-lag], whole[2 * lag :]
    bend = 2 * here - before - after
    if bend.size < 50 or _coarse(bend):
        return None
    bend = np.abs(bend[(before != here) & (after != here) & (before != after)])
    inside, beside = int((bend <= 1).sum()), int(((bend >= 2) & (bend <= 4)).sum())
    # Streams in turns make several tops, each as narrow as one of them.
    further = int(((bend >= 5) & (bend <= 7)).sum())
    p = _tail(inside, beside, max(RISE, beside / further) / 2) if further else 1.0
    distance = "" if lag == 1 else f" {lag} rows apart"
    return (
        p,
        f"{inside} readings lie in the middle between their neighbours{distance} to the last digit, and {beside} next to it",
    )


def _one_value(whole: Any, unit: float, bound: float | None) -> tuple[float, str] | None:
    values, counts = np.unique(whole, return_counts=True)
    if values.size < 12 or _coarse(whole):
        return None
    free = np.ones(values.size, dtype=bool)
    free[[0, -1]] = False
    for known in (0.0, bound):
        free &= True if known is None else np.abs(values * unit - known) >= unit
    often = np.flatnonzero(free & (counts >= 5))
    p = {
        k: _tail(int(counts[k]), _beside(values, counts, k), RISE_OF_VALUES / 6)
        for k in often.tolist()
    }
    loud = [k for k, chance in p.items() if chance * values.size < 1e-3]
    if not loud or len(loud) > 2:
        # Many such values are those of a grid within the grid.
        return (1.0, "")
    k = min(loud, key=lambda one: p[one])
    return (
        p[k] * values.size,
        f"the reading {as_given(values[k] * unit)} stands {counts[k]} times, the three places on either side {_beside(values, counts, k)} times "
        "together",
    )


def _beside(values: Any, counts: Any, k: int) -> int:
    near = np.abs(values - values[k])
    return int(counts[(near > 0) & (near <= 3)].sum())
