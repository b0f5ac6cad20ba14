"""Pictures of the room stability."""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.core import Interval
from linestudy.figures.style import (
    DEEP,
    INK,
    LINES,
    MARKERS,
    PALE,
    SOFT,
    Picture,
    interval_bars,
    limit_line,
    picture,
    plain_text,
)

#: More points than this are drawn as a band of extremes and a line of means.
_MOST_POINTS = 600


def control_chart(
    study: Any, events: tuple[tuple[float, str], ...] = (), span: tuple[float, float] | None = None
) -> Picture:
    """Locations of the subgroups in order with their limits; signals marked, events named.

    Parameters
    ----------
    study : ChartStudy
    events : tuple of (float, str)
        Order number and name of what happened.
    span : tuple of float, optional
        First and last order number to be shown.

    Returns
    -------
    Picture
    """
    points = study.points
    keep = _inside(points["order"], span)
    order, means, low, high, centre = (
        points[name][keep] for name in ("order", "mean", "low", "high", "centre")
    )
    figure, axes = picture("Does the process hold still?", width=7.4, height=3.0)
    _band(axes, order, low, high)
    _series(axes, order, means)
    _mark_signals(axes, order, means, (means < low) | (means > high))
    wanted = [s["order"] for s in study.signals if s["rule"] != "beyond"]
    if wanted:
        at = np.isin(order, wanted) & (means >= low) & (means <= high)
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


def spread_chart(study: Any, span: tuple[float, float] | None = None) -> Picture:
    """Spread of each subgroup in order with its limits.

    Parameters
    ----------
    study : ChartStudy
    span : tuple of float, optional
        First and last order number to be shown.

    Returns
    -------
    Picture
    """
    points = study.points
    keep = _inside(points["sd_order"], span)
    order, value, low, high = (points[n][keep] for n in ("sd_order", "sd", "sd_low", "sd_high"))
    figure, axes = picture("Does the spread within subgroups hold still?", width=7.4, height=2.6)
    _band(axes, order, low, high)
    _series(axes, order, value)
    _mark_signals(axes, order, value, (value < low) | (value > high))
    axes.set_ylim(bottom=0)
    axes.set_xlabel("subgroup, by its first part")
    axes.set_ylabel(_with_unit(points["sd_kind"], study.unit))
    return figure


def explorer(study: Any, events: tuple[tuple[float, str], ...] = ()) -> Any:
    """The chart under a slider that chooses the part of the run to be seen (notebook only).

    Parameters
    ----------
    study : ChartStudy
    events : tuple of (float, str)

    Returns
    -------
    ipywidgets.VBox
    """
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
    image = ipywidgets.Image(format="png", value=control_chart(study, events).png())

    def redraw(change: Any) -> None:
        if _inside(order, change["new"]).any():
            image.value = control_chart(study, events, change["new"]).png()

    slider.observe(redraw, names="value")
    return ipywidgets.VBox([slider, image])


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
        markersize=8,
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


def autocorrelation(study: Any) -> Picture:
    """Correlation of parts a number of strokes apart.

    Parameters
    ----------
    study : SerialStudy

    Returns
    -------
    Picture
    """
    figure, axes = picture("How long does a part resemble those before it?", height=2.8)
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
        limit_line(axes, float(study.spacing), "spent", vertical=True)
    axes.set_ylim(min(-0.15, float(r[lags].min()) * 1.1), 1.02)
    axes.set_xlabel("strokes apart")
    axes.set_ylabel("correlation")
    return figure


def shares_of_variance(shares: dict[str, Interval]) -> Picture:
    """What the variance would fall by if one source were removed.

    Parameters
    ----------
    shares : dict of str to Interval

    Returns
    -------
    Picture
    """
    figure, axes = picture(
        "Which source of variation is worth removing?", height=1.4 + 0.3 * len(shares)
    )
    interval_bars(axes, list(shares), list(shares.values()))
    axes.set_xlim(0, 1.02)
    axes.xaxis.set_major_formatter(lambda value, _: f"{value:.0%}")
    axes.set_xlabel("share of the variance (bar: confidence interval)")
    return figure


def wear_line(study: Any) -> Picture:
    """Block means, the line through each stretch, and its way to the limit.

    Parameters
    ----------
    study : WearStudy

    Returns
    -------
    Picture
    """
    line = study.line
    left = study.strokes_left if isinstance(study.strokes_left, Interval) else None
    asked = "When does wear reach the limit?" if left else "Does the mean move with the strokes?"
    figure, axes = picture(asked, width=7.4, height=3.0)
    axes.plot(line["order"], line["mean"], MARKERS[0], color=DEEP, markersize=3.2)
    for number in np.unique(line["stretch"]):
        own = line["stretch"] == number
        x = line["order"][own]
        fitted = line["mean"][own].mean() + line["slope"] * (x - x.mean())
        axes.plot(x, fitted, color=INK, linewidth=1.2)
    if left is not None:
        high = left.high if np.isfinite(left.high) else 3 * left.estimate
        end = line["end"] + min(high, 6 * left.estimate)
        x = np.linspace(line["end"], end, 60)
        along = x - line["middle"]
        middle = line["level"] + line["slope"] * along
        variance = line["noise"] ** 2 * (1 + 1 / line["last_blocks"])
        half = line["t"] * np.sqrt(variance + (line["error"] * along) ** 2)
        axes.plot(x, middle, color=INK, linewidth=1.0, linestyle=LINES[1])
        axes.fill_between(x, middle - half, middle + half, color=PALE, alpha=0.6, linewidth=0)
        target = study.limit - np.sign(line["slope"]) * study.margin * study.sd_about_line
        limit_line(axes, study.limit, "limit")
        limit_line(axes, float(target), f"limit less {study.margin:g} SD")
        at = line["end"] + np.array([left.low, min(high, 6 * left.estimate)])
        axes.plot(at, [target, target], color=DEEP, linewidth=3, alpha=0.75, solid_capstyle="butt")
        axes.plot([line["end"] + left.estimate], [target], "D", color=DEEP, markersize=5)
    axes.set_xlabel("stroke (band and bar: where the next block means, and the limit, may lie)")
    axes.set_ylabel(_with_unit("mean", study.unit))
    return figure


def steps_path(study: Any) -> Picture:
    """Block means with the steps found; those to be believed with their position interval.

    Parameters
    ----------
    study : StepsStudy

    Returns
    -------
    Picture
    """
    figure, axes = picture("Where does the mean step?", width=7.4, height=3.0)
    path = study.path
    axes.plot(path["order"], path["mean"], MARKERS[0], color=SOFT, markersize=2.8)
    axes.plot(path["order"], path["fitted"], color=DEEP, linewidth=1.4, drawstyle="steps-mid")
    for step in study.steps:
        at = step["at"]
        if step["believed"]:
            axes.axvspan(at.low, at.high, color=PALE, alpha=0.7, linewidth=0)
            limit_line(axes, at.estimate, step["event"] or "step", vertical=True)
        else:
            axes.axvline(at.estimate, color=INK, linewidth=0.6, linestyle=LINES[4])
    axes.set_xlabel("order (shaded: where the step may lie; dotted: not to be believed)")
    axes.set_ylabel(_with_unit("mean", study.unit))
    return figure


def residual_chart(study: Any) -> Picture:
    """Prediction errors with their limits.

    Parameters
    ----------
    study : ResidualStudy

    Returns
    -------
    Picture
    """
    figure, axes = picture("Does anything new happen, beyond what the past tells?", width=7.4)
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


def count_chart(study: Any) -> Picture:
    """Counts or rates in order with their limits.

    Parameters
    ----------
    study : CountStudy

    Returns
    -------
    Picture
    """
    figure, axes = picture("Does the rate of nonconforming parts hold still?", width=7.4)
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


def sequential_chart(study: Any) -> Picture:
    """Path of an EWMA or CUSUM with its limits.

    Parameters
    ----------
    study : SequentialStudy

    Returns
    -------
    Picture
    """
    figure, axes = picture("Has the mean moved a little, but for long?", width=7.4)
    path = study.path
    order, limit = path["order"], path["limit"]
    _band(axes, order, -limit, limit)
    _series(axes, order, path["upper"])
    if path["lower"] is not path["upper"]:
        _series(axes, order, path["lower"])
    at = np.isin(order, [signal["order"] for signal in study.signals])
    shown = np.where(np.abs(path["lower"]) > limit, path["lower"], path["upper"])
    _mark_signals(axes, order, shown, at)
    limit_line(axes, float(limit[0]), "limit")
    limit_line(axes, -float(limit[0]), "")
    axes.set_xlabel("point, by its first part")
    axes.set_ylabel(f"{study.chart} (standard errors)")
    return figure


def run_lengths(study: Any) -> Picture:
    """Mean points to a signal over the shift.

    Parameters
    ----------
    study : RunLengthStudy

    Returns
    -------
    Picture
    """
    figure, axes = picture("How soon does the chart find a shift?")
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
    axes.set_ylim(bottom=0.9)
    axes.set_xlabel("shift of the mean (standard deviations of single parts)")
    axes.set_ylabel("mean points to a signal")
    return figure


def plan_cost(study: Any) -> Picture:
    """Parts measured per hour by subgroup size.

    Parameters
    ----------
    study : PlanAdvice

    Returns
    -------
    Picture
    """
    figure, axes = picture("Which subgroup size finds the shift with fewest measurements?")
    sizes = [option["size"] for option in study.options]
    cost = [option["parts_per_hour"] for option in study.options]
    axes.plot(sizes, cost, color=SOFT, linewidth=1.0, marker=MARKERS[0], markersize=5)
    axes.plot([study.size], [study.parts_per_hour], "D", color=DEEP, markersize=8)
    axes.annotate(
        f"{study.size} every {study.interval_minutes:,.0f} min",
        (study.size, study.parts_per_hour),
        xytext=(6, 10),
        textcoords="offset points",
        fontsize=8,
        color=INK,
    )
    axes.set_ylim(bottom=0, top=1.15 * max(cost))
    axes.set_xlabel("parts in a subgroup")
    axes.set_ylabel("parts measured per hour")
    return figure
