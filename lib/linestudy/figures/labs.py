"""Pictures of the labs."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes

from linestudy.figures.style import DEEP, INK, PALE, SOFT, limit_line, logarithmic, picture
from linestudy.numerics.arrays import FloatArray
from linestudy.results import Interval
from linestudy.results.picture import Picture


def many_intervals(intervals: list[Interval], truth: float, *, ax: Axes | None = None) -> Picture:
    """Draw intervals of many studies side by side; those that miss the truth hollow and dark.

    Parameters
    ----------
    intervals : list of Interval
    truth : float
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    figure, axes = picture("How many intervals hold the truth?", height=3.2, ax=ax)
    # All of one kind in one call: a hundred calls take most of a second.
    for hit in (True, False):
        kept = [(at, item) for at, item in enumerate(intervals) if (truth in item) == hit]
        places = [at for at, _ in kept]
        axes.vlines(
            places,
            [item.low for _, item in kept],
            [item.high for _, item in kept],
            color=SOFT if hit else INK,
            linewidth=1.2 if hit else 2.2,
        )
        axes.plot(
            places,
            [item.estimate for _, item in kept],
            "o" if hit else "D",
            color=DEEP,
            markerfacecolor=DEEP if hit else "white",
            markersize=2.5 if hit else 5,
        )
    limit_line(axes, truth, "truth")
    # The same ends whatever the sliders say: shorter intervals are seen to be shorter.
    axes.set_ylim(0.4, 2.8)
    axes.set_xlabel("study; a diamond marks an interval that misses")
    axes.set_ylabel("Ppk")
    return figure


def spread_of_estimates(
    estimates: FloatArray,
    truth: float,
    what: str,
    asked: float | None = None,
    label: str = "",
    *,
    ax: Axes | None = None,
) -> Picture:
    """Draw the histogram of estimates of one truth.

    Parameters
    ----------
    estimates : array_like of float
    truth : float
    what : str
        What is estimated.
    asked : float, optional
        A threshold to mark, called `label`.
    label : str
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    figure, axes = picture("How far do studies of the same gauge differ?", height=3.0, ax=ax)
    axes.hist(estimates, bins=30, color=PALE, edgecolor=SOFT, linewidth=0.5)
    # Above the bars there is space for the names of the lines.
    axes.set_ylim(0, 1.3 * axes.get_ylim()[1])
    limit_line(axes, truth, "truth", vertical=True)
    limit_line(axes, asked, label, vertical=True)
    axes.set_xlabel(what)
    axes.set_ylabel("studies")
    return figure


def chance_against_parts(
    numbers: list[int], chances: list[float], needed: int, *, ax: Axes | None = None
) -> Picture:
    """Draw the chance of showing an index against the number of parts.

    Parameters
    ----------
    numbers : list of int
    chances : list of float
    needed : int
        Parts for the required chance.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    figure, axes = picture("How many parts does it take to show it?", height=3.0, ax=ax)
    axes.plot(numbers, chances, color=DEEP, linewidth=1.8)
    logarithmic(axes)
    # Above the curve there is space for the name of the upright line.
    axes.set_ylim(0, 1.35)
    axes.set_yticks([0, 0.2, 0.4, 0.6, 0.8, 1.0])
    limit_line(axes, 0.8, "four in five")
    limit_line(axes, float(needed), f"{needed} parts", vertical=True)
    axes.xaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    axes.set_xticks(np.array([10, 30, 100, 300, 1000]))
    axes.set_xlabel("parts, logarithmic")
    axes.set_ylabel("probability of showing it")
    return figure
