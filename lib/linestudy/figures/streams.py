"""Pictures of streams beside each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matplotlib.axes import Axes

from linestudy.figures.style import DEEP, INK, MID, interval_bars, limit_line, picture, plain_text
from linestudy.results import show
from linestudy.results.picture import Picture

if TYPE_CHECKING:
    from linestudy.capability.streams.study import StreamCapabilityStudy
    from linestudy.capability.wear.tool_life_finding import ToolLifeStudy
    from linestudy.capability.yields.study import YieldStudy


def streams_between_limits(study: StreamCapabilityStudy, *, ax: Axes | None = None) -> Picture:
    """Where the middle 99.73 % of each stream lie between the limits."""
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
    axes.set_yticks(
        range(len(names)), [plain_text(name, 24) for name in reversed(names)], fontsize=8
    )
    axes.set_ylim(-0.5, len(names) - 0.2)
    limit_line(axes, study.lower, "lower limit", vertical=True)
    limit_line(axes, study.upper, "upper limit", vertical=True)
    unit = f" ({study.unit})" if study.unit else ""
    axes.set_xlabel(f"value{unit}; dot: median, bar: 0.135 to 99.865 %")
    figure.alt_text = study.statement
    return figure


def sawtooth_between_limits(study: ToolLifeStudy, *, ax: Axes | None = None) -> Picture:
    """Block means against strokes with the trend of each tool life, and the limits."""
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
    """Rejected parts by reason and by stream, the most first, each share with its interval.

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
    axes.set_xlabel("rejected parts per million made, with interval")
    axes.set_xlim(left=0)
    figure.alt_text = study.statement
    return figure
