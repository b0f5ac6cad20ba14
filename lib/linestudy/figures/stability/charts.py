"""Pictures of charts: points in order, the region between their limits, signals marked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes

from linestudy.figures.style import (
    DEEP,
    INK,
    LINES,
    MARKERS,
    PALE,
    SOFT,
    limit_line,
    picture,
    plain_text,
)
from linestudy.numerics.arrays import BoolArray, FloatArray
from linestudy.results.extras import require
from linestudy.results.picture import Picture
from linestudy.results.rounding import with_unit

if TYPE_CHECKING:
    from linestudy.stability.charts.attribute_charts import AttributeChartStudy
    from linestudy.stability.charts.chart_study import ChartStudy, Course
    from linestudy.stability.charts.residuals import ResidualChartStudy
    from linestudy.stability.charts.small_shift_charts import SmallShiftStudy
    from linestudy.stability.side_by_side.extremes import GroupChartStudy

#: More points than this are drawn as a band of extremes and a line of means.
_MOST_POINTS = 600


def control_chart(
    study: ChartStudy,
    *,
    events: tuple[tuple[float, str], ...] = (),
    span: tuple[float, float] | None = None,
    ax: Axes | None = None,
) -> Picture:
    """Draw the locations of the subgroups in order with their limits; signals marked, events named.

    Parameters
    ----------
    study : ChartStudy
    events : tuple of (float, str)
        Order number and name of what happened.
    span : tuple of float, optional
        First and last order number to be shown.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    shown = study.points.within(span)
    order, means, low, high = shown.order, shown.value, shown.low, shown.high
    figure, axes = picture("Is the process in statistical control?", width=7.4, height=3.0, ax=ax)
    _course(axes, shown)
    by_rule = [signal.order for signal in study.signals if signal.rule != "beyond"]
    if by_rule:
        at = np.isin(order, by_rule) & ~shown.out
        _mark_signals(axes, order, means, at, marker="s")
    if len(study.phases) > 1:
        axes.step(
            order, (low + high) / 2, where="mid", color=INK, linewidth=1.0, linestyle=(0, (7, 3))
        )
    else:
        limit_line(axes, study.centre, "CL")
        limit_line(axes, study.limits[1], "UCL")
        limit_line(axes, study.limits[0], "LCL")
    _mark_events(axes, events, order)
    _space_for(axes, means, low, high)
    single = study.chart == "individuals and moving range"
    axes.set_xlabel(
        "part, in order of production" if single else "order number of the subgroup's first part"
    )
    what = {"individuals and moving range": "value", "median and range": "subgroup median"}
    axes.set_ylabel(with_unit(what.get(study.chart, "subgroup mean"), study.unit))
    return figure


def spread_chart(
    study: ChartStudy, *, span: tuple[float, float] | None = None, ax: Axes | None = None
) -> Picture:
    """Draw the spread of each subgroup in order with its limits.

    Parameters
    ----------
    study : ChartStudy
    span : tuple of float, optional
        First and last order number to be shown.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    figure, axes = picture(
        "Is the spread within subgroups in statistical control?", width=7.4, height=2.6, ax=ax
    )
    _course(axes, study.spread_points.within(span))
    axes.set_ylim(bottom=0)
    axes.set_xlabel("order number of the subgroup's first part")
    axes.set_ylabel(with_unit(study.spread_points.what, study.unit))
    return figure


def explorer(study: ChartStudy, events: tuple[tuple[float, str], ...] = ()) -> Any:
    """Show the chart under a slider that chooses the part of the run to be seen (notebook only).

    Parameters
    ----------
    study : ChartStudy
    events : tuple of (float, str)

    Returns
    -------
    ipywidgets.Box
    """
    require("notebooks", "ipywidgets", purpose="sliders")
    import ipywidgets

    from linestudy.figures.panel import name_sliders, panel

    order = study.points.order
    first, last = float(order[0]), float(order[-1])
    slider = ipywidgets.FloatRangeSlider(
        value=(first, last),
        min=first,
        max=last,
        step=max((last - first) / 1000, 1e-9),
        description="stretch of the run",
        continuous_update=False,
        readout_format=",.0f",
        style={"description_width": "9em"},
        layout=ipywidgets.Layout(width="95%"),
    )
    drawn = [""]

    def view() -> str:
        # A stretch without a point leaves the picture as it was.
        if study.points.within(slider.value).order.size:
            chart = control_chart(study, events=events, span=slider.value)
            low, high = slider.value
            chart.alt_text = f"{study.alt_text} Seen from {low:,.0f} to {high:,.0f}."
            drawn[0] = chart._repr_html_()
        return drawn[0]

    name_sliders()
    return panel([slider], view, above=True)


def group_chart_extremes(study: GroupChartStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the largest and the smallest stream mean of each subgroup with their limits."""
    figure, axes = picture("Does one stream stand out from the others?", width=7.4, ax=ax)
    low, high = (np.full(study.order.size, limit) for limit in study.limits)
    _band(axes, study.order, low, high)
    for values, out in ((study.high, study.high > high), (study.low, study.low < low)):
        _series(axes, study.order, values)
        _mark_signals(axes, study.order, values, out)
    limit_line(axes, study.limits[1], "limit of the largest")
    limit_line(axes, study.limits[0], "limit of the smallest")
    _space_for(axes, np.concatenate([study.low, study.high]), low, high)
    axes.set_xlabel("subgroup, by its first stroke")
    axes.set_ylabel(with_unit("largest and smallest stream mean", study.unit))
    return figure


def residual_chart(study: ResidualChartStudy, *, ax: Axes | None = None) -> Picture:
    """Draw prediction errors with their limits."""
    figure, axes = picture(
        "Does anything new happen, beyond what the past tells?", width=7.4, ax=ax
    )
    _course(axes, study.points)
    limit = float(study.points.high[0])
    limit_line(axes, limit, "three standard deviations")
    limit_line(axes, -limit, "")
    axes.set_xlabel("order number of the point's first part")
    axes.set_ylabel(with_unit("value less its prediction", study.unit))
    return figure


def attribute_chart(study: AttributeChartStudy, *, ax: Axes | None = None) -> Picture:
    """Draw counts or rates in order with their limits."""
    figure, axes = picture(
        "Is the rate of nonconforming parts in statistical control?", width=6.8, ax=ax
    )
    _course(axes, study.points)
    limit_line(axes, study.centre, "CL")
    axes.set_ylim(bottom=min(0.0, float(study.points.value.min())))
    axes.set_xlabel("period")
    axes.set_ylabel(study.points.what)
    return figure


def small_shift_chart(study: SmallShiftStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the path of an EWMA or CUSUM with its limits."""
    figure, axes = picture("Has the mean moved a little, but for long?", width=7.4, ax=ax)
    path = study.path
    order, limit = path.order, path.limit
    _band(axes, order, np.full(order.size, -limit), np.full(order.size, limit))
    _series(axes, order, path.upper)
    if path.lower is not path.upper:
        _series(axes, order, path.lower)
    at = np.isin(order, [signal.order for signal in study.signals])
    shown = np.where(np.abs(path.lower) > limit, path.lower, path.upper)
    _mark_signals(axes, order, shown, at)
    limit_line(axes, limit, "limit")
    limit_line(axes, -limit, "")
    axes.set_xlabel("order number of the point's first part")
    axes.set_ylabel(f"{study.chart} (standard errors)")
    return figure


def _course(axes: Axes, points: Course) -> None:
    """Draw points with their limits, marked where they lie beyond them."""
    _band(axes, points.order, points.low, points.high)
    _series(axes, points.order, points.value)
    _mark_signals(axes, points.order, points.value, points.out)


def _band(axes: Axes, order: FloatArray, low: FloatArray, high: FloatArray) -> None:
    """Draw the region between the limits; thousands of unequal limits become their usual course."""
    if order.size > _MOST_POINTS:
        pick = np.linspace(0, order.size - 1, _MOST_POINTS).astype(int)
        order, low, high = order[pick], low[pick], high[pick]
    axes.fill_between(order, low, high, color=PALE, alpha=0.55, linewidth=0, step="mid")


def _series(axes: Axes, order: FloatArray, values: FloatArray) -> None:
    if order.size > _MOST_POINTS:
        _drawn_from_summaries(axes, order, values)
        return
    axes.plot(order, values, color=DEEP, linewidth=0.6, alpha=0.7)
    axes.plot(order, values, MARKERS[0], color=DEEP, markersize=3.2 if order.size > 60 else 4.5)


def _mark_signals(
    axes: Axes, order: FloatArray, values: FloatArray, out: BoolArray, marker: str = "o"
) -> None:
    """Open marks round the points that signal; of very many, evenly chosen ones."""
    at = np.flatnonzero(out)
    if at.size > _MOST_POINTS // 2:
        at = at[np.linspace(0, at.size - 1, _MOST_POINTS // 2).astype(int)]
    axes.plot(
        order[at],
        values[at],
        marker,
        markersize=8 if order.size <= _MOST_POINTS else 5,
        markerfacecolor="none",
        markeredgecolor=INK,
        markeredgewidth=0.9,
    )


def _space_for(axes: Axes, values: FloatArray, low: FloatArray, high: FloatArray) -> None:
    bottom, top = min(values.min(), low.min()), max(values.max(), high.max())
    margin = 0.08 * (top - bottom) or 1.0
    axes.set_ylim(bottom - margin, top + 1.6 * margin)


def _drawn_from_summaries(axes: Axes, order: FloatArray, means: FloatArray) -> None:
    """Draw thousands of points as stretches: lowest, mean, highest; no extreme is lost."""
    starts = np.unique(np.linspace(0, order.size, _MOST_POINTS // 2 + 1).astype(int)[:-1])
    counts = np.diff(np.append(starts, order.size))
    x = np.add.reduceat(order, starts) / counts
    axes.vlines(
        x,
        np.minimum.reduceat(means, starts),
        np.maximum.reduceat(means, starts),
        color=SOFT,
        linewidth=1.0,
        alpha=0.8,
    )
    axes.plot(x, np.add.reduceat(means, starts) / counts, color=DEEP, linewidth=1.0)


def _mark_events(axes: Axes, events: tuple[tuple[float, str], ...], order: FloatArray) -> None:
    shown = [(at, name) for at, name in events if order.size and order[0] <= at <= order[-1]]
    for at, name in shown[:12]:
        axes.axvline(at, color=INK, linewidth=0.8, linestyle=LINES[2])
        axes.annotate(
            plain_text(name, 24),
            (at, 0.0),
            xycoords=("data", "axes fraction"),
            xytext=(2, 3),
            textcoords="offset points",
            rotation=90,
            fontsize=6.5,
            color=INK,
            va="bottom",
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.75, "pad": 0.6},
        )
