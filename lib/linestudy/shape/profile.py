"""How far a number may move over the parameters whose likelihood is near enough to the best.

Model: twice the fall of the log likelihood, with every other parameter free to follow, is chi-square
with one degree of freedom (Wilks 1938; Venzon & Moolgavkar, *Applied Statistics* 37 (1988), 87-94).
For the few values of a short study its quantile is widened to Snedecor's F with n - k degrees of freedom
below, times n / (n - k), as a variance estimated by likelihood would have it (common practice, no source);
for the mean of thirty normal values that is five percent wider than exact, and the proof measures 95 to
98 % there.
Values that are serially correlated count as fewer: the fall allowed grows by n over their number.
Misleads where the likelihood has several tops, as that of a mixture may, and where a threshold runs
into the smallest value.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.shape.families import FAMILIES
from linestudy.shape.fitting import Fitted

#: From this many effective values on the likelihood is as good as quadratic (measured in the proof).
MANY = 2000


class Likelihood:
    """Likelihood of a family about its best, in directions in which it falls alike.

    Parameters
    ----------
    item : Fitted
        With the covariance of its free parameters.
    values : array_like of float, shape (n,)
        Those it was fitted to.
    worth : float
        Effective number of values.
    confidence : float
    """

    def __init__(self, item: Fitted, values: ArrayLike, worth: float, confidence: float) -> None:
        from scipy.special import fdtri

        self.item = item
        # A camera's values stand on a grid, so tens of thousands of them are a few hundred.
        self._x, self._counts = np.unique(np.asarray(values, dtype=float), return_counts=True)
        self._free = np.asarray(item.free, dtype=float)
        self.size = self._free.size
        spread, directions = np.linalg.eigh(item.covariance)
        self._root = directions * np.sqrt(np.maximum(spread, 1e-300))
        df = max(worth - self.size, 1.0)
        n = float(self._counts.sum())
        rise = float(fdtri(1, df, confidence)) / 2 * (worth / df) * (n / worth)
        self.radius = math.sqrt(2 * rise)
        self._best = self._loglik(self._free)
        self._rise = rise

    def at(self, u: Any) -> Fitted:
        """The family at a point, in standard errors from the best."""
        return self.item.with_free(self._near(u))

    def room(self, u: Any) -> float:
        """Share of the fall allowed that is left at a point; below zero beyond it."""
        value = self._loglik(self._near(u))
        return (self._rise - (self._best - value)) / self._rise if math.isfinite(value) else -1e3

    def _near(self, u: Any) -> NDArray[np.float64]:
        # A search may try points so far off that a scale overflows; nothing there is near enough.
        point = np.asarray(u, dtype=float)
        size = float(np.linalg.norm(point))
        far = 4 * self.radius
        return self._free + self._root @ (point * (far / size) if size > far else point)

    def _loglik(self, free: NDArray[np.float64]) -> float:
        family = FAMILIES.get(self.item.family)
        with np.errstate(all="ignore"):
            if family is None:
                density = self.item.with_free(free).logpdf(self._x)
            else:
                # The family's own density is several times faster than SciPy's.
                density = family.logpdf(
                    self._x - self.item.origin, family.unpack(free, self.item.smallest)
                )
            return float(self._counts @ density)


def extremes(
    number: Callable[[Any], float], room: Callable[[Any], float], size: int, radius: float
) -> tuple[float, float]:
    """Least and largest value of a number where there is room.

    Parameters
    ----------
    number, room : callable
        Of a point, in standard errors from the best; room is positive where the likelihood is near
        enough to the best.
    size : int
        Coordinates of a point.
    radius : float
        Distance at which a quadratic likelihood would have fallen far enough.

    Returns
    -------
    least, largest : float
        Where the search does not end on the border, that of a quadratic likelihood.
    """
    from scipy.optimize import minimize

    value = number(np.zeros(size))
    step = 1e-4 * radius
    slope = np.array([(number(step * e) - number(-step * e)) / (2 * step) for e in np.eye(size)])
    norm = float(np.linalg.norm(slope))
    if norm == 0:
        return value, value

    def downhill(sign: float, u: Any) -> float:
        return -sign * (number(u) - value) / (norm * radius)

    ends = []
    for sign in (-1.0, 1.0):
        found = minimize(
            partial(downhill, sign),
            # Begin inside of where a quadratic likelihood would end, and let the true one decide.
            sign * 0.8 * radius * slope / norm,
            method="SLSQP",
            constraints=[{"type": "ineq", "fun": room}],
            options={"maxiter": 60, "ftol": 1e-7},
        )
        good = bool(np.isfinite(found.x).all()) and room(found.x) > -0.05
        ends.append(number(found.x) if good else value + sign * radius * norm)
    return min(*ends, value), max(*ends, value)
