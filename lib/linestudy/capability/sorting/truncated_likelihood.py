"""Likelihood of a truncated distribution, and the range of a number that it allows."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linestudy.numerics.likelihood_interval import Contour, extremes
from linestudy.numerics.maximum import climb
from linestudy.numerics.quadrature import legendre
from linestudy.results import CannotJudge, Interval
from linestudy.shape.families.family import moved
from linestudy.shape.fitting import (
    FittedDistribution,
    covariance_of,
    fit_counts,
    mean_likelihood,
    standardised,
)
from linestudy.shape.profile import standard_errors

Index = Callable[[FittedDistribution], float]

#: Step of the differences by which the accepted share changes with the coordinates, on a scale of one.
_STEP = 1e-3
#: Points of the average over the sorting's error, and how far it reaches in standard deviations.
_NODES, _FAR = 96, 8.0


@cache
def _normal_rule() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Points and weights that average over a standard normal error."""
    nodes, weights = legendre(_NODES)
    density = np.exp(-0.5 * (_FAR * nodes) ** 2)
    return _FAR * nodes, weights * density / float(weights @ density)


class TruncatedFit:
    """A family fitted to a truncated distribution.

    Parameters
    ----------
    x, counts : numpy.ndarray of float, shape (m,)
        Distinct values, ascending, and how often each occurs.
    family : str
        Its name.
    bound : float or None
        Physical bound.
    lower, upper : float or None
        Where the parts were cut.
    sorting_error_sd : float
        Standard deviation of the difference between the sorting reading and the recorded value.

    Raises
    ------
    CannotJudge
        The family cannot describe what is left, or its likelihood has no top.
    """

    def __init__(
        self,
        x: NDArray[np.float64],
        counts: NDArray[np.float64],
        family: str,
        bound: float | None,
        lower: float | None,
        upper: float | None,
        sorting_error_sd: float,
    ) -> None:
        self.n = float(counts.sum())
        self.lower, self.upper, self.sorting_error_sd = lower, upper, sorting_error_sd
        start = fit_counts(x, counts, family, bound)
        self.kind = kind = start.kind
        self.start = start
        u, self._shift, self._scale = standardised(x, counts, kind, bound)
        self._whole, self._slopes = mean_likelihood(u, counts, kind)
        self.u, self.counts = u, counts
        at = moved(
            start.coordinates, kind.coordinate_kinds, -self._shift / self._scale, 1 / self._scale
        )
        top = climb(self.value, self.slopes, at, kind.limits, self.n)
        self.fitted = self.item(top.point)
        self.best = self.n * (math.log(self._scale) - top.value)
        known = top.determined and kind.degenerate(top.point) is None
        if not (known and math.isfinite(self.best)) or self.accepted(self.fitted) < 0.02:
            raise CannotJudge(
                f"By a {family} distribution hardly a part would have been accepted, or its likelihood has no "
                "top; what is left says too little of the process."
            )
        self.top = top

    @property
    def aicc(self) -> float:
        k = self.top.point.size
        return 2 * self.best + 2 * k + 2 * k * (k + 1) / max(self.n - k - 1, 1.0)

    def item(self, point: Any) -> FittedDistribution:
        """Return the family at coordinates on a scale of one."""
        return self.start.with_free(
            moved(point, self.kind.coordinate_kinds, self._shift, self._scale)
        )

    def accepted(self, item: FittedDistribution) -> float:
        """Compute the share of all parts that passes the sorting."""
        # Averaged over the error of the sorting reading, which is smooth however small the error is.
        error, weight = (np.zeros(1), np.ones(1)) if self.sorting_error_sd == 0 else _normal_rule()
        out = 0.0
        if self.upper is not None:
            out += float(weight @ item.sf(self.upper - self.sorting_error_sd * error))
        if self.lower is not None:
            out += float(weight @ item.cdf(self.lower - self.sorting_error_sd * error))
        return max(1 - out, 0.0)

    def value(self, point: Any) -> float:
        """Compute the mean log likelihood of the truncated values, on a scale of one."""
        whole = self._whole(point)
        with np.errstate(all="ignore"):
            share = self.accepted(self.item(point))
        return whole - math.log(share) if share > 1e-6 and math.isfinite(whole) else -math.inf

    def slopes(self, point: Any) -> NDArray[np.float64]:
        """Compute the derivatives of the mean log likelihood by the coordinates."""
        found = np.empty(len(point))
        for index in range(len(point)):
            move = np.zeros(len(point))
            move[index] = _STEP

            def log_share(times: float, move: Any = move) -> float:
                return math.log(max(self.accepted(self.item(point + times * move)), 1e-300))

            one, two = log_share(1) - log_share(-1), log_share(2) - log_share(-2)
            found[index] = (8 * one - two) / (12 * _STEP)
        return np.asarray(self._slopes(point) - found, dtype=float)

    def contour(self, allowed: float) -> Contour:
        """Make the contour where the log likelihood has fallen as far as is allowed."""
        best = self.top.point
        top = self.kind.logpdf(self.u, best)
        passing = self.accepted(self.fitted)

        def fall(point: NDArray[np.float64]) -> float:
            with np.errstate(all="ignore"):
                share = self.accepted(self.item(point))
                if not share > 1e-6:
                    return math.inf
                down = float(self.counts @ (top - self.kind.logpdf(self.u, point)))
            found = down + self.n * math.log(share / passing)
            return found if math.isfinite(found) else math.inf

        def slopes(point: NDArray[np.float64]) -> NDArray[np.float64]:
            found = self.n * self.slopes(point)
            return np.where(np.isfinite(found), found, 0.0)

        root = standard_errors(covariance_of(self.n * self.top.information))
        return Contour(best, fall, slopes, root, allowed)


def range_of(
    problem: TruncatedFit, indices: Sequence[Index], share_effective: float, confidence: float
) -> Interval:
    """Find the range of a number over the parameters whose likelihood is near enough to the best.

    Parameters
    ----------
    problem : TruncatedFit
        The fitted family.
    indices : sequence of callable
        From a fitted distribution to the number; of several the least counts.
    share_effective : float
        Effective over actual sample size.
    confidence : float
        Of the interval, between 0 and 1.

    Returns
    -------
    Interval
        In the unit of the number.
    """
    from scipy.special import chdtri

    contour = problem.contour(float(chdtri(1, 1 - confidence)) / (2 * share_effective))

    def at(index: Index) -> Callable[[NDArray[np.float64]], float]:
        return lambda point: index(problem.item(point))

    numbers = [at(index) for index in indices]
    low, high = extremes(numbers, contour)
    estimate = min(index(problem.fitted) for index in indices)
    return Interval(estimate, low, high, confidence, "profile likelihood, truncated distribution")
