"""Linearity: whether the bias changes with size, and what it is at the limits.

Model: error = intercept + slope * size + independent normal error. Slope and intercept are tested as the
book has it, with one spread for all sizes. The bias at the limits, which decisions read, is not to depend on
that: its interval is the wider of two, by one spread and by each master's own (with the degrees of freedom
of Satterthwaite). Simulated, 3 or 5 masters read 3 to 12 times with a spread five times as large at the upper
end as at the lower: 94.6 to 96.4 % at the upper limit (one spread alone 83 to 87 %), close to 100 % at
the lower; equal spreads: 96 to 97.8 %, the most with three readings of a master, as the finding says then. Misleads where masters do not reach the limits (the bias there is
extrapolated), and where one master's value is wrong: then a slope is seen that no gauge has. Lack of fit is tested in the same two ways, and
the larger p counts: the pure-error F-test alone called straight lines bent in 17 to 46 % where one master of five scattered four or
five times as much as the others. Sources: AIAG MSA, 4th ed. (2010), ch. III, section B; Johansen, *Biometrika* 67 (1980), 85-92 (each
master with its own spread).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.gauges.masters.linearity_finding import LinearityStudy, cautions_of_limits
from linestudy.gauges.masters.uncertain_references import johansen_p, weighted_linearity
from linestudy.numerics.reml import rounding_noise
from linestudy.results import CannotJudge, Interval, arguments, counted, data_arguments

#: Readings of a master from which its own spread makes no interval much wider (96 to 97 % held, simulated).
_ENOUGH = 5


def linearity_study(
    readings: ArrayLike,
    reference: ArrayLike,
    lower: float | None = None,
    upper: float | None = None,
    *,
    reference_uncertainty: ArrayLike | None = None,
    confidence: float = 0.95,
    unit: str = "",
) -> LinearityStudy:
    r"""Regress the bias on the size of the masters.

    Parameters
    ----------
    readings : array_like of float, shape (n,)
        Readings of the masters, in `unit`.
    reference : array_like of float, shape (n,)
        Known value of the master behind each reading, in `unit`.
    lower, upper : float, optional
        Tolerance limits in `unit`, at which the bias is given.
    reference_uncertainty : array_like of float, shape (n,), or float, optional
        Standard uncertainty of each reference value in `unit`, the same for all readings of a master.
        The line is then weighted, and its intervals hold the masters' uncertainty.
    confidence : float
        Of the intervals, between 0 and 1.
    unit : str
        Unit of the readings, for table, statement and picture.

    Returns
    -------
    LinearityStudy
        The line with intervals, and the bias at the limits.

    Raises
    ------
    CannotJudge
        Fewer than three masters of different size, or errors that never differ.
    ValueError
        Arguments of different length, limits that are swapped, a confidence outside 0 to 1.

    See Also
    --------
    bias_study : One bias for all masters, and that on each.

    Notes
    -----
    Model: least squares with independent normal errors of equal spread,

    .. math:: e_i = a + b\, x_i + \varepsilon_i

    Slope and bias at a limit have the wider of two intervals: with one spread for all masters, and with each
    master's own where each was read at least three times; the p of the slope and of lack of fit is the larger of both. With
    uncertain references the line is weighted by the variance that each master's mean has from readings
    and reference, both axes allowed for. Misleads where masters do not reach the limits, and where one
    master's value is wrong.

    References
    ----------
    AIAG MSA, 4th ed. (2010), ch. III, section B. York, *Canadian Journal of Physics* 44 (1966),
    1079-1086. Satterthwaite, *Biometrics Bulletin* 2 (1946), 110-114.

    Examples
    --------
    >>> found = linearity_study([1.0, 1.1, 2.1, 2.2, 3.2, 3.3], [1, 1, 2, 2, 3, 3], upper=3.5)
    >>> found.shown().iloc[[0, 1, 4]]
                      quantity                   value
    0                    slope  0.100 (0.015 to 0.185)
    1              p, no slope                   0.031
    4  bias at the upper limit     0.30 (0.15 to 0.45)
    """
    from scipy.special import stdtr, stdtrit

    values = data_arguments.readings(readings, least=3)
    sizes = data_arguments.for_each(reference, values.size, name="reference")
    doubt = 0.0 if reference_uncertainty is None else reference_uncertainty
    known = data_arguments.for_each(doubt, values.size, name="reference_uncertainty")
    if known.min() < 0:
        raise ValueError(
            f"reference_uncertainty = {known.min():g} cannot be used; it must be at least 0."
        )
    lower, upper = arguments.limits(lower, upper, needed=False)
    arguments.share("confidence", confidence)
    # Sums, and so all numbers, then do not depend on the order of the rows.
    order = np.lexsort((known, values, sizes))
    values, sizes, known = values[order], sizes[order], known[order]
    levels = np.unique(sizes)
    if levels.size < 3:
        raise CannotJudge(
            f"Masters of {counted(levels.size, 'size')} were measured; three are needed for linearity."
        )
    errors = values - sizes
    # Without repeats the distances from the line hold errors of readings and of masters together.
    once = values.size == levels.size
    if known.max() > 0 and not once:
        return weighted_linearity(values, sizes, known, lower, upper, confidence, unit)
    n, df = errors.size, errors.size - 2
    middle = sizes.mean()
    x = sizes - middle
    sxx = float(x @ x)
    slope = float(x @ (errors - errors.mean()) / sxx)
    level = float(errors.mean())
    residuals = errors - level - slope * x
    sse = float(residuals @ residuals)
    total = float(((errors - level) ** 2).sum())
    if sse <= rounding_noise(values):
        raise CannotJudge(
            f"The errors of {n} readings lie on one line exactly; resolution hides their spread."
        )
    s = float(np.sqrt(sse / df))
    factor = float(stdtrit(df, (1 + confidence) / 2))

    def at(size: float, name: str = "t") -> Interval:
        value = level + slope * (size - middle)
        half = factor * s * np.sqrt(1 / n + (size - middle) ** 2 / sxx)
        return Interval(value, value - half, value + half, confidence, name)

    slope_error = s / np.sqrt(sxx)
    intercept = at(0.0)
    intercept_t = intercept.estimate / (s * np.sqrt(1 / n + middle**2 / sxx))
    slope_t = slope / slope_error
    half = factor * slope_error
    slope_p = float(2 * stdtr(df, -abs(slope_t)))
    along = Interval(slope, slope - half, slope + half, confidence, "t")
    spreads = _by_master(errors, sizes, levels)
    if spreads is not None:
        along, own_p = _wider(along, x / sxx, sizes, levels, *spreads)
        slope_p = max(slope_p, own_p)

    def at_limit(size: float) -> Interval:
        plain = at(size)
        pull = 1 / n + (size - middle) * x / sxx
        return plain if spreads is None else _wider(plain, pull, sizes, levels, *spreads)[0]

    limits = {
        name: at_limit(limit)
        for name, limit in (("lower", lower), ("upper", upper))
        if limit is not None
    }
    return LinearityStudy(
        n=int(n),
        slope=along,
        intercept=intercept,
        slope_t=float(slope_t),
        slope_p=slope_p,
        intercept_t=float(intercept_t),
        intercept_p=float(2 * stdtr(df, -abs(intercept_t))),
        r_squared=1 - sse / total if total > 0 else 0.0,
        residual_sd=s,
        at_limits=limits,
        lack_of_fit_p=_larger(
            lack_of_fit(errors, sizes, levels, sse),
            None if spreads is None else bent_by_master(errors, sizes, levels, *spreads),
        ),
        unit=unit,
        cautions=(
            *(_ONCE if once else ()),
            *cautions_of_limits(levels, lower, upper),
            *(() if spreads is None else _few_readings(spreads[1])),
        ),
        readings=np.column_stack([sizes, errors]),
    )


#: What is said where no master was read twice.
_ONCE = (
    "Each master was read once: what readings and masters' values bring is seen only together, in the distances from the line, and whether a "
    "straight line will do cannot be tested. Read each master several times.",
)


def _few_readings(df: NDArray[np.float64]) -> tuple[str, ...]:
    """Say so where the wider of two intervals is wide by few readings alone."""
    fewest = int(df.min()) + 1
    if fewest >= _ENOUGH:
        return ()
    return (
        f"A master was read {fewest} times only; slope and bias at the limits have wider intervals than so many readings "
        f"would need (they hold in 97 to 98 of 100 studies rather than 95). Read each master {_ENOUGH} times or more.",
    )


def _by_master(
    errors: NDArray[np.float64], sizes: NDArray[np.float64], levels: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
    """Return variance and degrees of freedom within each master; None where one was read less than three times."""
    groups = [errors[sizes == size] for size in levels]
    if min(group.size for group in groups) < 3:
        return None
    variances = np.array([group.var(ddof=1) for group in groups])
    return variances, np.array([group.size - 1.0 for group in groups])


def _wider(
    plain: Interval,
    pull: NDArray[np.float64],
    sizes: NDArray[np.float64],
    levels: NDArray[np.float64],
    variances: NDArray[np.float64],
    df: NDArray[np.float64],
) -> tuple[Interval, float]:
    """Widen an interval of the line by each master's own spread; return also the p-value of a zero value by that spread."""
    from scipy.special import stdtr, stdtrit

    master = np.searchsorted(levels, sizes)
    terms = np.bincount(master, pull**2, minlength=levels.size) * variances
    total = float(terms.sum())
    if total <= 0:
        return plain, 0.0
    freedom = total**2 / float((terms**2 / df).sum())
    value = float(plain.estimate)
    p = float(2 * stdtr(freedom, -abs(value) / total**0.5))
    half = float(stdtrit(freedom, (1 + plain.confidence) / 2)) * total**0.5
    if half <= plain.half_width:
        return plain, p
    own = Interval(value, value - half, value + half, plain.confidence, "t, spread by master")
    return own, p


def lack_of_fit(
    errors: NDArray[np.float64],
    sizes: NDArray[np.float64],
    levels: NDArray[np.float64],
    sse: float,
) -> float | None:
    """Test by pure error that a straight line will do; None without repeats."""
    from scipy.special import fdtrc

    pure = sum(float(((e := errors[sizes == size]) - e.mean()) @ (e - e.mean())) for size in levels)
    df_pure, df_lack = errors.size - levels.size, levels.size - 2
    if df_pure < 1 or df_lack < 1 or pure <= 0:
        return None
    return float(fdtrc(df_lack, df_pure, max(sse - pure, 0.0) / df_lack / (pure / df_pure)))


def bent_by_master(
    errors: NDArray[np.float64],
    sizes: NDArray[np.float64],
    levels: NDArray[np.float64],
    variances: NDArray[np.float64],
    df: NDArray[np.float64],
) -> float | None:
    """Test that a straight line will do, each master with its own spread; None where one shows none.

    Parameters
    ----------
    errors, sizes : numpy.ndarray of float, shape (n,)
        Of each reading.
    levels, variances, df : numpy.ndarray of float, shape (masters,)
        Sizes of the masters, variance of the readings of each and its degrees of freedom.

    Returns
    -------
    float or None
    """
    if levels.size < 3 or variances.min() <= 0:
        return None
    master = np.searchsorted(levels, sizes)
    counts = np.bincount(master)
    return johansen_p(levels, np.bincount(master, errors) / counts, variances / counts, df)


def _larger(one: float | None, other: float | None) -> float | None:
    known = [p for p in (one, other) if p is not None]
    return max(known) if known else None
