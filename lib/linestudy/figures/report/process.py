"""A run on paper: every value between its limits, and the chart that stability is judged by."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from linestudy.figures.style import (
    DEEP,
    FAINT,
    INK,
    LINES,
    MARKERS,
    MID,
    PALE,
    SERIES,
    SMALL,
    beside,
    panels,
    plain_text,
    plain_texts,
    whole_numbers,
)
from linestudy.numerics.arrays import FloatArray, IntArray
from linestudy.results.picture import Picture
from linestudy.results.rounding import as_given

if TYPE_CHECKING:
    from linestudy.stability.charts.chart_study import ChartStudy, Course

#: Names of streams or coils, one for each value.
TextArray = NDArray[np.str_]
#: Dots of the values drawn; the extremes of every stretch are always among them.
_MOST_DOTS = 2400
#: So few dots are drawn larger.
_FEW_DOTS = 300
#: More names than this are not written over their stretch.
_MOST_COILS = 14


@dataclass(frozen=True)
class Run:
    """Values in production order with what is known of each.

    Attributes
    ----------
    order, values : numpy.ndarray of float, shape (n,)
    stream, coil : numpy.ndarray of str, shape (n,), or None
    lower, upper, target : float or None
    unit : str
    events : tuple of (float, str)
        Order number and name.
    axis : str
        What the order counts.
    """

    order: FloatArray
    values: FloatArray
    stream: TextArray | None = None
    coil: TextArray | None = None
    lower: float | None = None
    upper: float | None = None
    target: float | None = None
    unit: str = ""
    events: tuple[tuple[float, str], ...] = ()
    axis: str = "stroke"


def values_over_the_run(run: Run) -> Picture:
    """Draw single values in order with the limits; streams by mark and shade, coils as stretches.

    Parameters
    ----------
    run : Run

    Returns
    -------
    Picture
    """
    figure, (axes,) = panels(height=1.85)
    top = _range(axes, run)
    _stretches(axes, run, top)
    streams = [""] if run.stream is None else sorted(set(run.stream.tolist()), key=str)
    named = plain_texts(streams, 20)
    for number, name in enumerate(streams):
        here = np.arange(run.order.size) if not name else np.flatnonzero(run.stream == name)
        kept = here[_thinned(run.values[here], _MOST_DOTS // len(streams))]
        axes.plot(
            run.order[kept],
            run.values[kept],
            MARKERS[number % len(MARKERS)],
            color=SERIES[number % len(SERIES)],
            markersize=1.7 if run.order.size > _FEW_DOTS else 3.0,
            markeredgewidth=0,
            label=named[number] or None,
        )
    for value, name in ((run.lower, "LSL"), (run.upper, "USL"), (run.target, "target")):
        at_limit(axes, value, name, dotted=name == "target")
    axes.set_xlabel(run.axis)
    axes.set_ylabel(f"value ({run.unit})" if run.unit else "value")
    whole_numbers(axes.xaxis)
    if len(streams) > 1:
        axes.legend(
            frameon=False,
            fontsize=SMALL,
            ncols=min(len(streams), 8),
            loc="upper right",
            bbox_to_anchor=(1.0, -0.13),
            borderaxespad=0.1,
            handletextpad=0.1,
            markerscale=3,
        )
    return figure


def at_limit(
    axes: Axes, value: float | None, name: str, *, dotted: bool = False, text: str = ""
) -> None:
    """Draw a line across with its name and value beyond the right end.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
    value : float or None
        Nothing is drawn where it is None.
    name : str
    dotted : bool
    text : str
        The value as text; its shortest form where empty.
    """
    if value is None or not np.isfinite(value):
        return
    line = LINES[2] if dotted else LINES[1]
    axes.axhline(value, color=INK, linewidth=0.7, linestyle=line, zorder=1.5)
    beside(axes, value, f"{name} {(text or as_given(value)).replace('-', '−')}", gap=3)


def _range(axes: Axes, run: Run) -> float:
    ends = [v for v in (run.lower, run.upper) if v is not None]
    low, high = (
        min([float(run.values.min()), *ends]),
        max([float(run.values.max()), *ends]),
    )
    # Ends that are the same, or as good as, are separated by a share of their own size.
    pad = max(0.06 * (high - low), 1e-12 * max(abs(low), abs(high))) or 1.0
    axes.set_ylim(low - pad, high + pad)
    size = max(abs(float(run.order[0])), abs(float(run.order[-1])))
    span = max(float(run.order[-1] - run.order[0]), 1e-12 * size) or 1.0
    axes.set_xlim(run.order[0] - 0.01 * span, run.order[-1] + 0.01 * span)
    return high + pad


def _thinned(values: FloatArray, most: int) -> IntArray:
    """Return indices of the smallest, the largest and the first value of every stretch."""
    if values.size <= most:
        return np.arange(values.size)
    edges = np.linspace(0, values.size, most // 3 + 1).astype(int)
    kept = [
        first + np.array([0, int(values[first:last].argmin()), int(values[first:last].argmax())])
        for first, last in itertools.pairwise(edges)
        if last > first
    ]
    return np.unique(np.concatenate(kept))


def _stretches(axes: Axes, run: Run, top: float) -> None:
    """Draw coils as alternating shade with their names, events as lines."""
    if run.coil is not None:
        changes = np.flatnonzero(run.coil[1:] != run.coil[:-1]) + 1
        edges = [0, *changes.tolist(), run.order.size]
        names = plain_texts(run.coil[edges[:-1]], 12)
        for number, (first, last) in enumerate(itertools.pairwise(edges)):
            begin, end = float(run.order[first]), float(run.order[last - 1])
            if number % 2:
                axes.axvspan(begin, end, color=FAINT, linewidth=0, zorder=0)
            if len(edges) - 1 <= _MOST_COILS:
                axes.annotate(
                    names[number],
                    ((begin + end) / 2, 1.0),
                    xycoords=("data", "axes fraction"),
                    ha="center",
                    va="bottom",
                    fontsize=SMALL,
                    color=INK,
                )
    _events(axes, run.events, named=False)


def _events(axes: Axes, events: tuple[tuple[float, str], ...], *, named: bool) -> None:
    low, high = axes.get_xlim()
    shown = [(at, name) for at, name in events if low <= at <= high]
    for at, _ in shown:
        axes.axvline(at, color=MID, linewidth=0.7, linestyle=LINES[4], zorder=1)
    if not named:
        return
    reached = [-np.inf, -np.inf]
    for at, name in shown:
        # A name that would run into the one before it is put above it; a third is left to the list of events.
        line = next((row for row, end in enumerate(reached) if at >= end), None)
        if line is None:
            continue
        # Of one event there is room for all of its name.
        text = plain_text(name, 22 if len(shown) > 1 else 44)
        axes.annotate(
            text,
            (at, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 1.5 + 8.5 * line),
            textcoords="offset points",
            ha="left" if at + 0.0125 * len(text) * (high - low) < high else "right",
            va="bottom",
            fontsize=SMALL,
            color=INK,
        )
        reached[line] = at + 0.0125 * len(text) * (high - low)


def location_and_spread(
    study: ChartStudy,
    *,
    events: tuple[tuple[float, str], ...] = (),
    axis: str = "stroke",
    bound: float | None = None,
) -> Picture:
    """Draw both halves of a control chart with the values of their limits; points beyond are ringed.

    Parameters
    ----------
    study : ChartStudy
    events : tuple of (float, str)
    axis : str
        What the order counts.
    bound : float, optional
        What no part can be smaller than; a lower limit below it is not drawn, for no point could pass it.

    Returns
    -------
    Picture
    """
    figure, (upper, lower) = panels(height=2.5, rows=2, sharex=True, height_ratios=(1.35, 1))
    single = study.chart == "individuals and moving range"
    places = places_of_limits(study)
    _half(upper, study.points, bound)
    for value, name in (
        (study.limits[1], "UCL"),
        (study.centre, "CL"),
        (study.limits[0], "LCL"),
    ):
        if name == "LCL" and bound is not None and value < bound:
            continue
        at_limit(upper, value, name, dotted=name == "CL", text=f"{value:,.{places}f}")
    spread = study.spread_points
    _half(lower, spread)
    low, high = (float(np.median(ends)) for ends in (spread.low, spread.high))
    at_limit(lower, high, "UCL", text=f"{high:,.{places + 1}f}")
    if low > 0:
        at_limit(lower, low, "LCL", text=f"{low:,.{places + 1}f}")
    lower.set_ylim(bottom=0)
    unit = f" ({study.unit})" if study.unit else ""
    kind = "value" if single else "median" if "median" in study.chart else "mean"
    upper.set_ylabel(f"{kind}{unit}")
    lower.set_ylabel({"standard deviation": "SD"}.get(spread.what, spread.what) + unit)
    lower.set_xlabel(axis if single else f"{axis} of the subgroup's first part")
    whole_numbers(lower.xaxis)
    for one in (upper, lower):
        _events(one, events, named=one is upper)
    return figure


def places_of_limits(study: ChartStudy) -> int:
    """Count the decimals that the limits of a chart's means are printed with.

    Parameters
    ----------
    study : ChartStudy

    Returns
    -------
    int
        Down to a twentieth of the within-subgroup standard deviation.
    """
    step = study.sd_within / 20
    return max(0, int(np.ceil(-np.log10(step)))) if step > 0 else 4


def order_within_stroke(order: FloatArray) -> IntArray:
    """Number each point within its stroke, from nought.

    Parameters
    ----------
    order : numpy.ndarray of float, shape (k,)
        Not decreasing.

    Returns
    -------
    numpy.ndarray of int, shape (k,)
    """
    begins = np.concatenate([[True], np.diff(order) != 0])
    at = np.arange(order.size)
    return np.asarray(at - np.maximum.accumulate(np.where(begins, at, 0)))


def _half(axes: Axes, course: Course, bound: float | None = None) -> None:
    order, values, low, high = course.order, course.value, course.low, course.high
    if bound is not None:
        low = np.maximum(low, bound)
    if order.size > 600:
        pick = np.unique(_thinned(values, 900))
        order, values, low, high = (one[pick] for one in (order, values, low, high))
    axes.fill_between(order, low, high, color=PALE, alpha=0.35, linewidth=0, step="mid")
    # Subgroups of one stroke are of different streams, and each stream has a line of its own.
    place = order_within_stroke(order)
    for stream in range(int(place.max()) + 1):
        own = place == stream
        axes.plot(order[own], values[own], color=DEEP, linewidth=0.5, alpha=0.7)
    axes.plot(order, values, MARKERS[0], color=DEEP, markersize=2.2, markeredgewidth=0)
    out = (values < low) | (values > high)
    axes.plot(
        order[out],
        values[out],
        "o",
        markersize=6,
        markerfacecolor="none",
        markeredgecolor=INK,
        markeredgewidth=0.9,
    )
    bottom, top = min(values.min(), low.min()), max(values.max(), high.max())
    pad = max(0.1 * (top - bottom), 1e-12 * max(abs(bottom), abs(top))) or 1.0
    axes.set_ylim(bottom - pad, top + pad)
    span = float(order[-1] - order[0]) or 1.0
    axes.set_xlim(order[0] - 0.01 * span, order[-1] + 0.01 * span)
