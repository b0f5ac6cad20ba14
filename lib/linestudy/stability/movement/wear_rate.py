"""Tool wear: how the mean moves per thousand strokes, and when the limit is reached if it goes on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics.arrays import FloatArray, IntArray
from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    arguments,
    data_arguments,
    show,
)
from linestudy.results.declared import Declaration
from linestudy.results.rounding import as_given
from linestudy.results.tables import Quantity, Rows, over_strokes
from linestudy.running.deprecation import old_keywords, renamed
from linestudy.stability.movement.block_means import (
    Blocks,
    block_means,
    correlation_time,
    stretch_of,
    without_stations,
    without_stretches,
)
from linestudy.stability.movement.coil_levels import (
    CoilFit,
    first_of,
    fit_over_coils,
    within_coils,
)


@dataclass(frozen=True, slots=True, eq=False)
class WearLine:
    """The line through the block means, and what its prediction beyond the run rests on.

    Attributes
    ----------
    order, mean : numpy.ndarray of float
        Order number and mean of each block.
    stretch : numpy.ndarray of int
        Stretch between resets that it belongs to.
    slope, error : float
        [unit of the values per stroke] Slope, and its standard error.
    noise : float
        [unit of the values] Standard deviation of a block's mean about the line.
    t : float
        Quantile of Student's t at the confidence.
    middle, level : float
        Mean order number and mean of the last stretch.
    last_blocks : int
        Its blocks.
    end : float
        Last order number of the run.
    """

    order: FloatArray
    mean: FloatArray
    stretch: IntArray
    slope: float
    error: float
    noise: float
    t: float
    middle: float
    level: float
    last_blocks: int
    end: float


@dataclass(frozen=True)
class ToolWearStudy(Finding):
    """Tool wear of a run.

    Attributes
    ----------
    slope_per_thousand : Interval
        [unit of the values] Change of the mean per thousand strokes.
    slope_p : float
        Of no wear at all.
    strokes_left : Interval or Absent
        Strokes after the run's end until only `margin` standard deviations of single parts are left
        between the mean and the limit.
    limit : float or None
        [unit of the values] The tolerance limit the mean moves towards.
    margin : float
        In standard deviations of single parts.
    residual_sd : float
        [unit of the values] Standard deviation of single parts about the line.
    stretches : int
        Stretches between events, each with a level of its own.
    blocks : int
        Block means the line was fitted to.
    block_length : int
        Parts in each.
    unit : str
        Of the values.
    over : int or None
        Strokes to which the slope is reported, where the study has chosen; not recorded.
    """

    slope_per_thousand: Interval
    slope_p: float
    strokes_left: Interval | Absent
    limit: float | None
    margin: float
    residual_sd: float
    stretches: int
    blocks: int
    block_length: int
    unit: str
    cautions: tuple[str, ...]
    over: int | None = field(default=None, repr=False, compare=False, kw_only=True)
    line: WearLine = field(repr=False, compare=False)
    title: ClassVar[str] = "Tool wear"
    picture: ClassVar[str] = "stability:tool_wear_line"

    @property
    def statement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        slope, over = over_strokes(self.slope_per_thousand, over=self.over)
        if 0 in slope:
            return f"No significant wear: {show(slope)}{unit} {over}."
        text = f"Wear {show(slope)}{unit} {over}."
        if isinstance(self.strokes_left, Interval) and self.limit is not None:
            text += (
                f" At this rate {self.margin:g} standard deviations reach the limit {as_given(self.limit)}{unit} after "
                f"{_strokes(self.strokes_left)} more strokes."
            )
        return text

    def _rows(self) -> Rows:
        slope, over = over_strokes(self.slope_per_thousand, over=self.over)
        return [
            Quantity(f"change {over}", slope, self.unit),
            Quantity("p of no wear", self.slope_p, "p"),
            Quantity(f"strokes until the limit is {self.margin:g} SD away", self.strokes_left),
            Quantity("SD of parts about the line", self.residual_sd, self.unit),
            Quantity("stretches between events", self.stretches),
            Quantity("blocks", self.blocks),
            Quantity("parts in a block", self.block_length),
        ]


TOOL_WEAR = Declaration("stability.tool_wear", ToolWearStudy)


def _strokes(left: Interval) -> str:
    high = f"{left.high:,.0f}" if math.isfinite(left.high) else "no bound"
    return f"{left.estimate:,.0f} ({left.low:,.0f} to {high})"


@old_keywords(
    renamed("marks", "resets", since="0.3.0", removal="0.4.0"),
)
def tool_wear(
    values: ArrayLike,
    order: ArrayLike,
    *,
    resets: Sequence[float] = (),
    lower: float | None = None,
    upper: float | None = None,
    station: ArrayLike | None = None,
    batch: ArrayLike | None = None,
    margin: float = 3.0,
    confidence: float = 0.95,
    unit: str = "",
) -> ToolWearStudy:
    r"""Estimate tool wear, and the strokes left until a limit is reached.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    order : array_like of float, shape (n,)
        Stroke number of each part.
    resets : sequence of float
        Order numbers at which the level may change: regrinds, wipes, coil changes.
    lower, upper : float, optional
        Tolerance limits, in the unit of the values.
    station : array_like, shape (n,), optional
        Station of each part; station means are taken out first.
    batch : array_like, shape (n,), optional
        Batch (coil) of each part: its own level is chance about the line, and in the slope's interval.
    margin : float
        Standard deviations of single parts that must stay between mean and limit, not below 0.
    confidence : float
        Of the intervals, between 0 and 1.
    unit : str
        Of the values.

    Returns
    -------
    ToolWearStudy
        Slope, its test, and the strokes left.

    Raises
    ------
    CannotJudge
        Fewer than 60 parts, values that are missing or never differ, or a run too short against its serial
        correlation.
    ValueError, TypeError
        An argument outside its range, limits out of order, or lengths that differ.

    See Also
    --------
    change_points : Steps that nobody named.
    variance_sources : How much of the variance wear explains.

    Notes
    -----
    Model: between resets (regrind, lens wiped, coil change) the mean is a straight line; the slope is
    common to all stretches, the level is each stretch's own,

    .. math:: \bar y_b = \mu_{s(b)} + \beta x_b + \varepsilon_b,

    fitted by least squares to means of blocks several correlation times long, so that Student's t holds; with coils
    named each has a level of its own in the error, whose variance is integrated out of the restricted likelihood. The
    stroke at which the limit is reached is found by inverse prediction (Fieller's argument) from the last
    stretch's level. Misleads where wear is not straight, and always beyond the strokes seen: the interval
    knows nothing of a punch that chips.

    References
    ----------
    Draper & Smith, *Applied Regression Analysis*, 3rd ed. (1998), 3.2 (inverse prediction). Conway,
    *Management Science* 10 (1963), 47-61 (batch means).

    Examples
    --------
    >>> import numpy as np
    >>> x = np.arange(2000.0)
    >>> y = 5 + 0.002 * x / 1000 + 0.001 * np.random.default_rng(2).normal(size=2000)
    >>> study = tool_wear(y, x, upper=5.02)
    >>> 0.002 in study.slope_per_thousand
    True
    """
    arguments.limits(lower, upper, needed=False)
    arguments.number("margin", margin, least=0)
    arguments.share("confidence", confidence)
    y = data_arguments.one_dimensional(values, least=60)
    x = data_arguments.one_dimensional(order, name="order", what="order number")
    arguments.same_length(values=y, order=x, station=station, batch=batch)
    y = without_stations(y, station)
    if np.ptp(y) == 0:
        raise CannotJudge("The values never differ, so no wear can be seen.")
    stretch = stretch_of(x, resets)
    sd = float(without_stretches(y, stretch, x).std(ddof=1))
    inside = within_coils(stretch, batch)
    length = _length(y, x, inside)
    if length > np.median(np.bincount(inside)):
        # Coils shorter than a block are chance within it.
        inside, batch = stretch, None
        length = _length(y, x, stretch)
    blocks = block_means(y, x, inside, length)
    coils = None if batch is None else first_of(batch, inside)[blocks.stretch]
    blocks = replace(blocks, stretch=first_of(stretch, inside)[blocks.stretch])
    limits: Any = {"lower": lower, "upper": upper}
    ends = (float(x.min()), float(x[-1]))
    return of_blocks(
        blocks, sd, ends, **limits, margin=margin, confidence=confidence, unit=unit, coils=coils
    )


def _length(y: Any, x: Any, stretch: Any) -> int:
    """Count the parts of a block that is long against the correlation within stretches."""
    time = correlation_time(without_stretches(y, stretch, x))
    return int(max(math.ceil(10 * time), y.size // 120, 1))


def of_blocks(
    blocks: Blocks,
    sd: float,
    ends: tuple[float, float],
    *,
    lower: float | None,
    upper: float | None,
    margin: float,
    confidence: float,
    unit: str,
    coils: Any = None,
) -> ToolWearStudy:
    """Estimate wear from block means that are nearly independent.

    Parameters
    ----------
    blocks : Blocks
        Block means of the run.
    sd : float
        Of single parts about the line.
    ends : tuple of float
        Order numbers of the first and the last part.
    lower, upper : float or None
        Tolerance limits.
    margin : float
        Standard deviations of single parts between mean and limit.
    confidence : float
        Of the intervals.
    unit : str
        Of the values.
    coils : numpy.ndarray, optional
        Coil of each block.

    Returns
    -------
    ToolWearStudy
        As :func:`tool_wear` gives it.

    Raises
    ------
    CannotJudge
        Too few blocks for a slope.
    """
    from scipy.stats import t as student

    used = np.bincount(blocks.stretch) > 0
    df: float = int(blocks.mean.size - used.sum() - 1)
    if df < 4:
        raise CannotJudge(
            f"The run has {blocks.mean.size} independent stretches only; against its own serial correlation it is "
            "too short to tell wear from chance."
        )
    slope, error, noise = _fit(blocks, df)
    held = None if coils is None else _over_coils(blocks, coils)
    if held is not None:
        slope, error, df = float(held.coefficients[-1]), math.sqrt(held.covariance[-1, -1]), held.df
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
    return ToolWearStudy(
        slope_per_thousand=per,
        slope_p=float(2 * student.sf(abs(slope) / error, df)) if error > 0 else 0.0,
        strokes_left=left,
        limit=limit,
        margin=margin,
        residual_sd=sd,
        stretches=int(used.sum()),
        blocks=int(blocks.mean.size),
        block_length=blocks.length,
        unit=unit,
        cautions=_cautions(left, ends, df),
        line=WearLine(
            blocks.order,
            blocks.mean,
            blocks.stretch,
            slope=slope,
            error=error,
            noise=noise,
            t=t,
            middle=middle,
            level=level,
            last_blocks=int(last.sum()),
            end=ends[1],
        ),
    )


def _over_coils(blocks: Blocks, coils: Any) -> CoilFit | None:
    """Estimate the same slope where every coil has a level of its own; None where it cannot be estimated."""
    stretch = np.unique(blocks.stretch, return_inverse=True)[1]
    design = np.column_stack(
        [np.eye(int(stretch.max()) + 1)[stretch], blocks.order - blocks.order.mean()]
    )
    return fit_over_coils(blocks.mean, blocks.n, design, coils)


def _fit(blocks: Any, df: float) -> tuple[float, float, float]:
    """Fit the common slope within stretches, with its standard error and the spread of a block mean."""
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
    """Find where the prediction band of the line crosses the target, counted from the run's end."""
    if abs(slope) <= slope_reach:
        return Absent("the slope is not distinguished from zero")
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


def _cautions(left: Interval | Absent, ends: tuple[float, float], df: float) -> tuple[str, ...]:
    notes = []
    if isinstance(left, Interval) and left.estimate > ends[1] - ends[0]:
        notes.append(
            "The limit lies further ahead than the strokes seen; the line is drawn out beyond all data."
        )
    if df < 10:
        notes.append(
            f"Only {df:.0f} degrees of freedom are left for the slope: the run is short against its "
            "own correlation."
        )
    return tuple(notes)
