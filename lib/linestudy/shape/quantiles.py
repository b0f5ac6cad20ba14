"""How sure one may be of a fitted distribution's quantiles.

Model: the family is right and the values are independent (or worth `worth` of them). With the values
at hand and fewer than two thousand, or a likelihood that is not quadratic, the range is that of the parameters whose likelihood is near
enough to the best (`profile`). Otherwise the variance of a quantile is that of the free parameters
(curvature of the likelihood) carried over by the delta method (Rao, *Linear Statistical Inference*
(1973), section 6a.2); for an outer quantile it is taken on the logarithm of its distance from the
median, which varies more nearly symmetrically than the quantile itself, with the median's own movement
added. Says nothing of the doubt about the family, which is often larger; the proof holds how often
the intervals cover, family by family.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics.likelihood_interval import extremes
from linestudy.results import CannotJudge, Interval
from linestudy.shape.fitting import Fitted
from linestudy.shape.profile import MANY, contour_of, is_quadratic


def quantile_interval(
    item: Fitted,
    q: float,
    confidence: float = 0.95,
    worth: float | None = None,
    values: ArrayLike | None = None,
) -> Interval:
    """Confidence interval of a quantile of a fitted distribution.

    Parameters
    ----------
    item : Fitted
        With the covariance of its free parameters (``fit(..., uncertainty=True)``).
    q : float
        Share of parts below the quantile.
    confidence : float
    worth : float, optional
        Independent values that the values are worth; all of them when absent.
    values : array_like of float, shape (n,), optional
        Those the distribution was fitted to.

    Returns
    -------
    Interval
        In the unit of the values.

    Raises
    ------
    CannotJudge
        The fit holds no covariance, or the quantile has no finite uncertainty.

    Examples
    --------
    >>> import numpy as np
    >>> from linestudy.shape import fit
    >>> item = fit(np.random.default_rng(2).normal(5, 1, 400), "normal", uncertainty=True)
    >>> found = quantile_interval(item, 0.99865)
    >>> bool(found.low < 8 < found.high)
    True
    """
    from scipy.special import ndtri

    if item.covariance is None or item.free is None:
        raise CannotJudge("The fit holds no covariance of its parameters.")
    effective = float(min(worth or item.n, item.n))
    if values is not None and np.isfinite(item.covariance).all():
        near = contour_of(item, values, max(effective, 4.0), confidence)
        if effective < MANY or not is_quadratic(near):
            low, high = extremes([lambda c: float(item.with_free(c).ppf(q))], near)
            return _checked(float(item.ppf(q)), low, high, confidence, "profile likelihood")
    free = np.asarray(item.free, dtype=float)
    middle, outer = (float(v) for v in item.ppf([0.5, q]))
    spread = float(np.subtract(*item.ppf([0.84134, 0.15866]))) / 2
    far = abs(outer - middle) > 0.5 * spread
    steps = 1e-3 * np.sqrt(np.diag(item.covariance) * item.n) / math.sqrt(item.n)
    steps = np.where(steps > 0, steps, 1e-6)
    median, distance = [], []
    for index in range(free.size):
        move = np.zeros(free.size)
        move[index] = steps[index]
        up = item.with_free(free + move).ppf([0.5, q])
        down = item.with_free(free - move).ppf([0.5, q])
        slope = (np.asarray(up) - np.asarray(down)) / (2 * steps[index])
        median.append(slope[0])
        distance.append(slope[1] - slope[0] if far else slope[1])
    factor = item.n / effective
    a, b = np.array(median), np.array(distance)
    z = float(ndtri((1 + confidence) / 2))
    covariance = np.asarray(item.covariance) * factor
    total = math.sqrt(max(float((a + b) @ covariance @ (a + b)), 0.0)) if far else 0.0
    alone = math.sqrt(max(float(b @ covariance @ b), 0.0))
    if not far or total < 0.5 * alone:
        # Near the median, or held by a bound: the quantile moves evenly to both sides.
        half = z * (total if far else alone)
        return _checked(outer, outer - half, outer + half, confidence, "delta")
    # The distance's logarithm, and beside it the part of the median that goes with it or against.
    size = abs(outer - middle)
    sign = math.copysign(1.0, outer - middle)
    # Each side has the width of the logarithm's interval, scaled to the quantile's own variance.
    ratio = total / alone if alone > 0 else 1.0
    grown = min(z * alone / size, 50.0)
    longer = size * math.expm1(grown) * ratio
    shorter = -size * math.expm1(-grown) * ratio
    low, high = (outer - shorter, outer + longer) if sign > 0 else (outer - longer, outer + shorter)
    return _checked(
        outer, low, high, confidence, "delta, logarithm of the distance from the median"
    )


def _checked(estimate: float, low: float, high: float, confidence: float, method: str) -> Interval:
    values: Any = [estimate, low, high]
    if not np.isfinite(values).all():
        raise CannotJudge("The quantile has no finite uncertainty.")
    return Interval(estimate, low, high, confidence, method)
