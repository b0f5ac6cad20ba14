"""Pictures of the package verdict."""

from __future__ import annotations

from matplotlib.axes import Axes

from linestudy.figures.style import DEEP, INK, MARKERS, interval_bars, limit_line, picture
from linestudy.results import Interval
from linestudy.results.picture import Picture

_MARK = {
    "meets": "o",
    "customer approval required": "D",
    "does not meet": "s",
    "cannot be judged": "v",
}
#: The lower criterion is labelled on its left, the upper one on its right.
_SIDES = ("right", "left")


def _by_value(item: tuple[str, float]) -> float:
    return item[1]


def indices_against_criteria(
    rows: dict[str, tuple[str, Interval, str]],
    criteria: dict[str, float],
    *,
    ax: Axes | None = None,
) -> Picture:
    """Draw every characteristic's index with its interval, on one scale with the criteria.

    Parameters
    ----------
    rows : dict
        Name of the characteristic → name of the index, its interval, the decision.
    criteria : dict of str to float
        Label → value of each criterion.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    labels = [f"{name} ({index})" for name, (index, _, _) in rows.items()]
    figure, axes = picture(
        "Is each index clear of what is asked of it?", height=1.3 + 0.34 * len(rows), ax=ax
    )
    for decision, mark in _MARK.items():
        chosen = [value if found == decision else None for _, value, found in rows.values()]
        if not any(chosen):
            continue
        interval_bars(axes, labels, chosen, color=DEEP, marker=mark)
        axes.plot([], [], marker=mark, color=DEEP, linestyle="none", label=decision)
    axes.set_ylim(-0.6, len(rows) + 0.1)
    for (label, value), side in zip(sorted(criteria.items(), key=_by_value), _SIDES, strict=False):
        limit_line(axes, value, "", vertical=True)
        axes.annotate(
            f" {label} ", (value, len(rows) - 0.3), ha=side, va="center", fontsize=7.5, color=INK
        )
    axes.set_xlabel("index that decides; bar: lower bound to highest admissible")
    axes.set_xlim(left=min(0.0, *(value.low for _, value, _ in rows.values())))
    axes.legend(
        loc="upper center",
        bbox_to_anchor=(0.5, -0.32),
        ncols=len(MARKERS),
        frameon=False,
        fontsize=8,
    )
    return figure
