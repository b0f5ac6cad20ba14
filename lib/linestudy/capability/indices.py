"""Capability and performance indices of a normal characteristic, with intervals that cover."""

from __future__ import annotations

import numpy as np

from linestudy.numerics.normal_intervals import (
    one_sided_index_interval,
    spread_index_interval,
    two_sided_index_interval,
)
from linestudy.results import Absent, Interval, arguments


def cp(
    sd: float, *, df: float, lower: float | None, upper: float | None, confidence: float = 0.95
) -> Interval | Absent:
    r"""Compute Cp (or Pp): the tolerance over six standard deviations.

    Parameters
    ----------
    sd : float
        Standard deviation in the unit of the limits: within subgroups for Cp, of all values for Pp.
    df : float
        Its (effective) degrees of freedom.
    lower, upper : float or None
        Tolerance limits.
    confidence : float
        Of the two-sided interval, between 0 and 1.

    Returns
    -------
    Interval or Absent
        A pure number; absent where a limit is missing.

    Raises
    ------
    ValueError, TypeError
        An argument outside its range, or limits that are not in order.

    See Also
    --------
    cpk : Takes the location into account.
    process_capability : All indices of a sample at once.

    Notes
    -----
    Model: normal values.

    .. math:: C_p = \frac{U - L}{6 s}, \qquad
        \left[C_p \sqrt{\chi^2_{\alpha/2,\nu} / \nu},\; C_p \sqrt{\chi^2_{1-\alpha/2,\nu} / \nu}\right]

    Misleads where the process is not centred (it says what could be), not normal, or sorted.

    References
    ----------
    ISO 22514-2:2017; Kane, *Journal of Quality Technology* 18 (1986), 41-52.

    Examples
    --------
    >>> print(cp(2.0, df=49, lower=8.0, upper=20.0))
    1.00 (0.80 to 1.20)
    """
    arguments.number("sd", sd, above=0)
    arguments.number("df", df, above=0)
    arguments.share("confidence", confidence)
    lower, upper = arguments.limits(lower, upper)
    if lower is None or upper is None:
        return Absent("there is one limit only")
    return spread_index_interval((upper - lower) / 6, sd, df, confidence)


def cpk(
    mean: float,
    sd: float,
    *,
    n: float,
    df: float,
    lower: float | None,
    upper: float | None,
    confidence: float = 0.95,
) -> Interval | Absent:
    r"""Compute Cpk (or Ppk): the distance from the mean to the nearer limit over three SD.

    Parameters
    ----------
    mean, sd : float
        In the unit of the limits.
    n : float
        (Effective) number of values behind the mean.
    df : float
        (Effective) degrees of freedom of `sd`.
    lower, upper : float or None
        Tolerance limits; at least one.
    confidence : float
        Of the two-sided interval, between 0 and 1.

    Returns
    -------
    Interval or Absent
        A pure number; its interval is exact for one limit (noncentral t), by the generalized pivot
        for two.

    Raises
    ------
    ValueError, TypeError
        An argument outside its range, no limit, or limits that are not in order.

    See Also
    --------
    cp : Without the location.
    process_capability : All indices of a sample at once.

    Notes
    -----
    Model: normal values; the mean of n of them, their standard deviation with df degrees of freedom.

    .. math:: C_{pk} = \min\left(\frac{U - \bar x}{3 s}, \frac{\bar x - L}{3 s}\right)

    Cp and Cpk use the SD within subgroups, which describes the process only while its location holds;
    Pp and Ppk that of all values. Misleads where values are not normal (use quantile indices) and where
    parts were sorted before they were measured.

    References
    ----------
    ISO 22514-2:2017; Kane, *Journal of Quality Technology* 18 (1986), 41-52; Owen, *Technometrics* 10
    (1968), 445-478, for the noncentral t.

    Examples
    --------
    >>> print(cpk(16.0, 2.0, n=50, df=49, lower=8.0, upper=20.0))
    0.67 (0.50 to 0.83)
    """
    check_moments(mean, sd, n, df, confidence)
    lower, upper = arguments.limits(lower, upper)
    if lower is None or upper is None:
        distance = mean - lower if lower is not None else (upper or 0.0) - mean
        return one_sided_index_interval(distance, sd, n, df, confidence)
    return two_sided_index_interval(mean, sd, lower, upper, n, df, confidence)


def cpm(
    mean: float,
    sd: float,
    *,
    df: float,
    lower: float | None,
    upper: float | None,
    target: float | None,
    confidence: float = 0.95,
) -> Interval | Absent:
    r"""Compute Cpm: the tolerance over six root mean square deviations from the target.

    Parameters
    ----------
    mean, sd : float
        In the unit of the limits.
    df : float
        (Effective) degrees of freedom of `sd`.
    lower, upper : float or None
        Tolerance limits.
    target : float or None
        Target value.
    confidence : float
        Of the two-sided interval, between 0 and 1.

    Returns
    -------
    Interval or Absent
        A pure number; absent where a limit or the target is missing.

    Raises
    ------
    ValueError, TypeError
        An argument outside its range, or limits that are not in order.

    See Also
    --------
    cpk : By the nearer limit.

    Notes
    -----
    Model: normal values.

    .. math:: C_{pm} = \frac{U - L}{6 \sqrt{s^2 + (\bar x - T)^2}}

    Its interval is Boyles' chi-square approximation. Misleads where the limits do not lie at equal
    distances from the target.

    References
    ----------
    Boyles, *Journal of Quality Technology* 23 (1991), 17-26.

    Examples
    --------
    >>> print(cpm(10.0, 1.0, df=49, lower=7.0, upper=13.0, target=10.0))
    1.00 (0.80 to 1.20)
    """
    from scipy.stats import chi2

    check_moments(mean, sd, 2.0, df, confidence)
    lower, upper = arguments.limits(lower, upper, needed=False)
    if lower is None or upper is None or target is None:
        return Absent("a target and both limits are needed")
    off = (mean - arguments.number("target", target)) / sd
    estimate = (upper - lower) / (6 * sd * np.sqrt(1 + off**2))
    equivalent = df * (1 + off**2) ** 2 / (1 + 2 * off**2)
    tail = (1 - confidence) / 2
    low, high = np.sqrt(chi2.ppf([tail, 1 - tail], equivalent) / equivalent) * estimate
    return Interval(float(estimate), float(low), float(high), confidence, "Boyles chi-square")


def check_moments(mean: float, sd: float, n: float, df: float, confidence: float) -> None:
    """Refuse a mean, a standard deviation or their degrees of freedom that cannot be."""
    arguments.number("mean", mean)
    arguments.number("sd", sd, above=0)
    arguments.number("n", n, above=0)
    arguments.number("df", df, above=0)
    arguments.share("confidence", confidence)
