"""Wear: how the mean moves per thousand strokes, and when the limit is reached if it goes on.

Model: between marks (regrind, lens wiped, coil change) the mean is a straight line; the slope is
common to all stretches, the level is each stretch's own. FittedDistribution by least squares to means of blocks
several correlation times long (see ``block_means``), so that Student's t holds. The stroke at which the
limit is reached: inverse prediction (Fieller's argument; Draper & Smith, *Applied Regression
Analysis*, 3.2), from the last stretch's level. Misleads where wear is not straight, and always beyond
the strokes seen: the interval knows nothing of a punch that chips.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.numerics.samples import as_sample
from linestudy.results import Absent, CannotJudge, Finding, Interval, show
from linestudy.results.declared import Declaration
from linestudy.stability.movement.block_means import (
    Blocks,
    block_means,
    correlation_time,
    freed_of,
    stretch_of,
    without_stations,
)

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class WearStudy(Finding):
    """Wear of a run.

    Attributes
    ----------
    per_thousand : Interval
        Change of the mean per thousand strokes, in the unit of the values.
    p : float
        Of no wear at all.
    strokes_left : Interval or Absent
        Strokes after the run's end until the mean has come so near to the limit that only
        `margin` standard deviations of single parts are left between them.
    limit : float or None
        The tolerance limit the mean moves towards.
    margin : float
    sd_about_line : float
        Of single parts, about the line.
    stretches, blocks, block_length : int
    """

    per_thousand: Interval
    p: float
    strokes_left: Interval | Absent
    limit: float | None
    margin: float
    sd_about_line: float
    stretches: int
    blocks: int
    block_length: int
    unit: str
    cautions: tuple[str, ...]
    line: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Wear"
    picture: ClassVar[str] = "stability:wear_line"

    @property
    def statement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        if 0 in self.per_thousand:
            return (
                f"No wear is seen: the mean moves by {show(self.per_thousand)}{unit} per thousand "
                "strokes, an interval that holds zero."
            )
        text = f"The mean moves by {show(self.per_thousand)}{unit} per thousand strokes."
        if isinstance(self.strokes_left, Interval):
            text += (
                f" If it goes on so, {self.margin:g} standard deviations reach the limit "
                f"{self.limit:g}{unit} after {_strokes(self.strokes_left)} more strokes."
            )
        return text

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        left = self.strokes_left
        rows = [
            (f"change per thousand strokes{unit}", show(self.per_thousand)),
            ("p of no wear", show(self.p)),
            (
                f"strokes until the limit is {self.margin:g} SD away",
                _strokes(left) if isinstance(left, Interval) else str(left),
            ),
            (f"SD of parts about the line{unit}", show(self.sd_about_line)),
            ("stretches between events", str(self.stretches)),
            ("blocks, and parts in each", f"{self.blocks}, {self.block_length}"),
        ]
        return pd.DataFrame(rows, columns=["quantity", "value"])


WEAR = Declaration("stability.wear", WearStudy, "Wear")


def _strokes(left: Interval) -> str:
    high = f"{left.high:,.0f}" if math.isfinite(left.high) else "no bound"
    return f"{left.estimate:,.0f} ({left.low:,.0f} to {high})"


def wear(
    values: Any,
    order: Any,
    marks: Sequence[float] = (),
    lower: float | None = None,
    upper: float | None = None,
    station: Any = None,
    margin: float = 3.0,
    confidence: float = 0.95,
    unit: str = "",
) -> WearStudy:
    """Estimate wear, and the strokes left until a limit is reached.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    order : array_like of float, shape (n,)
        Stroke number of each part.
    marks : sequence of float
        Order numbers at which the level may change: regrinds, wipes, coil changes.
    lower, upper : float, optional
        Tolerance limits.
    station : array_like, shape (n,), optional
        Station of each part; station means are taken out first.
    margin : float
        Standard deviations of single parts that must stay between mean and limit.
    confidence : float
    unit : str

    Returns
    -------
    WearStudy

    Raises
    ------
    CannotJudge
        Fewer than 60 parts, values that never differ, or a run too short against its serial
        correlation.

    Examples
    --------
    >>> import numpy as np
    >>> x = np.arange(2000.0)
    >>> y = 5 + 0.002 * x / 1000 + 0.001 * np.random.default_rng(2).normal(size=2000)
    >>> study = wear(y, x, upper=5.02)
    >>> 0.002 in study.per_thousand
    True
    """
    y = without_stations(as_sample(values, least=60), station)
    x = as_sample(order, least=60, name="order number")
    if np.ptp(y) == 0:
        raise CannotJudge("The values never differ, so no wear can be seen.")
    stretch = stretch_of(x, marks)
    residual = freed_of(y, stretch, x)
    time = correlation_time(residual)
    length = int(max(math.ceil(10 * time), y.size // 120, 1))
    blocks = block_means(y, x, stretch, length)
    sd = float(residual.std(ddof=1))
    ends = (float(x.min()), float(x[-1]))
    return of_blocks(blocks, sd, ends, lower, upper, margin, confidence, unit)


def of_blocks(
    blocks: Blocks,
    sd: float,
    ends: tuple[float, float],
    lower: float | None,
    upper: float | None,
    margin: float,
    confidence: float,
    unit: str,
) -> WearStudy:
    """Wear out of block means that are nearly independent.

    Parameters
    ----------
    blocks : Blocks
    sd : float
        Of single parts about the line.
    ends : tuple of float
        Order numbers of the first and the last part.
    lower, upper : float or None
    margin, confidence : float
    unit : str

    Returns
    -------
    WearStudy

    Raises
    ------
    CannotJudge
        Too few blocks for a slope.
    """
    from scipy.stats import t as student

    used = np.bincount(blocks.stretch) > 0
    df = int(blocks.mean.size - used.sum() - 1)
    if df < 4:
        raise CannotJudge(
            "The run is too short against its own serial correlation to tell wear from chance."
        )
    slope, error, noise = _fit(blocks, df)
    t = float(student.ppf((1 + confidence) / 2, df))
    per = Interval(
        1000 * slope,
        1000 * (slope - t * error),
        1000 * (slope + t * error),
        confidence,
        "Student's t on block means",
    )
    last = blocks.stretch == blocks.stretch.max()
    middle, level = float(blocks.order[last].mean()), float(blocks.mean[last].mean())
    limit = upper if slope > 0 else lower
    if limit is None:
        left: Interval | Absent = Absent("the mean moves towards no limit")
    else:
        target = limit - math.copysign(margin * sd, slope)
        left = _strokes_left(
            target - level,
            slope,
            t * error,
            t * noise,
            int(last.sum()),
            middle,
            ends[1],
            confidence,
        )
    return WearStudy(
        per,
        float(2 * student.sf(abs(slope) / error, df)) if error > 0 else 0.0,
        left,
        limit,
        margin,
        sd,
        int(used.sum()),
        int(blocks.mean.size),
        blocks.length,
        unit,
        _cautions(per, left, ends, df),
        {
            "order": blocks.order,
            "mean": blocks.mean,
            "stretch": blocks.stretch,
            "slope": slope,
            "error": error,
            "noise": noise,
            "t": t,
            "middle": middle,
            "level": level,
            "last_blocks": int(last.sum()),
            "end": ends[1],
        },
    )


def _fit(blocks: Any, df: int) -> tuple[float, float, float]:
    """Common slope within stretches, its standard error, and the spread of a block mean."""
    counts = np.maximum(np.bincount(blocks.stretch), 1)
    across = blocks.order - (np.bincount(blocks.stretch, blocks.order) / counts)[blocks.stretch]
    offset = blocks.mean - blocks.mean.mean()
    up = offset - (np.bincount(blocks.stretch, offset) / counts)[blocks.stretch]
    total = float(across @ across)
    if total <= 0:
        raise CannotJudge("The order numbers do not advance, so no slope can be given.")
    slope = float(across @ up) / total
    noise = math.sqrt(float(np.square(up - slope * across).sum()) / df)
    return slope, noise / math.sqrt(total), noise


def _strokes_left(
    distance: float,
    slope: float,
    slope_reach: float,
    noise_reach: float,
    blocks: int,
    middle: float,
    end: float,
    confidence: float,
) -> Interval | Absent:
    """Where the prediction band of the line crosses the target, counted from the run's end."""
    if abs(slope) <= slope_reach:
        return Absent("the slope is not told from zero")
    a = slope**2 - slope_reach**2
    b = slope * distance
    c = distance**2 - noise_reach**2 * (1 + 1 / blocks)
    root = math.sqrt(max(b * b - a * c, 0.0))
    ends = sorted(((b - root) / a, (b + root) / a))
    estimate = distance / slope
    shift = middle - end
    low, best, high = ends[0] + shift, estimate + shift, ends[1] + shift
    if best <= 0:
        return Absent("the limit was nearer than the margin before the run ended")
    return Interval(
        best, max(min(low, best), 0.0), max(high, best), confidence, "inverse prediction"
    )


def _cautions(
    per: Interval, left: Interval | Absent, ends: tuple[float, float], df: int
) -> tuple[str, ...]:
    notes = []
    if isinstance(left, Interval) and left.estimate > ends[1] - ends[0]:
        notes.append(
            "The limit lies further ahead than the strokes seen; the line is drawn out beyond all data."
        )
    if df < 10:
        notes.append(
            f"Only {df} degrees of freedom are left for the slope: the run is short against its "
            "own correlation."
        )
    return tuple(notes)
