"""A master read again and again: does the gauge wander, and how fast.

Model: error = level of the stretch + slope * strokes since its start + independent normal
error, one slope for all stretches; a stretch begins where the gauge was reset (lens wiped).
Misleads when errors are serially correlated (intervals too short) or when drift is not a line.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.gauges.arguments import as_readings
from linestudy.results import Absent, CannotJudge, Finding, Interval, show
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class DriftStudy(Finding):
    """Drift of a gauge on one master.

    Attributes
    ----------
    n : int
        Readings.
    slope_per_thousand : Interval
        Change per thousand strokes (or per thousand of whatever the order counts).
    slope_p : float
    residual_sd : float
    largest_error : float
        Largest absolute deviation from the reference, in the unit of the readings.
    stretches : int
        Stretches between resets.
    allowed : float or None
        What the gauge may drift between two checks, in the unit of the readings.
    next_check : Interval or Absent
        Strokes until it has drifted that far; the low end is the one to plan by, and an infinite
        high end means that no drift may be the truth.
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
    points: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Drift on a master"
    picture: ClassVar[str] = "gauges:drift_on_master"

    @property
    def statement(self) -> str:
        moves = self.slope_p < 0.05
        verb = "drifts by" if moves else "is not seen to drift; its slope is"
        return (
            f"Over {self.n} readings the gauge {verb} {show(self.slope_per_thousand)} {self.unit} per "
            f"thousand strokes; its largest error on the master was {show(self.largest_error)} {self.unit}."
            f"{self._check}"
        ).replace("  ", " ")

    @property
    def _check(self) -> str:
        if isinstance(self.next_check, Absent) or self.allowed is None:
            return ""
        return (
            f" Checked every {self.next_check.low:,.0f} strokes at the latest, it will have drifted less than "
            f"{show(self.allowed)} {self.unit}."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        rows = [
            (f"drift per thousand strokes{unit}", show(self.slope_per_thousand)),
            ("p, no drift", show(self.slope_p)),
            (f"spread about the line{unit}", show(self.residual_sd)),
            (f"largest error{unit}", show(self.largest_error)),
            ("stretches between resets", str(self.stretches)),
            ("strokes until the next check, at most", self._strokes),
        ]
        return pd.DataFrame(rows, columns=["quantity", "value"])

    @property
    def _strokes(self) -> str:
        if isinstance(self.next_check, Absent):
            return str(self.next_check)
        return f"{self.next_check.low:,.0f}"


DRIFT = Declaration("gauges.{gauge}.drift", DriftStudy, "Drift on a master")


def drift(
    order: Any,
    readings: Any,
    reference: Any,
    resets: tuple[float, ...] = (),
    tolerance: float | None = None,
    allowed: float | None = None,
    confidence: float = 0.95,
    unit: str = "",
) -> DriftStudy:
    """Estimate the drift of a gauge from repeated readings of one master.

    Parameters
    ----------
    order : array_like of float, shape (n,)
        Stroke (or time) of each reading.
    readings : array_like of float, shape (n,)
    reference : float or array_like of float, shape (n,)
    resets : tuple of float
        Order numbers at which the gauge was cleaned or set.
    tolerance : float, optional
    allowed : float, optional
        Drift allowed between two checks, in the unit of the readings; a fiftieth of the tolerance
        unless given (common practice, no source).
    confidence : float
    unit : str

    Returns
    -------
    DriftStudy

    Raises
    ------
    CannotJudge
        Too few readings for the stretches, or errors that never differ.

    Notes
    -----
    Least squares with one slope and a level per stretch (analysis of covariance).

    Examples
    --------
    >>> study = drift([0, 1000, 2000, 3000], [1.0, 1.1, 1.2, 1.31], 1.0)
    >>> round(study.slope_per_thousand.estimate, 3)
    0.103
    """
    from scipy.special import stdtr, stdtrit

    values = as_readings(readings, least=4, name="reading")
    x = as_readings(order, least=4, name="order number")
    errors = values - np.broadcast_to(np.asarray(reference, dtype=float), values.shape)
    stretch = np.searchsorted(np.sort(np.asarray(resets, dtype=float)), x, side="right")
    _, stretch = np.unique(stretch, return_inverse=True)
    groups = int(stretch.max()) + 1
    df = values.size - groups - 1
    counts = np.bincount(stretch)
    dx = x - (np.bincount(stretch, x) / counts)[stretch]
    dy = errors - (np.bincount(stretch, errors) / counts)[stretch]
    sxx = float(dx @ dx)
    if df < 1 or sxx == 0:
        raise CannotJudge("There are too few readings of the master between resets to see a drift.")
    slope = float(dx @ dy) / sxx
    rest = dy - slope * dx
    sse = float(rest @ rest)
    if sse <= 0:
        raise CannotJudge("The errors lie on one line exactly; resolution hides their spread.")
    s = float(np.sqrt(sse / df))
    error = s / np.sqrt(sxx)
    half = float(stdtrit(df, (1 + confidence) / 2)) * error
    cautions = []
    if values.size < 20:
        cautions.append(f"{values.size} readings are few for a statement about drift.")
    if resets:
        cautions.append("The line starts anew at each reset named in study.toml.")
    room = allowed if allowed is not None else (tolerance / 50 if tolerance else None)
    return DriftStudy(
        n=int(values.size),
        slope_per_thousand=Interval(
            slope * 1000, (slope - half) * 1000, (slope + half) * 1000, confidence, "t"
        ),
        slope_p=float(2 * stdtr(df, -abs(slope / error))),
        residual_sd=s,
        largest_error=float(np.abs(errors).max()),
        stretches=groups,
        allowed=room,
        next_check=_next_check(room, slope, half, confidence),
        tolerance=tolerance,
        unit=unit,
        cautions=tuple(cautions),
        points=np.column_stack([x, errors, errors - rest, stretch]),
    )


def _next_check(
    allowed: float | None, slope: float, half: float, confidence: float
) -> Interval | Absent:
    """Strokes until the allowed drift is reached; the fastest drift in the interval comes first."""
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
