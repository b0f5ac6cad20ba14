"""Pictures of streams beside each other."""

from __future__ import annotations

from typing import Any

from matplotlib.axes import Axes

from linestudy.figures.style import DEEP, INK, MID, limit_line, picture, plain_text
from linestudy.results import show
from linestudy.results.picture import Picture


def streams_between_limits(study: Any, *, ax: Axes | None = None) -> Picture:
    """Where the middle 99.73 % of each stream lie between the limits.

    Parameters
    ----------
    study : StreamCapabilityStudy
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
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
