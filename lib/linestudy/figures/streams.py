"""Pictures of streams beside each other."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes

from linestudy.figures.style import (
    DEEP,
    INK,
    MARKERS,
    MID,
    SERIES,
    WIDE,
    interval_bars,
    limit_line,
    panels,
    picture,
    plain_text,
    plain_texts,
    whole_numbers,
)
from linestudy.results import show
from linestudy.results.picture import Picture
from linestudy.results.rounding import with_unit

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.capability.streams.study import StreamCapabilityStudy
    from linestudy.capability.wear.tool_life_finding import ToolLifeStudy
    from linestudy.capability.yields.study import YieldStudy

    #: What was made, tolerance limits, control limits by stream, unit.
    Made = tuple[
        pd.DataFrame,
        tuple[float | None, float | None],
        Mapping[str, tuple[float, float]],
        str,
    ]


def streams_between_limits(study: StreamCapabilityStudy, *, ax: Axes | None = None) -> Picture:
    """Draw where the middle 99.73 % of each stream lie between the limits."""
    names = list(study.streams)
    figure, axes = picture(
        "Which stream stands nearest to a limit?", height=1.2 + 0.32 * len(names), ax=ax
    )
    for at, name in enumerate(reversed(names)):
        item = study.streams[name]
        worst = name == study.worst
        axes.plot([item.low, item.high], [at, at], color=MID if worst else DEEP, linewidth=2)
        axes.plot(
            item.middle,
            at,
            marker="D" if worst else "o",
            color=MID if worst else DEEP,
            markersize=5,
        )
        axes.annotate(
            f"Ppk {show(item.Ppk)}{', worst' if worst else ''}",
            (item.middle, at),
            xytext=(0, 5),
            textcoords="offset points",
            ha="center",
            fontsize=7,
            color=INK,
        )
    axes.set_yticks(range(len(names)), plain_texts(reversed(names), 24), fontsize=8)
    axes.set_ylim(-0.5, len(names) - 0.2)
    limit_line(axes, study.lower, "lower limit", vertical=True)
    limit_line(axes, study.upper, "upper limit", vertical=True)
    unit = f" ({study.unit})" if study.unit else ""
    axes.set_xlabel(f"value{unit}; dot: median, bar: 0.135 to 99.865 %")
    figure.alt_text = study.statement
    return figure


def sawtooth_between_limits(study: ToolLifeStudy, *, ax: Axes | None = None) -> Picture:
    """Draw block means against strokes with the trend of each tool life, and the limits."""
    saw = study.shape
    figure, axes = picture("How far does the tool wear before it is ground?", height=2.8, ax=ax)
    axes.plot(saw.order, saw.mean, ".", color=DEEP, markersize=3, label="mean of a block")
    sign = 1.0 if saw.slope > 0 else -1.0
    for at, (begin, end, level) in enumerate(zip(saw.begins, saw.ends, saw.levels, strict=True)):
        last = level + saw.slope * (end - begin)
        axes.plot(
            [begin, end], [level, last], color=MID, linewidth=1.5, label=None if at else "trend"
        )
        reach = sign * saw.reach
        axes.plot(
            [begin, end],
            [level + reach, last + reach],
            color=MID,
            linewidth=0.8,
            linestyle=(0, (2, 1.5)),
            label=None if at else "0.135 % of the parts beyond",
        )
    limit_line(axes, study.lower, "lower limit")
    limit_line(axes, study.upper, "upper limit")
    if isinstance(study.control_limit, float):
        limit_line(axes, study.control_limit, f"grind: means of {study.subgroup_size}")
    axes.set_xlabel("stroke")
    axes.set_ylabel(f"value ({study.unit})" if study.unit else "value")
    axes.legend(
        loc="upper center", bbox_to_anchor=(0.5, -0.22), ncols=3, frameon=False, fontsize=7.5
    )
    figure.alt_text = study.statement
    return figure


def rejects_by_group(study: YieldStudy, *, ax: Axes | None = None) -> Picture:
    """Draw rejected parts by reason and by stream, the most first, each share with its interval.

    Parameters
    ----------
    study : YieldStudy
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    shown = [group for group in study.groups if group.by in ("reason", "stream", "coil")][:12]
    figure, axes = picture(
        "What are parts rejected for, and where?", height=1.3 + 0.26 * max(len(shown), 1), ax=ax
    )
    labels = [f"{group.by}: {group.name}" for group in shown]
    interval_bars(axes, labels, [group.share.times(1e6) for group in shown], color=DEEP)
    whole_numbers(axes.xaxis)
    axes.set_xlabel("rejected parts per million made, with interval")
    axes.set_xlim(left=0)
    figure.alt_text = study.statement
    return figure


def days_and_streams(made: Mapping[str, Made]) -> Picture:
    """Draw the mean of each group with three standard deviations on either side, between the limits.

    Parameters
    ----------
    made : mapping of str to tuple
        By characteristic: the table of days, coils and streams; lower and upper tolerance limit; control limits of subgroup means by
        stream; and the unit.

    Returns
    -------
    Picture
    """
    figure, axes = panels(height=0.3 + 2.0 * max(len(made), 1), rows=max(len(made), 1))
    for (name, (table, tolerance, control, unit)), one in zip(made.items(), axes, strict=False):
        _row(one, table, tolerance, control)
        one.set_ylabel(with_unit(plain_text(name, 40), unit))
    axes[-1].set_xlabel(
        "day; dot: mean of a coil in a stream, bar: three standard deviations, tinted: control limits of the study"
    )
    figure.set_size_inches(WIDE, figure.get_size_inches()[1])
    figure.alt_text = (
        "Mean and spread of each day, coil and stream between tolerance and control limits."
    )
    return figure


def _row(
    axes: Axes,
    table: pd.DataFrame,
    tolerance: tuple[float | None, float | None],
    control: Mapping[str, tuple[float, float]],
) -> None:
    streams: list[Any] = sorted(table["stream"].dropna().unique()) if "stream" in table else [""]
    # Groups of one day are drawn side by side, coils in their order.
    within = table.groupby("day").cumcount()
    size = table.groupby("day")["day"].transform("size")
    x = (table["day"] - 0.4 + 0.8 * (within + 0.5) / size).to_numpy(dtype=float)
    named = plain_texts(streams, 20)
    for at, stream in enumerate(streams):
        here = (table["stream"] == stream).to_numpy() if stream != "" else np.ones(len(table), bool)
        color, marker = SERIES[at % len(SERIES)], MARKERS[at % len(MARKERS)]
        mean, reach = table["mean"].to_numpy()[here], 3 * table["SD"].to_numpy()[here]
        axes.vlines(x[here], mean - reach, mean + reach, color=color, linewidth=1.0, alpha=0.6)
        axes.plot(x[here], mean, marker, color=color, markersize=3.5, label=named[at])
        limits = control.get(str(stream), control.get(""))
        if limits is not None:
            axes.axhspan(*limits, color=color, alpha=0.1, linewidth=0)
    limit_line(axes, tolerance[0], "lower limit")
    limit_line(axes, tolerance[1], "upper limit")
    days = np.unique(table["day"].to_numpy(dtype=int))
    shown = days[:: max(1, days.size // 16)]
    axes.set_xticks(shown, [str(day) for day in shown])
    if streams != [""]:
        axes.legend(frameon=False, fontsize=7, ncols=len(streams), loc="upper left")
