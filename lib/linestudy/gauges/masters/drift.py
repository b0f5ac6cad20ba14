"""A master read again and again: does the gauge wander, and how fast.

Model: error = level of the stretch + slope * strokes since its start + independent normal
error, one slope for all stretches; a stretch begins where the gauge was reset (lens wiped).
Misleads when errors are serially correlated (intervals too short) or when drift is not a line.
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
from linestudy.results.tables import Quantity, Rows


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
    points : numpy.ndarray of float, shape (n, 4)
        Order, error, the line's error, and which stretch, counted from 0.
    """

    n: int
    slope_per_thousand: Interval
    slope_p: float
    residual_sd: float
    largest_error: float
    stretches: int
    allowed: float | None
    next_check: Interval | Absent
    tolerance: float | None
    unit: str
    cautions: tuple[str, ...]
    points: NDArray[np.float64] = field(repr=False, compare=False)
    title: ClassVar[str] = "Drift on a master"
    picture: ClassVar[str] = "gauges:drift_on_master"

    @property
    def statement(self) -> str:
        moves = self.slope_p < 0.05
        verb = "drifts by" if moves else "is not seen to drift; its slope is"
        return (
            f"Over {self.n} readings the gauge {verb} {show_in(self.slope_per_thousand, self.unit)} per "
            f"thousand strokes; its largest error on the master was {show_in(self.largest_error, self.unit)}."
            f"{self._check}"
        )

    @property
    def _check(self) -> str:
        if isinstance(self.next_check, Absent) or self.allowed is None:
            return ""
        return (
            f" Checked every {self.next_check.low:,.0f} strokes at the latest, it will have drifted less than "
            f"{show_in(self.allowed, self.unit)}."
        )

    def _rows(self) -> Rows:
        latest = self.next_check if isinstance(self.next_check, Absent) else self.next_check.low
        return [
            Quantity("drift per thousand strokes", self.slope_per_thousand, self.unit),
            Quantity("p, no drift", self.slope_p, "p"),
            Quantity("spread about the line", self.residual_sd, self.unit),
            Quantity("largest error", self.largest_error, self.unit),
            Quantity("stretches between resets", self.stretches),
            Quantity("next check at the latest", latest, "strokes"),
        ]


DRIFT = Declaration("gauges.{gauge}.drift", DriftStudy, "Drift on a master")


def drift_study(
    order: ArrayLike,
    readings: ArrayLike,
    reference: ArrayLike,
    *,
    resets: Sequence[float] = (),
    tolerance: float | None = None,
    allowed: float | None = None,
    confidence: float = 0.95,
    unit: str = "",
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
    confidence : float
        Of the intervals, between 0 and 1.
    unit : str
        Unit of the readings, for table, statement and picture.

    Returns
    -------
    DriftStudy
        Slope with interval, and when the gauge should be checked next.

    Raises
    ------
    CannotJudge
        Too few readings for the stretches, or errors that never differ.
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

    with independent normal :math:`\varepsilon`. Misleads when errors are serially correlated (intervals
    too short) and when the drift is not a line.

    References
    ----------
    Draper & Smith, *Applied Regression Analysis*, 3rd ed. (1998), ch. 14 (dummy variables).

    Examples
    --------
    >>> found = drift_study([0, 1000, 2000, 3000], [1.0, 1.1, 1.2, 1.31], 1.0, unit="mm")
    >>> found.shown().head(2)
                              quantity                      value
    0  drift per thousand strokes (mm)  0.1030 (0.0955 to 0.1105)
    1                      p, no drift                    < 0.001
    """
    from scipy.special import stdtr, stdtrit

    values = data_arguments.readings(readings, least=4)
    x = data_arguments.readings(order, name="order", least=4, what="order number")
    arguments.same_length(readings=values, order=x)
    errors = values - data_arguments.for_each(reference, values.size, name="reference")
    arguments.share("confidence", confidence)
    data_arguments.width("tolerance", tolerance)
    data_arguments.width("allowed", allowed)
    stretch = np.searchsorted(np.sort(np.asarray(resets, dtype=float)), x, side="right")
    _, stretch = np.unique(stretch, return_inverse=True)
    groups = int(stretch.max()) + 1
    df = values.size - groups - 1
    counts = np.bincount(stretch)
    dx = x - (np.bincount(stretch, x) / counts)[stretch]
    dy = errors - (np.bincount(stretch, errors) / counts)[stretch]
    sxx = float(dx @ dx)
    if df < 1 or sxx == 0:
        raise CannotJudge(
            f"{values.size} readings of the master in {groups} stretches between resets are too few to see a drift."
        )
    slope = float(dx @ dy) / sxx
    rest = dy - slope * dx
    sse = float(rest @ rest)
    if sse <= 0:
        raise CannotJudge(
            f"The errors of {values.size} readings lie on one line exactly; resolution hides their spread."
        )
    s = float(np.sqrt(sse / df))
    error = s / np.sqrt(sxx)
    half = float(stdtrit(df, (1 + confidence) / 2)) * error
    cautions = []
    if values.size < 20:
        cautions.append(f"{values.size} readings are few for a statement about drift.")
    if len(resets):
        cautions.append("The line starts anew at each reset named in study.toml.")
    limit = allowed if allowed is not None else (tolerance / 50 if tolerance else None)
    return DriftStudy(
        n=int(values.size),
        slope_per_thousand=Interval(
            slope * 1000, (slope - half) * 1000, (slope + half) * 1000, confidence, "t"
        ),
        slope_p=float(2 * stdtr(df, -abs(slope / error))),
        residual_sd=s,
        largest_error=float(np.abs(errors).max()),
        stretches=groups,
        allowed=limit,
        next_check=_next_check(limit, slope, half, confidence),
        tolerance=tolerance,
        unit=unit,
        cautions=tuple(cautions),
        points=np.column_stack([x, errors, errors - rest, stretch]),
    )


def _next_check(
    allowed: float | None, slope: float, half: float, confidence: float
) -> Interval | Absent:
    """Compute the strokes until the allowed drift is reached; the fastest drift in the interval comes first."""
    if allowed is None:
        return Absent("neither a tolerance nor an allowed drift is given")
    fastest = max(abs(slope - half), abs(slope + half))
    slowest = 0.0 if abs(slope) <= half else min(abs(slope - half), abs(slope + half))
    return Interval(
        allowed / abs(slope) if slope else math.inf,
        allowed / fastest,
        allowed / slowest if slowest > 0 else math.inf,
        confidence,
        "t, turned round",
    )
