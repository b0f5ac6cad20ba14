"""How sure one may be of the quantiles of a fitted distribution."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics.likelihood_interval import extremes
from linestudy.results import CannotJudge, Interval, arguments
from linestudy.running.deprecation import old_keywords, renamed
from linestudy.shape.fitting import FittedDistribution
from linestudy.shape.profile import MANY, can_be_followed, contour_of, is_quadratic


@old_keywords(renamed("worth", "n_eff", since="0.2.0", removal="0.3.0"))
def quantile_interval(
    fitted: FittedDistribution,
    q: float,
    *,
    confidence: float = 0.95,
    n_eff: float | None = None,
    values: ArrayLike | None = None,
) -> Interval:
    r"""Compute the confidence interval of a quantile of a fitted distribution.

    Parameters
    ----------
    fitted : FittedDistribution
        With the covariance of its coordinates (``fit(..., with_covariance=True)``).
    q : float
        Share of parts below the quantile, between 0 and 1.
    confidence : float
        Of the two-sided interval, between 0 and 1.
    n_eff : float, optional
        Effective sample size where values are serially correlated; n when absent.
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
    ValueError
        An argument outside its range.

    See Also
    --------
    fit : Fits the distribution.
    select_distribution : Gives the outer quantiles with their intervals.

    Notes
    -----
    Model: the family is right and the values are independent (or ``n_eff`` of them are). With the
    values at hand and fewer than two thousand, or a likelihood that is not quadratic, the interval is the
    range of the quantile over the parameters whose likelihood is near enough to the best (profile
    likelihood). Otherwise the variance is that of the coordinates, carried over by the delta method,

    .. math:: \operatorname{var} \hat x_q = \nabla x_q(\hat\theta)^{\top}\, \Sigma\, \nabla x_q(\hat\theta);

    for an outer quantile it is taken on the logarithm of its distance from the median, which varies
    more nearly symmetrically than the quantile itself, with the median's own movement added. Misleads
    where the family is not the true one: the doubt about the family is often larger, and is not held.

    References
    ----------
    Venzon & Moolgavkar, *Applied Statistics* 37 (1988), 87-94; Rao, *Linear Statistical Inference*
    (1973), section 6a.2.

    Examples
    --------
    >>> import numpy as np
    >>> from linestudy.shape import fit
    >>> item = fit(np.random.default_rng(2).normal(5, 1, 400), "normal", with_covariance=True)
    >>> print(quantile_interval(item, 0.99865))
    8.00 (7.77 to 8.24)
    """
    from scipy.special import ndtri

    if fitted.covariance is None or fitted.free is None:
        raise CannotJudge("The fit holds no covariance of its parameters.")
    arguments.share("q", q)
    arguments.share("confidence", confidence)
    arguments.positive(n_eff=n_eff)
    effective = float(min(n_eff or fitted.n, fitted.n))
    known = bool(np.isfinite(fitted.covariance).all())
    if values is not None and known and can_be_followed(fitted, effective):
        near = contour_of(fitted, values, max(effective, 4.0), confidence)
        if effective < MANY or not is_quadratic(near):
            low, high = extremes([lambda c: float(fitted.with_free(c).ppf(q))], near)
            return _checked(float(fitted.ppf(q)), low, high, confidence, "profile likelihood")
    free = np.asarray(fitted.free, dtype=float)
    middle, outer = (float(v) for v in fitted.ppf([0.5, q]))
    spread = float(np.subtract(*fitted.ppf([0.84134, 0.15866]))) / 2
    far = abs(outer - middle) > 0.5 * spread
    steps = 1e-3 * np.sqrt(np.diag(fitted.covariance) * fitted.n) / math.sqrt(fitted.n)
    steps = np.where(steps > 0, steps, 1e-6)
    median, distance = [], []
    for index in range(free.size):
        move = np.zeros(free.size)
        move[index] = steps[index]
        up = fitted.with_free(free + move).ppf([0.5, q])
        down = fitted.with_free(free - move).ppf([0.5, q])
        slope = (np.asarray(up) - np.asarray(down)) / (2 * steps[index])
        median.append(slope[0])
        distance.append(slope[1] - slope[0] if far else slope[1])
    factor = fitted.n / effective
    a, b = np.array(median), np.array(distance)
    z = float(ndtri((1 + confidence) / 2))
    covariance = np.asarray(fitted.covariance) * factor
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
