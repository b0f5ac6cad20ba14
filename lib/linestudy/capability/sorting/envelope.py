"""The index before sorting, over every family that what is left and the count of the rest do not rule out.

No family is taken to be true. Those whose cells fit and whose AIC lies within 25 of the best are kept, each with
everything its parameters may be; where thousands of readings would leave only one, so do its nearest. The ends of the
interval are the ends of all of them together, and the estimate is their median, weighed by AIC. What lies beyond the cut is
a family's word alone, so without a count of the rejected parts families that agree on what is left differ on what is
gone, and the interval says so or is not claimed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from linestudy.capability.sorting.likelihood import Reach, Sorted, reach
from linestudy.capability.sorting.parent_shapes import Process
from linestudy.results import CannotJudge

#: Difference of AIC within which a family is kept. Ten is where one has essentially no support beside a true one (Burnham &
#: Anderson 2.6); none here is true, and what lies between two of them is held only where both are kept (measured, proof).
SUPPORT = 25.0
#: So many of the best families are kept as if there were fewer readings.
_NEAREST = 3
#: What finer shapes may still gain.
_GAIN = 20.0
#: p-value of the fit below which a family does not describe what is left.
_FITS = 0.001
_CELLS = 32

Numbers = Callable[[Process, Any, Any, Any], Any]


@dataclass(frozen=True)
class Envelope:
    """Families that are not ruled out, best first.

    Attributes
    ----------
    kept : tuple of Reach
    tried : int
    """

    kept: tuple[Reach, ...]

    def with_others(self, other: Envelope) -> Envelope:
        """Combine the families kept under two settings of the sorting's error."""
        return _kept_families((*self.kept, *other.kept))

    def checked(self, rejected: float | None) -> Envelope:
        """Refuse where nothing fits, or where the likelihood does not hold a family together."""
        if not any(item.fit_p >= _FITS for item in self.kept):
            counted = " and the count of rejected parts" if rejected is not None else ""
            raise CannotJudge(
                f"No distribution describes the accepted parts{counted}, so the process before sorting is not known."
            )
        fits = Envelope(tuple(item for item in self.kept if item.nearly_p >= _FITS))
        if any(item.open for item in fits.kept):
            settles = "Readings" if rejected is not None else "The count"
            raise CannotJudge(
                "By distributions that describe the accepted parts hardly a part might have been accepted: what is left "
                f"says too little of the process before sorting. {settles} of the rejected parts would settle it."
            )
        return fits

    def range(self, number: Numbers) -> tuple[float, float, float]:
        """Compute estimate, least and greatest value of a number over all families."""
        return self._over([partial(number, r.item) for r in self.kept])

    def range_out(self) -> tuple[float, float, float]:
        """Compute the same of the share rejected."""
        return self._over([r.out for r in self.kept])

    def _over(self, numbers: list[Callable[[Any, Any, Any], Any]]) -> tuple[float, float, float]:
        weights, means, ends = [], [], []
        for item, number in zip(self.kept, numbers, strict=True):
            weights.append(np.exp((self.kept[0].aic - item.aic) / 2))
            means.append(float(number(*item.at_best)[0]))
            all_of_it = number(*item.settings.T)
            ends.append((float(np.min(all_of_it)), float(np.max(all_of_it))))
        estimate = _weighted_median(np.array(means), np.array(weights))
        low, high = min(end[0] for end in ends), max(end[1] for end in ends)
        return estimate, min(low, estimate), max(high, estimate)


def _weighted_median(values: Any, weights: Any) -> float:
    """Find the value with half of the weight on either side, by straight interpolation."""
    order = np.argsort(values, kind="stable")
    share = np.cumsum(weights[order])
    return float(np.interp(share[-1] / 2, share - weights[order] / 2, values[order]))


def _kept_families(found: tuple[Reach, ...]) -> Envelope:
    by_aic = sorted(found, key=lambda r: r.aic)
    nearest = list(dict.fromkeys(r.item.name for r in by_aic))[:_NEAREST]

    def kept(r: Reach) -> bool:
        margin = _margin(r.data) if r.item.name in nearest else SUPPORT
        return r.aic - by_aic[0].aic <= margin

    return Envelope(tuple(r for r in by_aic if kept(r)))


def _margin(data: Sorted) -> float:
    """Return the difference of AIC within which one of the nearest families is kept."""
    return SUPPORT * data.n_eff_share / data.deciding


def envelope(data: Sorted, families: list[Process], allowed: float, error: float = 0.0) -> Envelope:
    """Fit every family and keep those that the best does not rule out.

    Parameters
    ----------
    data : Sorted
    families : list of Process
    allowed : float
        Fall of twice the log likelihood within a family.
    error : float
        Standard deviation of the sorting's error that the cells were made with.

    Returns
    -------
    Envelope
    """
    found: list[Reach] = []
    for item in families:
        most = min((r.aic for r in found), default=np.inf) + _margin(data) + _GAIN
        found.append(reach(data, item, allowed, error, most))
    return _kept_families(tuple(found))


def cells_of(
    x: Any,
    lower: float | None,
    upper: float | None,
    step: float,
    bound: float | None,
    error: float,
    errors: tuple[float, ...] = (),
) -> tuple[Any, Any, Any]:
    """Return edges, counts and chance of being accepted of the cells of sorted readings.

    Parameters
    ----------
    x : numpy.ndarray of float, shape (n,)
        Ascending.
    lower, upper : float or None
        Where parts were cut.
    step : float
        Of the readings, 0 where it is fine.
    bound : float or None
        Where the process begins.
    error : float
        Standard deviation of the difference between the sorting and the recorded reading.
    errors : tuple of float
        All that are tried, so that the cells are the same for each.

    Returns
    -------
    edges, counts, passing : numpy.ndarray
    """
    first, last = _ends(x, lower, upper, step, bound, error)
    if step > 0:
        ladder = x[0] - step / 2 + step * np.arange(np.rint((x[-1] - x[0]) / step) + 2)
        inner = ladder[:: max(1, int(np.ceil(ladder.size / (2 * _CELLS))))]
        inner = np.unique(np.append(inner, ladder[-1]))
    else:
        even = np.linspace(x[0], x[-1], _CELLS // 2)
        inner = np.unique(np.append(np.quantile(x, np.linspace(0, 1, _CELLS)), even))
    if error > 0:
        near = [
            limit + each * np.linspace(-5, 5, 41)
            for limit in (lower, upper)
            if limit is not None
            for each in (errors or (error,))
        ]
        inner = np.unique(np.concatenate([inner, *near]))
    inner = inner[(inner > first) & (inner < last)]
    edges = np.concatenate([[first], inner, [last]])
    # Edges that differ by rounding alone are one.
    edges = edges[np.append(True, np.diff(edges) > 1e-9)]
    edges[-1] = last
    counts = np.histogram(x, edges)[0].astype(float)
    return edges, counts, _passing(edges, lower, upper, error)


def _ends(
    x: Any, lower: float | None, upper: float | None, step: float, bound: float | None, error: float
) -> tuple[float, float]:
    first = -np.inf if bound is None else bound
    last = np.inf
    if error > 0:
        return first, last
    # With readings in steps the last accepted one reaches half a step further.
    if lower is not None:
        first = (
            lower if step == 0 else x[0] - step / 2 - step * np.floor((x[0] - lower) / step + 1e-6)
        )
    if upper is not None:
        last = (
            upper
            if step == 0
            else x[-1] + step / 2 + step * np.floor((upper - x[-1]) / step + 1e-6)
        )
    return float(first), float(last)


def _passing(edges: Any, lower: float | None, upper: float | None, error: float) -> Any:
    from scipy.special import ndtr

    if error == 0:
        return np.ones(edges.size - 1)
    ends = edges.copy()
    ends[~np.isfinite(ends)] = np.sign(ends[~np.isfinite(ends)]) * 1e6
    middle = (ends[1:] + ends[:-1]) / 2
    passing = np.ones(middle.size)
    if upper is not None:
        passing = passing * ndtr((upper - middle) / error)
    if lower is not None:
        passing = passing - ndtr((lower - middle) / error)
    return np.clip(passing, 0.0, 1.0)
