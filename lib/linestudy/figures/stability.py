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


def control_chart(study: Any, events: tuple[tuple[float, str], ...] = ()) -> Picture:
    """Means of the subgroups in order with their limits; signals ringed, events named.

    Parameters
    ----------
    study : ChartStudy
    events : tuple of (float, str)
        Order number and name of what happened.

    Returns
    -------
    Picture
    """
    figure, axes = picture("Does the process hold still?", width=7.4, height=3.0)
    points = study.points
    order, means = points["order"], points["mean"]
    axes.fill_between(
        order, points["low"], points["high"], color=PALE, alpha=0.55, linewidth=0, step="mid"
    )
    if order.size > _MOST_POINTS:
        _drawn_from_summaries(axes, order, means)
    else:
        size = 3.2 if order.size > 60 else 4.5
        axes.plot(order, means, color=DEEP, linewidth=0.6, alpha=0.7)
        axes.plot(order, means, MARKERS[0], color=DEEP, markersize=size)
    out = (means < points["low"]) | (means > points["high"])
    axes.plot(
        order[out][:_MOST_POINTS],
        means[out][:_MOST_POINTS],
        "o",
        markersize=8,
        markerfacecolor="none",
        markeredgecolor=INK,
        markeredgewidth=0.9,
    )
    limit_line(axes, study.centre, "centre")
    limit_line(axes, study.limits[1], "three standard errors")
    limit_line(axes, study.limits[0], "")
    _mark_events(axes, events, order)
    axes.set_xlabel("stroke" if order.size and order[-1] > order.size else "part")
    what = "subgroup mean" if study.subgroup_size > 1 else "value"
    axes.set_ylabel(f"{what} ({study.unit})" if study.unit else what)
    return figure


def _drawn_from_summaries(axes: Any, order: Any, means: Any) -> None:
    """Thousands of points as stretches: lowest, mean, highest; no extreme is lost."""
    pieces = np.array_split(np.arange(order.size), _MOST_POINTS // 2)
    x = np.array([order[piece].mean() for piece in pieces])
    low = [means[piece].min() for piece in pieces]
    high = [means[piece].max() for piece in pieces]
    middle = [means[piece].mean() for piece in pieces]
    axes.vlines(x, low, high, color=SOFT, linewidth=1.0, alpha=0.8)
    axes.plot(x, middle, color=DEEP, linewidth=1.0)


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
