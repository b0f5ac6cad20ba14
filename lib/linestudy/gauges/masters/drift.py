"""A master read again and again: does the gauge wander, and how fast.

Model: error = level of the stretch + slope * strokes since its start + normal error, one slope for all
stretches; a stretch begins where the gauge was reset (lens wiped). Errors may follow one another
(temperature, soiling): the variance of the slope and its degrees of freedom allow for the lag-1 correlation
seen, raised by what a line takes out of it and by 0.4 of its own standard error. Simulated with 30 to 120
readings, correlations 0 to 0.8, the interval of 95 % holds in 93 to 97 % (without it 95, 85, 67 and 48 % at
0, 0.3, 0.6 and 0.8). Misleads when drift is not a line: a step that no reset explains shows as
correlation, and then no time of the next check is promised.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    arguments,
    data_arguments,
    show_in,
)
from linestudy.results.declared import Declaration
from linestudy.results.rounding import in_short, p_text
from linestudy.results.tables import Quantity, Rows, over_strokes


@dataclass(frozen=True)
class DriftStudy(Finding):
    """Drift of a gauge on one master.

    Attributes
    ----------
    n : int
        Readings.
    slope_per_thousand : Interval
        [unit of the readings] Change per thousand strokes (or per thousand of whatever the order
        counts). Formula: 1000 · slope of errors on order, one level for each stretch.
    slope_p : float
        Of the test that there is no drift.
    correlation : float
        Lag-1 correlation of the errors about the line, allowing for what the line takes out.
    correlation_p : float
        Of the test that errors do not follow one another (one-sided).
    residual_sd : float
        [unit of the readings] Standard deviation of the errors about the line.
    largest_error : float
        [unit of the readings] Largest absolute deviation from the reference.
    stretches : int
        Stretches between resets.
    allowed : float or None
        [unit of the readings] What the gauge may drift between two checks.
    next_check : Interval or Absent
        [strokes] Strokes until it has drifted that far; the low end is the one to plan by, and an
        infinite high end means that no drift may be the truth. Formula: allowed / |slope|.
    tolerance : float or None
        [unit of the readings] Width of the tolerance.
    unit : str
        Unit of the readings.
    counted : str
        What the order counts, in the plural; not recorded.
    over : int or None
        Strokes that the slope is slope_shown over, where the study has chosen; not recorded.
    points : numpy.ndarray of float, shape (n, 4)
        Order, error, the line's error, and which stretch, counted from 0.
    """

    n: int
    slope_per_thousand: Interval
    slope_p: float
    correlation: float
    correlation_p: float
    residual_sd: float
    largest_error: float
    stretches: int
    allowed: float | None
    next_check: Interval | Absent
    tolerance: float | None
    unit: str
    cautions: tuple[str, ...]
    counted: str = field(default="strokes", repr=False, compare=False, kw_only=True)
    over: int | None = field(default=None, repr=False, compare=False, kw_only=True)
    points: NDArray[np.float64] = field(repr=False, compare=False)
    title: ClassVar[str] = "Drift on a master"
    picture: ClassVar[str] = "gauges:drift_on_master"

    @property
    def slope_shown(self) -> tuple[Interval, str]:
        """Slope over the strokes it is reported to, and these in words."""
        return over_strokes(self.slope_per_thousand, self.counted, over=self.over)

    @property
    def statement(self) -> str:
        moves = self.slope_p < 0.05
        slope, over = self.slope_shown
        found = "Significant drift" if moves else "No significant drift"
        return (
            f"{found}: {show_in(slope, self.unit)} {over} ({self.n} readings); largest "
            f"error on the master {in_short(self.largest_error, self.unit)}."
            f"{self._check}"
        )

    @property
    def _check(self) -> str:
        if isinstance(self.next_check, Absent) or self.allowed is None:
            return ""
        return (
            f" Next check after {self.next_check.low:,.0f} {self.counted} at the latest, for a drift below "
            f"{in_short(self.allowed, self.unit)}."
        )

    def _rows(self) -> Rows:
        latest = self.next_check if isinstance(self.next_check, Absent) else self.next_check.low
        slope, over = self.slope_shown
        return [
            Quantity(f"drift {over}", slope, self.unit),
            Quantity("p, no drift", self.slope_p, "p"),
            Quantity("lag-1 correlation about the line", self.correlation),
            Quantity("p, no correlation", self.correlation_p, "p"),
            Quantity("spread about the line", self.residual_sd, self.unit),
            Quantity("largest error", self.largest_error, self.unit),
            Quantity("stretches between resets", self.stretches),
            Quantity("next check at the latest", latest, self.counted),
        ]


#: Level at which errors count as following one another; looked at in every record.
_SELDOM = 0.01

#: How the interval of the slope came about where readings never differ.
ONE_STEP = "one step of the gauge"

DRIFT = Declaration("gauges.{gauge}.drift", DriftStudy)


def drift_study(
    order: ArrayLike,
    readings: ArrayLike,
    reference: ArrayLike,
    *,
    resets: Sequence[float] = (),
    tolerance: float | None = None,
    allowed: float | None = None,
    resolution: float | None = None,
    confidence: float = 0.95,
    unit: str = "",
    counted: str = "strokes",
) -> DriftStudy:
    r"""Estimate the drift of a gauge from repeated readings of one master.

    Parameters
    ----------
    order : array_like of float, shape (n,)
        Stroke (or time) of each reading.
    readings : array_like of float, shape (n,)
        Readings of the master, in `unit`.
    reference : float or array_like of float, shape (n,)
        Known value of the master, in `unit`; one for all readings or one for each.
    resets : sequence of float
        Order numbers at which the gauge was cleaned or set.
    tolerance : float, optional
        Width of the tolerance, in `unit`.
    allowed : float, optional
        Drift allowed between two checks, in `unit`; a fiftieth of the tolerance unless given
        (common practice, no source).
    resolution : float, optional
        Smallest step of the gauge, in `unit`; where all readings are the same, all that is known is that it did not drift by more.
    confidence : float
        Of the intervals, between 0 and 1.
    unit : str
        Unit of the readings, for table, statement and picture.
    counted : str
        What `order` counts, in the plural.

    Returns
    -------
    DriftStudy
        Slope with interval, and when the gauge should be checked next.

    Raises
    ------
    CannotJudge
        Too few readings for the stretches, or errors that never differ where the resolution is not given.
    ValueError
        An argument outside its range, or of another length than the readings.

    See Also
    --------
    bias_study : The bias itself.
    cg_cgk : Repeatability on one master.

    Notes
    -----
    Model: least squares with one slope and a level for each stretch k (analysis of covariance),

    .. math:: e_i = a_{k(i)} + b\, x_i + \varepsilon_i

    with normal :math:`\varepsilon` of lag-1 correlation :math:`\rho`: the variance of b is multiplied by
    :math:`(1+\rho)/(1-\rho)` and its degrees of freedom are divided by it. Where no reading differs from the others of
    its stretch the gauge has moved by less than a step: the slope lies within one step over the longest stretch, whatever the
    confidence. Misleads when the drift is not a line.

    References
    ----------
    Draper & Smith, *Applied Regression Analysis*, 3rd ed. (1998), ch. 14 (dummy variables). Bayley &
    Hammersley, *Supplement to the Journal of the Royal Statistical Society* 8 (1946), 184-197 (effective
    number of correlated observations).

    Examples
    --------
    >>> found = drift_study([0, 1000, 2000, 3000], [1.0, 1.1, 1.2, 1.31], 1.0, unit="mm")
    >>> found.shown().head(2)
                              quantity                      value
    0      drift per 1,000 strokes (mm)  0.1030 (0.0955 to 0.1105)
    1                      p, no drift                    < 0.001
    """
    from scipy.special import stdtr, stdtrit

    values = data_arguments.readings(readings, least=4)
    x = data_arguments.readings(order, name="order", least=4, what="order number")
    arguments.same_length(readings=values, order=x)
    known = data_arguments.for_each(reference, values.size, name="reference")
    errors = values - known
    arguments.share("confidence", confidence)
    arguments.positive(resolution=resolution)
    data_arguments.width("tolerance", tolerance)
    data_arguments.width("allowed", allowed)
    stretch = np.searchsorted(np.sort(np.asarray(resets, dtype=float)), x, side="right")
    _, stretch = np.unique(stretch, return_inverse=True)
    groups = int(stretch.max()) + 1
    df = values.size - groups - 1
    counts = np.bincount(stretch)
    dx = x - (np.bincount(stretch, x) / counts)[stretch]
    first = np.zeros(groups)
    first[stretch] = errors
    # A stretch of equal errors has no spread of last digits.
    dy = errors - first[stretch]
    dy -= (np.bincount(stretch, dy) / counts)[stretch]
    sxx = float(dx @ dx)
    if df < 1 or sxx == 0:
        raise CannotJudge(
            f"{values.size} readings of the master in {groups} stretches between resets are too few to see a drift."
        )
    slope = float(dx @ dy) / sxx
    rest = dy - slope * dx
    sse = float(rest @ rest)
    limit = allowed if allowed is not None else (tolerance / 50 if tolerance else None)
    # Values that change with every reading are those of no master: they were taken from the readings.
    own = np.unique(known).size > values.size / 2
    if sse <= 0 and resolution and not dy.any() and not own:
        return _within_a_step(
            x, errors, stretch, resolution, limit, confidence, tolerance, unit, counted
        )
    if sse <= 0:
        raise CannotJudge(
            f"The errors of {values.size} readings lie on one line exactly; resolution hides their spread."
        )
    s = float(np.sqrt(sse / df))
    correlation, correlation_p, counted_as = _follows(x, rest, stretch)
    longer = (1 + counted_as) / (1 - counted_as)
    df_slope = max(df / longer, 1.0)
    error = s * float(np.sqrt(longer / sxx))
    half = float(stdtrit(df_slope, (1 + confidence) / 2)) * error
    cautions = []
    if correlation_p < _SELDOM:
        cautions.append(
            f"Errors follow one another (lag-1 correlation {correlation:.2f}, {p_text(correlation_p)}): the gauge "
            "moves otherwise than along one line. The interval of the slope allows for that; see when it moved."
        )
    if values.size < 20:
        cautions.append(f"{values.size} readings are few for a statement about drift.")
    if len(resets):
        cautions.append("The line starts anew at each named reset.")
    return DriftStudy(
        n=int(values.size),
        slope_per_thousand=Interval(
            slope * 1000, (slope - half) * 1000, (slope + half) * 1000, confidence, "t"
        ),
        slope_p=float(2 * stdtr(df_slope, -abs(slope / error))),
        correlation=correlation,
        correlation_p=correlation_p,
        residual_sd=s,
        largest_error=float(np.abs(errors).max()),
        stretches=groups,
        allowed=limit,
        next_check=_next_check(
            limit,
            slope,
            half,
            confidence,
            correlation_p < _SELDOM and _wanders(x, rest, stretch, limit),
        ),
        tolerance=tolerance,
        unit=unit,
        counted=counted,
        cautions=tuple(cautions),
        points=np.column_stack([x, errors, errors - rest, stretch]),
    )


def _within_a_step(
    x: NDArray[np.float64],
    errors: NDArray[np.float64],
    stretch: NDArray[np.intp],
    resolution: float,
    limit: float | None,
    confidence: float,
    tolerance: float | None,
    unit: str,
    counted: str,
) -> DriftStudy:
    """Bound the drift where all readings of a master are the same: the gauge has moved by less than a step."""
    longest = max(float(np.ptp(x[stretch == one])) for one in np.unique(stretch))
    slope = resolution / longest
    return DriftStudy(
        n=int(errors.size),
        slope_per_thousand=Interval(0.0, -1000 * slope, 1000 * slope, confidence, ONE_STEP),
        slope_p=1.0,
        correlation=0.0,
        correlation_p=1.0,
        residual_sd=0.0,
        largest_error=float(np.abs(errors).max()),
        stretches=int(stretch.max()) + 1,
        allowed=limit,
        next_check=_next_check(limit, 0.0, slope, confidence, False),
        tolerance=tolerance,
        unit=unit,
        counted=counted,
        cautions=(
            f"The {errors.size} readings of the master never differ: all that is known is that the gauge moved by less than one of "
            "its steps.",
        ),
        points=np.column_stack([x, errors, errors, stretch]),
    )


def _follows(
    x: NDArray[np.float64], rest: NDArray[np.float64], stretch: NDArray[np.intp]
) -> tuple[float, float, float]:
    """Estimate the lag-1 correlation about the line: as it is, its p, and as the slope's variance counts it."""
    from scipy.special import ndtr

    order = np.lexsort((x, stretch))
    rest, stretch = rest[order], stretch[order]
    together = stretch[1:] == stretch[:-1]
    n = rest.size
    raw = float((rest[1:] * rest[:-1])[together].sum() / (rest @ rest))
    # A fitted line takes (2 + 4 rho) / n out of the correlation, to first order.
    found = (raw + 2 / n) / (1 - 4 / n) if n > 8 else raw
    found = min(max(found, -1.0), 1.0)
    error = 1 / math.sqrt(n)
    # What is corrected for the line varies more than the raw correlation.
    wider = error / (1 - 4 / n) if n > 8 else error
    return found, float(ndtr(-found / wider)), min(max(found + 0.4 * error, 0.0), 0.95)


def _wanders(
    x: NDArray[np.float64],
    rest: NDArray[np.float64],
    stretch: NDArray[np.intp],
    allowed: float | None,
) -> bool:
    """Check whether means of five readings in a row leave the line by more than is allowed."""
    if allowed is None:
        return False
    far = 0.0
    for one in range(int(stretch.max()) + 1):
        here = rest[stretch == one][np.argsort(x[stretch == one], kind="stable")]
        if here.size >= 5:
            means = np.convolve(here, np.full(5, 0.2), mode="valid")
            far = max(far, float(np.abs(means).max()))
    return far > allowed


def _next_check(
    allowed: float | None, slope: float, half: float, confidence: float, wanders: bool
) -> Interval | Absent:
    """Compute the strokes until the allowed drift is reached; the fastest drift in the interval comes first."""
    if allowed is None:
        return Absent("neither a tolerance nor an allowed drift is given")
    if wanders:
        return Absent(
            "the gauge moved by more than the allowed drift within this record, and not along a line"
        )
    fastest = max(abs(slope - half), abs(slope + half))
    slowest = 0.0 if abs(slope) <= half else min(abs(slope - half), abs(slope + half))
    return Interval(
        allowed / abs(slope) if slope else math.inf,
        allowed / fastest,
        allowed / slowest if slowest > 0 else math.inf,
        confidence,
        "t, turned round",
    )
