"""Pictures of how a process moves: correlation, sources, wear, change points, and what a chart would see."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import NullLocator

from linestudy.figures.style import (
    DEEP,
    INK,
    LINES,
    MARKERS,
    PALE,
    SOFT,
    interval_bars,
    limit_line,
    per_cent,
    picture,
    plain_texts,
)
from linestudy.numerics.arrays import FloatArray
from linestudy.results import Interval
from linestudy.results.picture import Picture
from linestudy.results.rounding import time_between, with_unit

if TYPE_CHECKING:
    from linestudy.stability.charts.run_lengths import RunLengthStudy
    from linestudy.stability.movement.change_point_search import ChangePointStudy
    from linestudy.stability.movement.serial_correlation import AutocorrelationStudy
    from linestudy.stability.movement.spread_equality import EqualSpreadStudy
    from linestudy.stability.movement.streams_finding import StreamStudy
    from linestudy.stability.movement.wear_rate import ToolWearStudy
    from linestudy.stability.sampling_plans import SamplingPlan


def autocorrelation(study: AutocorrelationStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the correlation of parts a number of strokes apart."""
    figure, axes = picture("How long does a part resemble those before it?", height=2.8, ax=ax)
    r = study.correlations
    reach = r.size - 1
    if study.spacing is not None:
        reach = min(reach, max(4 * study.spacing, 30))
    lags = np.unique(np.round(np.linspace(1, reach, min(reach, 240))).astype(int))
    axes.vlines(lags, 0, r[lags], color=DEEP, linewidth=1.2)
    if lags.size <= 60:
        axes.plot(lags, r[lags], MARKERS[0], color=DEEP, markersize=3)
    axes.axhspan(-0.1, 0.1, color=PALE, alpha=0.6, linewidth=0)
    axes.axhline(0, color=INK, linewidth=0.7)
    if study.spacing is not None and study.spacing > 1:
        limit_line(axes, float(study.spacing), "negligible", vertical=True)
    axes.set_ylim(min(-0.15, float(r[lags].min()) * 1.1), 1.02)
    axes.set_xlabel("strokes apart")
    axes.set_ylabel("correlation")
    return figure


def shares_of_variance(shares: dict[str, Interval], *, ax: Axes | None = None) -> Picture:
    """Draw what the variance would fall by if one source were removed.

    Parameters
    ----------
    shares : dict of str to Interval
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    figure, axes = picture(
        "Which source of variation would free most if removed?",
        height=1.4 + 0.3 * len(shares),
        ax=ax,
    )
    interval_bars(axes, list(shares), list(shares.values()))
    axes.set_xlim(-0.01, 1.02)
    axes.xaxis.set_major_formatter(per_cent)
    axes.set_xlabel("share of the variance (bar: confidence interval)")
    return figure


def tool_wear_line(study: ToolWearStudy, *, ax: Axes | None = None) -> Picture:
    """Draw block means, the line through each stretch, and its way to the limit."""
    line = study.line
    left = study.strokes_left if isinstance(study.strokes_left, Interval) else None
    asked = "When does wear reach the limit?" if left else "Does the mean move with the strokes?"
    figure, axes = picture(asked, width=7.4, height=3.0, ax=ax)
    axes.plot(line.order, line.mean, MARKERS[0], color=DEEP, markersize=3.2)
    for number in np.unique(line.stretch):
        own = line.stretch == number
        x = line.order[own]
        fitted = line.mean[own].mean() + line.slope * (x - x.mean())
        axes.plot(x, fitted, color=INK, linewidth=1.2)
    if left is not None:
        high = left.high if np.isfinite(left.high) else 3 * left.estimate
        end = line.end + min(high, 6 * left.estimate)
        x = np.linspace(line.end, end, 60)
        along = x - line.middle
        middle = line.level + line.slope * along
        variance = line.noise**2 * (1 + 1 / line.last_blocks)
        half = line.t * np.sqrt(variance + (line.error * along) ** 2)
        axes.plot(x, middle, color=INK, linewidth=1.0, linestyle=LINES[1])
        axes.fill_between(x, middle - half, middle + half, color=PALE, alpha=0.6, linewidth=0)
        target = study.limit - np.sign(line.slope) * study.margin * study.residual_sd
        limit_line(axes, study.limit, "limit")
        limit_line(axes, float(target), f"limit less {study.margin:g} SD")
        at = line.end + np.array([left.low, min(high, 6 * left.estimate)])
        axes.plot(at, [target, target], color=DEEP, linewidth=3, alpha=0.75, solid_capstyle="butt")
        axes.plot([line.end + left.estimate], [target], "D", color=DEEP, markersize=5)
    axes.set_xlabel("stroke (band and bar: where the next block means, and the limit, may lie)")
    axes.set_ylabel(with_unit("mean", study.unit))
    return figure


def change_point_path(study: ChangePointStudy, *, ax: Axes | None = None) -> Picture:
    """Draw block means with the significant steps and where each may lie."""
    figure, axes = picture("Where does the mean step?", width=7.4, height=3.0, ax=ax)
    path = study.path
    axes.plot(path.order, path.mean, MARKERS[0], color=SOFT, markersize=2.8)
    axes.plot(path.order, path.fitted, color=DEEP, linewidth=1.4, drawstyle="steps-mid")
    for step in study.change_points:
        axes.axvspan(step.at.low, step.at.high, color=PALE, alpha=0.7, linewidth=0)
        limit_line(axes, step.at.estimate, step.event or "step", vertical=True)
    axes.set_xlabel("order (shaded: where the step may lie)")
    what = "mean, wear taken out" if path.wear_taken_out else "mean"
    axes.set_ylabel(with_unit(what, study.unit))
    return figure


def run_lengths(study: RunLengthStudy, *, ax: Axes | None = None) -> Picture:
    """Draw mean points to a signal over the shift."""
    figure, axes = picture("How soon does the chart find a shift?", ax=ax)
    mean = [m.estimate if isinstance(m, Interval) else m for m in study.mean]
    axes.plot(study.shifts, mean, color=DEEP, linewidth=1.2, marker=MARKERS[0], markersize=5)
    for shift, value in zip(study.shifts, mean, strict=True):
        axes.annotate(
            f"{value:,.0f}" if value >= 10 else f"{value:.1f}",
            (shift, value),
            xytext=(4, 4),
            textcoords="offset points",
            fontsize=7.5,
            color=INK,
        )
    axes.set_yscale("log")
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:,g}")
    axes.yaxis.set_minor_locator(NullLocator())
    axes.set_ylim(bottom=0.9)
    axes.set_xlabel("shift of the mean (standard deviations of single parts)")
    axes.set_ylabel("mean points to a signal")
    return figure


def plan_cost(study: SamplingPlan, *, ax: Axes | None = None) -> Picture:
    """Draw parts measured per hour by subgroup size."""
    figure, axes = picture("Which subgroup size finds the shift with fewest measurements?", ax=ax)
    sizes = [option.size for option in study.options]
    cost = [option.parts_per_hour for option in study.options]
    axes.plot(sizes, cost, color=SOFT, linewidth=1.0, marker=MARKERS[0], markersize=5)
    axes.plot([study.size], [study.parts_per_hour], "D", color=DEEP, markersize=8)
    axes.annotate(
        f"{study.size} every {time_between(study.interval_minutes)}",
        (study.size, study.parts_per_hour),
        xytext=(10, -8),
        textcoords="offset points",
        fontsize=8,
        color=INK,
        va="top",
    )
    axes.set_ylim(bottom=0, top=1.15 * max(cost))
    axes.set_xlabel("parts in a subgroup")
    axes.set_ylabel("parts measured per hour")
    return figure


def stream_means(study: StreamStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the block means of every stream with the interval of its mean."""
    of = {
        str(name): means.to_numpy()
        for name, means in study.points.groupby("stream", sort=False)["mean"]
    }
    figure, axes = _strips(f"Do the {study.by}s have one mean?", of, ax)
    for place, stream in enumerate(study.streams):
        axes.plot(
            [place, place],
            [stream.mean.low, stream.mean.high],
            color=INK,
            linewidth=3,
            solid_capstyle="butt",
            zorder=4,
        )
        axes.plot([place], [stream.mean.estimate], "D", color=INK, markersize=6, zorder=5)
    axes.set_xlabel(f"{study.by} (bar: confidence interval of its mean)")
    axes.set_ylabel(with_unit("mean of a block of parts", study.unit))
    return figure


def stream_spreads(study: EqualSpreadStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the distance of every part tested from its station's median."""
    figure, axes = _strips("Do the stations scatter alike?", study.distances, ax, medians=True)
    axes.set_xlabel("station (line: median)")
    axes.set_ylabel(with_unit("distance from the station's median", study.unit))
    return figure


#: Points drawn of one stream; of more, evenly chosen ones.
_MOST_OF_A_STREAM = 400


def _strips(
    question: str, of: Mapping[str, FloatArray], ax: Axes | None, *, medians: bool = False
) -> tuple[Picture, Axes]:
    """Draw strips of points side by side, one for each stream, spread by a fixed seed."""
    import seaborn

    figure, axes = picture(question, width=7.4, height=3.0, ax=ax)
    shown = {name: y[:: math.ceil(y.size / _MOST_OF_A_STREAM)] for name, y in of.items()}
    before = np.random.get_state()
    np.random.seed(0)
    seaborn.stripplot(shown, color=DEEP, alpha=0.5, size=3.2, jitter=0.25, ax=axes)
    np.random.set_state(before)
    if medians:
        for place, y in enumerate(of.values()):
            axes.plot([place - 0.3, place + 0.3], [np.median(y)] * 2, color=INK, lw=2.5, zorder=5)
    axes.set_xticks(range(len(of)), plain_texts(of, 24))
    return figure, axes
