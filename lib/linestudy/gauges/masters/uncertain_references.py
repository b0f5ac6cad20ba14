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
        ``lack_of_fit_p`` is the chi-square test of the masters about the line.

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
    from scipy.special import chdtrc, stdtr, stdtrit

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
        lack_of_fit_p=float(chdtrc(levels.size - 2, chi)),
        unit=unit,
        cautions=(*notes, *cautions_of_limits(levels, lower, upper)),
        readings=np.column_stack([sizes, errors]),
    )
