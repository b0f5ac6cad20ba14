"""Nonconforming parts: expected of a normal process, counted, and still possible where none was seen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from linestudy.capability.indices import check_moments
from linestudy.numerics.normal_intervals import one_sided_index_interval
from linestudy.numerics.shares import share_interval
from linestudy.results import Interval, arguments, data_arguments


@dataclass(frozen=True, slots=True)
class ObservedNonconforming:
    """Values counted outside the limits.

    Attributes
    ----------
    below, above : int
        Values below the lower and above the upper limit.
    n : int
        All values.
    ppm : Interval
        [ppm] Share outside either limit, with the interval of Clopper and Pearson.
    """

    below: int
    above: int
    n: int
    ppm: Interval


def normal_nonconforming(
    mean: float,
    sd: float,
    *,
    n: float,
    df: float,
    lower: float | None,
    upper: float | None,
    confidence: float = 0.95,
    draws: int = 20_000,
    rng: np.random.Generator | None = None,
) -> dict[str, Interval]:
    r"""Compute the expected parts per million below, above and outside the limits, for normal values.

    Parameters
    ----------
    mean, sd : float
        In the unit of the limits.
    n, df : float
        (Effective) number of values behind the mean, and degrees of freedom of `sd`.
    lower, upper : float or None
        Tolerance limits; at least one.
    confidence : float
        Of the two-sided intervals, between 0 and 1.
    draws : int
        Draws of the pivotal quantities for the total.
    rng : numpy.random.Generator, optional
        Source of the draws; a fixed one when absent.

    Returns
    -------
    dict of str to Interval
        ``below``, ``above``, ``total`` in parts per million; exact (noncentral t) for each
        side, generalized pivot for the total.

    Raises
    ------
    ValueError, TypeError
        An argument outside its range, no limit, or limits that are not in order.

    See Also
    --------
    observed_nonconforming : What was counted.

    Notes
    -----
    Model: normal values.

    .. math:: 10^6 \left[\Phi\!\left(\frac{L - \bar x}{s}\right)
        + \Phi\!\left(\frac{\bar x - U}{s}\right)\right]

    Misleads beyond what was seen: a rate of few parts per million is the normal distribution's word.

    References
    ----------
    Owen, *Technometrics* 10 (1968), 445-478; Weerahandi, *JASA* 88 (1993), 899-905, for the
    generalized pivot.

    Examples
    --------
    >>> found = normal_nonconforming(0.0, 1.0, n=100, df=99, lower=None, upper=3.0)
    >>> print(f"{found['above']:.0f}")
    1350 (271 to 5584)
    """
    from scipy.special import ndtr

    check_moments(mean, sd, n, df, confidence)
    lower, upper = arguments.limits(lower, upper)
    arguments.whole("draws", draws, least=1)
    found = {}
    zero = Interval(0.0, 0.0, 0.0, confidence, "no such limit")
    for side, distance in (
        ("below", None if lower is None else mean - lower),
        ("above", None if upper is None else upper - mean),
    ):
        if distance is None:
            found[side] = zero
            continue
        index = one_sided_index_interval(distance, sd, n, df, confidence)
        found[side] = index.mapped(lambda c: float(1e6 * ndtr(-3 * c)))
    if lower is None or upper is None:
        found["total"] = found["above"] if lower is None else found["below"]
        return found
    source = rng or np.random.default_rng(0)
    sigma = sd * np.sqrt(df / source.chisquare(df, draws))
    centre = mean - source.standard_normal(draws) * sigma / np.sqrt(n)
    sample = 1e6 * (ndtr((lower - centre) / sigma) + ndtr((centre - upper) / sigma))
    estimate = found["below"].estimate + found["above"].estimate
    low, high = np.quantile(sample, [(1 - confidence) / 2, (1 + confidence) / 2])
    found["total"] = Interval(
        estimate,
        min(float(low), estimate),
        max(float(high), estimate),
        confidence,
        "generalized pivot",
    )
    return found


def observed_nonconforming(
    values: ArrayLike,
    lower: float | None = None,
    upper: float | None = None,
    *,
    confidence: float = 0.95,
) -> ObservedNonconforming:
    """Count values outside the limits.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In the unit of the limits.
    lower, upper : float, optional
        Tolerance limits; at least one.
    confidence : float
        Of the two-sided interval, between 0 and 1.

    Returns
    -------
    ObservedNonconforming
        Counts, and the share in parts per million with its interval.

    Raises
    ------
    CannotJudge
        No value, or values that are missing.
    ValueError, TypeError
        No limit, limits that are not in order, a table or an array of other than one dimension.

    See Also
    --------
    normal_nonconforming : What a normal distribution expects.
    zero_failure_bound : What none seen still allows.

    Notes
    -----
    Model: independent parts. A value on a limit conforms. Misleads where values are serially correlated: the
    interval is then too narrow.

    References
    ----------
    Clopper & Pearson, *Biometrika* 26 (1934), 404-413 (by statsmodels).

    Examples
    --------
    >>> found = observed_nonconforming([1.0, 2.0, 3.0], 1.5)
    >>> found.below, f"{found.ppm:.0f}"
    (1, '333333 (8404 to 905701)')
    """
    y = data_arguments.one_dimensional(values, least=1)
    lower, upper = arguments.limits(lower, upper)
    arguments.share("confidence", confidence)
    below = 0 if lower is None else int((y < lower).sum())
    above = 0 if upper is None else int((y > upper).sum())
    n = int(y.size)
    ppm = share_interval(below + above, n, confidence).times(1e6)
    return ObservedNonconforming(below, above, n, ppm)


def zero_failure_bound(n: int, *, confidence: float = 0.95) -> float:
    r"""Compute the upper bound of the fraction nonconforming when none was seen in n parts.

    Parameters
    ----------
    n : int
        Independent parts, at least 1.
    confidence : float
        Of the one-sided bound, between 0 and 1.

    Returns
    -------
    float
        Parts per million; near ``3/n`` at 95 %.

    Raises
    ------
    ValueError, TypeError
        An argument outside its range.

    See Also
    --------
    observed_nonconforming : Where some were seen.

    Notes
    -----
    Model: independent parts.

    .. math:: 1 - (1 - \gamma)^{1/n}

    Misleads where parts are serially correlated: count effective parts.

    References
    ----------
    Clopper & Pearson, *Biometrika* 26 (1934), 404-413, for zero successes.

    Examples
    --------
    >>> print(f"{zero_failure_bound(300):,.0f} ppm")
    9,936 ppm
    """
    arguments.whole("n", n, least=1)
    arguments.share("confidence", confidence)
    return float(-np.expm1(np.log1p(-confidence) / n) * 1e6)
