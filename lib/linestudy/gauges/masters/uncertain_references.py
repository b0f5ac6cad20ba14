"""Linearity where the masters' own values are uncertain.

Model: ``reading = a + (1 + b) * true size + error``; a master's certificate value differs from its true size
by an unknown amount with a stated standard uncertainty, the same for all its readings. More
readings of a master do not make that smaller, so the line goes through the masters' means, each with the
weight of both variances (York, *Canadian Journal of Physics* 44 (1966), 1079-1086; for a slope of
bias near zero the effective variance is exact to first order). The readings' variance is that within masters;
the t factor has the Satterthwaite degrees of freedom of the variance of what is asked.
Misleads where one calibration moved all masters together: that part belongs to the budget.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.masters.linearity_finding import LinearityStudy, cautions_of_limits
from linestudy.numerics.reml import rounding_noise
from linestudy.results import CannotJudge, Interval


def weighted_linearity(
    readings: NDArray[np.float64],
    sizes: NDArray[np.float64],
    known: NDArray[np.float64],
    lower: float | None,
    upper: float | None,
    confidence: float,
    unit: str,
) -> LinearityStudy:
    """Regress the bias on uncertain references.

    Parameters
    ----------
    readings, sizes, known : numpy.ndarray of float, shape (n,)
        Readings, reference values, and their standard uncertainties, all in `unit`.
    lower, upper : float or None
        Tolerance limits, in `unit`.
    confidence : float
        Of the intervals.
    unit : str
        Unit of the readings.

    Returns
    -------
    LinearityStudy
        ``lack_of_fit_p`` tests the masters about the line, with one spread of readings and with each master's own; the larger counts.

    Raises
    ------
    CannotJudge
        No master was read twice.

    Examples
    --------
    >>> import numpy as np
    >>> found = weighted_linearity(np.array([1.0, 1.1, 2.1, 2.2, 3.2, 3.3]),
    ...     np.array([1.0, 1, 2, 2, 3, 3]), np.full(6, 0.01), None, None, 0.95, "mm")
    >>> round(found.slope.estimate, 3)
    0.1
    """
    from scipy.special import stdtr, stdtrit

    levels, master = np.unique(sizes, return_inverse=True)
    counts = np.bincount(master).astype(float)
    errors = readings - sizes
    means = np.bincount(master, errors) / counts
    rest = errors - means[master]
    free = readings.size - levels.size
    pure = float(rest @ rest)
    if free < 1 or pure <= rounding_noise(readings):
        raise CannotJudge(
            f"The masters' values are uncertain and none of {levels.size} masters shows spread between readings, "
            "so the two cannot be weighed against each other."
        )
    repeat = pure / free
    u2 = (np.bincount(master, known) / counts) ** 2
    slope = 0.0
    # The weights depend on the slope, weakly: each turn brings it closer by orders of magnitude.
    for _ in range(200):
        variance = repeat / counts + (1 + slope) ** 2 * u2
        weight = 1 / variance
        middle = float(weight @ levels / weight.sum())
        x = levels - middle
        before, slope = slope, float((weight * x) @ means / ((weight * x) @ x))
        if abs(slope - before) <= 1e-15 * (1 + abs(slope)):
            break
    level = float(weight @ means / weight.sum())
    sxx = float((weight * x) @ x)

    def at(size: float) -> tuple[float, float, float]:
        """Return value, standard error, and degrees of freedom of the line at a size."""
        pull = weight / weight.sum() + weight * x * (size - middle) / sxx
        total = float(pull**2 @ variance)
        from_readings = float(pull**2 @ (repeat / counts))
        df = free * (total / from_readings) ** 2
        return level + slope * (size - middle), math.sqrt(total), df

    def interval(value: float, error: float, df: float) -> Interval:
        half = float(stdtrit(df, (1 + confidence) / 2)) * error
        return Interval(value, value - half, value + half, confidence, "t, references uncertain")

    first, second = at(middle), at(middle + 1.0)
    slope_error = 1 / math.sqrt(sxx)
    pull = weight * x / sxx
    share = float(pull**2 @ (repeat / counts)) * sxx
    slope_df = free / share**2
    zero = at(0.0)
    fitted = level + slope * x
    chi = float(weight @ (means - fitted) ** 2)
    total = float(weight @ (means - level) ** 2)
    slope_t, intercept_t = slope / slope_error, zero[0] / zero[1]
    notes = (
        "The masters' own uncertainty is in the intervals; what one calibration did to all of them alike is not.",
    )
    return LinearityStudy(
        n=int(readings.size),
        slope=interval(second[0] - first[0], slope_error, slope_df),
        intercept=interval(*zero),
        slope_t=slope_t,
        slope_p=float(2 * stdtr(slope_df, -abs(slope_t))),
        intercept_t=intercept_t,
        intercept_p=float(2 * stdtr(zero[2], -abs(intercept_t))),
        r_squared=1 - chi / total if total > 0 else 0.0,
        residual_sd=math.sqrt(repeat),
        at_limits={
            name: interval(*at(limit))
            for name, limit in (("lower", lower), ("upper", upper))
            if limit is not None
        },
        lack_of_fit_p=_bent_p(
            levels, master, errors, chi, counts, repeat, free, (1 + slope) * u2**0.5
        ),
        unit=unit,
        cautions=(*notes, *cautions_of_limits(levels, lower, upper)),
        readings=np.column_stack([sizes, errors]),
    )


def _bent_p(
    levels: NDArray[np.float64],
    master: NDArray[np.intp],
    errors: NDArray[np.float64],
    chi: float,
    counts: NDArray[np.float64],
    repeat: float,
    free: float,
    doubt: NDArray[np.float64],
) -> float:
    """Test the line with one spread of readings, and with each master's own where each was read three times."""
    from scipy.special import fdtrc

    k = levels.size
    # Where certificates make up most of the variance, it is known that much better.
    total = repeat / counts + doubt**2
    df = free * float((total * counts / repeat).mean()) ** 2
    one = float(fdtrc(k - 2.0, df, chi / (k - 2)))
    means = np.bincount(master, errors) / counts
    squares = np.bincount(master, (errors - means[master]) ** 2)
    if counts.min() < 3 or squares.min() <= 0:
        return one
    own = squares / (counts - 1) / counts
    return max(
        one, johansen_p(levels, means, own + doubt**2, (counts - 1) * (1 + doubt**2 / own) ** 2)
    )


def johansen_p(
    levels: NDArray[np.float64],
    means: NDArray[np.float64],
    variances: NDArray[np.float64],
    df: NDArray[np.float64],
) -> float:
    """Test that means lie on a straight line, each with a variance and degrees of freedom of its own.

    Parameters
    ----------
    levels, means, variances, df : numpy.ndarray of float, shape (k,)
        Sizes, means there, variance of each mean, and its degrees of freedom.

    Returns
    -------
    float
        Of F by Johansen, *Biometrika* 67 (1980), 85-92.

    Examples
    --------
    >>> sizes, one = np.array([1.0, 2.0, 3.0]), np.ones(3)
    >>> round(johansen_p(sizes, np.array([0.0, 0.2, 0.0]), 0.01 * one, 1e9 * one), 4)
    0.1025
    """
    from scipy.special import fdtrc

    weight = 1 / variances
    x = levels - float(weight @ levels / weight.sum())
    level, sxx = float(weight @ means / weight.sum()), float(weight @ x**2)
    slope = float((weight * x) @ means / sxx)
    q = float(weight @ (means - level - slope * x) ** 2)
    # Share of each mean that the line does not take up.
    left = 1 - weight / weight.sum() - weight * x**2 / sxx
    r, a = levels.size - 2.0, float((left**2 / df).sum())
    return float(fdtrc(r, r * (r + 2) / (3 * a), q / (r + 2 * a - 6 * a / (r + 2))))
