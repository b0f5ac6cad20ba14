"""Pictures of charts: points in order, the region between their limits, signals marked."""

from __future__ import annotations

from typing import Any

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
from linestudy.results.extras import require
from linestudy.results.picture import Picture

#: More points than this are drawn as a band of extremes and a line of means.
_MOST_POINTS = 600


def control_chart(
    study: Any,
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
    points = study.points
    keep = _inside(points["order"], span)
    order, means, low, high, centre = (
        points[name][keep] for name in ("order", "mean", "low", "high", "centre")
    )
    figure, axes = picture("Is the process in statistical control?", width=7.4, height=3.0, ax=ax)
    _band(axes, order, low, high)
    _series(axes, order, means)
    _mark_signals(axes, order, means, (means < low) | (means > high))
    by_rule = [signal.order for signal in study.signals if signal.rule != "beyond"]
    if by_rule:
        at = np.isin(order, by_rule) & (means >= low) & (means <= high)
        _mark_signals(axes, order, means, at, marker="s")
    if len(study.phases) > 1:
        axes.step(order, centre, where="mid", color=INK, linewidth=1.0, linestyle=(0, (7, 3)))
    else:
        limit_line(axes, study.centre, "centre")
        limit_line(axes, study.limits[1], "three standard errors")
        limit_line(axes, study.limits[0], "")
    _mark_events(axes, events, order)
    _room_for(axes, means, low, high)
    single = study.chart == "individuals and moving range"
    axes.set_xlabel("part, in order of production" if single else "subgroup, by its first part")
    what = {"individuals and moving range": "value", "median and range": "subgroup median"}
    axes.set_ylabel(_with_unit(what.get(study.chart, "subgroup mean"), study.unit))
    return figure


def spread_chart(
    study: Any, *, span: tuple[float, float] | None = None, ax: Axes | None = None
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
    points = study.points
    keep = _inside(points["sd_order"], span)
    order, value, low, high = (points[n][keep] for n in ("sd_order", "sd", "sd_low", "sd_high"))
    figure, axes = picture(
        "Is the spread within subgroups in statistical control?", width=7.4, height=2.6, ax=ax
    )
    _band(axes, order, low, high)
    _series(axes, order, value)
    _mark_signals(axes, order, value, (value < low) | (value > high))
    axes.set_ylim(bottom=0)
    axes.set_xlabel("subgroup, by its first part")
    axes.set_ylabel(_with_unit(points["sd_kind"], study.unit))
    return figure


def explorer(study: Any, events: tuple[tuple[float, str], ...] = ()) -> Any:
    """Show the chart under a slider that chooses the part of the run to be seen (notebook only).

    Parameters
    ----------
    study : ChartStudy
    events : tuple of (float, str)

    Returns
    -------
    ipywidgets.VBox
    """
    require("notebooks", "ipywidgets", purpose="sliders")
    import ipywidgets

    order = study.points["order"]
    first, last = float(order[0]), float(order[-1])
    slider = ipywidgets.FloatRangeSlider(
        value=(first, last),
        min=first,
        max=last,
        step=max((last - first) / 1000, 1e-9),
        description="order",
        continuous_update=False,
        readout_format=",.0f",
        layout=ipywidgets.Layout(width="95%"),
    )
    image = ipywidgets.Image(format="png", value=control_chart(study, events=events).png())

    def redraw(change: Any) -> None:
        if _inside(order, change["new"]).any():
            image.value = control_chart(study, events=events, span=change["new"]).png()

    slider.observe(redraw, names="value")
    return ipywidgets.VBox([slider, image])


def residual_chart(study: Any, *, ax: Axes | None = None) -> Picture:
    """Draw prediction errors with their limits.

    Parameters
    ----------
    study : ResidualChartStudy
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    figure, axes = picture(
        "Does anything new happen, beyond what the past tells?", width=7.4, ax=ax
    )
    points = study.points
    order, value, limit = points["order"], points["error"], points["limit"]
    _band(axes, order, np.full(order.size, -limit), np.full(order.size, limit))
    _series(axes, order, value)
    _mark_signals(axes, order, value, np.abs(value) > limit)
    limit_line(axes, limit, "three standard deviations")
    limit_line(axes, -limit, "")
    axes.set_xlabel("point, by its first part")
    axes.set_ylabel(_with_unit("value less its prediction", study.unit))
    return figure


def attribute_chart(study: Any, *, ax: Axes | None = None) -> Picture:
    """Draw counts or rates in order with their limits.

    Parameters
    ----------
    study : AttributeChartStudy
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    figure, axes = picture(
        "Is the rate of nonconforming parts in statistical control?", width=7.4, ax=ax
    )
    points = study.points
    order, value, low, high = (points[name] for name in ("order", "value", "low", "high"))
    _band(axes, order, low, high)
    _series(axes, order, value)
    _mark_signals(axes, order, value, (value < low) | (value > high))
    limit_line(axes, study.centre, "centre")
    axes.set_ylim(bottom=min(0.0, float(value.min())))
    axes.set_xlabel("period")
    axes.set_ylabel("count" if study.chart in ("np", "c") else "rate")
    return figure


def small_shift_chart(study: Any, *, ax: Axes | None = None) -> Picture:
    """Draw the path of an EWMA or CUSUM with its limits.

    Parameters
    ----------
    study : SmallShiftStudy
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    figure, axes = picture("Has the mean moved a little, but for long?", width=7.4, ax=ax)
    path = study.path
    order, limit = path["order"], path["limit"]
    _band(axes, order, -limit, limit)
    _series(axes, order, path["upper"])
    if path["lower"] is not path["upper"]:
        _series(axes, order, path["lower"])
    at = np.isin(order, [signal.order for signal in study.signals])
    shown = np.where(np.abs(path["lower"]) > limit, path["lower"], path["upper"])
    _mark_signals(axes, order, shown, at)
    limit_line(axes, float(limit[0]), "limit")
    limit_line(axes, -float(limit[0]), "")
    axes.set_xlabel("point, by its first part")
    axes.set_ylabel(f"{study.chart} (standard errors)")
    return figure


def _inside(order: Any, span: tuple[float, float] | None) -> Any:
    if span is None:
        return np.ones(order.size, dtype=bool)
    return (order >= span[0]) & (order <= span[1])


def _with_unit(text: str, unit: str) -> str:
    return f"{text} ({unit})" if unit else text


def _band(axes: Any, order: Any, low: Any, high: Any) -> None:
    """The region between the limits; thousands of unequal limits become their usual course."""
    if order.size > _MOST_POINTS:
        pick = np.linspace(0, order.size - 1, _MOST_POINTS).astype(int)
        order, low, high = order[pick], low[pick], high[pick]
    axes.fill_between(order, low, high, color=PALE, alpha=0.55, linewidth=0, step="mid")


def _series(axes: Any, order: Any, values: Any) -> None:
    if order.size > _MOST_POINTS:
        _drawn_from_summaries(axes, order, values)
        return
    axes.plot(order, values, color=DEEP, linewidth=0.6, alpha=0.7)
    axes.plot(order, values, MARKERS[0], color=DEEP, markersize=3.2 if order.size > 60 else 4.5)


def _mark_signals(axes: Any, order: Any, values: Any, out: Any, marker: str = "o") -> None:
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


def _room_for(axes: Any, values: Any, low: Any, high: Any) -> None:
    bottom, top = min(values.min(), low.min()), max(values.max(), high.max())
    margin = 0.08 * (top - bottom) or 1.0
    axes.set_ylim(bottom - margin, top + 1.6 * margin)


def _drawn_from_summaries(axes: Any, order: Any, means: Any) -> None:
    """Thousands of points as stretches: lowest, mean, highest; no extreme is lost."""
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


def _mark_events(axes: Any, events: tuple[tuple[float, str], ...], order: Any) -> None:
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
