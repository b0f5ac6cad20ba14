"""Pictures of the labs that ask for a decision: a run with two kinds of limits, curves, two histograms."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from linestudy.figures.style import DEEP, INK, PALE, SOFT, limit_line, logarithmic, picture
from linestudy.numerics.arrays import FloatArray
from linestudy.results.picture import Picture

Corner = Literal["best", "upper left", "upper right", "lower left", "lower right"]
#: Line and marker of each curve: distinguishable without colour.
_STYLES = (("-", DEEP), ("--", SOFT), (":", INK))


def run_with_limits(
    title: str,
    points: FloatArray,
    out: NDArray[np.bool_],
    lines: Mapping[str, float],
    reach: tuple[float, float],
    what: str = "subgroup",
    *,
    ax: Axes | None = None,
) -> Picture:
    """Draw points in order with named lines; points out of control are diamonds.

    Parameters
    ----------
    title : str
    points : numpy.ndarray of float, shape (k,)
    out : numpy.ndarray of bool, shape (k,)
    lines : mapping of str to float
        Name and height of each line.
    reach : tuple of float
        Ends of the axis, the same at every position of the sliders.
    what : str
        A point stands for one of these.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    figure, axes = picture(title, width=6.4, height=3.2, ax=ax)
    at = np.arange(1, points.size + 1)
    axes.plot(at, points, color=SOFT, linewidth=0.8, zorder=1)
    kept = ~out
    axes.plot(at[kept], points[kept], "o", color=DEEP, markersize=3, label="in control")
    axes.plot(at[out], points[out], "D", color=INK, markersize=5, label="out of control")
    for name, height in lines.items():
        limit_line(axes, height, name)
    axes.set_ylim(*reach)
    axes.set_xlabel(what)
    axes.set_ylabel("standard deviations from the target")
    axes.legend(loc="upper left", fontsize=7.5, framealpha=0.85)
    return figure


def curves(
    title: str,
    x: FloatArray,
    heights: Mapping[str, FloatArray],
    mark: float,
    labels: tuple[str, str],
    reach: tuple[float, float] | None = None,
    logs: str = "",
    legend: Corner = "best",
    *,
    ax: Axes | None = None,
) -> Picture:
    """Draw curves over one axis, and the position of the slider.

    Parameters
    ----------
    title : str
    x : numpy.ndarray of float, shape (k,)
    heights : mapping of str to numpy.ndarray
        A curve by its name.
    mark : float
        Position of the slider.
    labels : tuple of str
        Of the two axes.
    reach : tuple of float, optional
        Ends of the upright axis.
    logs : str
        ``"x"``, ``"y"`` or ``"xy"`` for logarithmic axes.
    legend : {"best", "upper left", "upper right", "lower left", "lower right"}
        Place of the legend.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    figure, axes = picture(title, width=6.4, height=3.2, ax=ax)
    for (name, y), (style, color) in zip(heights.items(), _STYLES, strict=False):
        axes.plot(x, y, linestyle=style, color=color, linewidth=1.8, label=name)
        # A slider at its end leaves half of the mark beyond the axis.
        axes.plot([mark], [np.interp(mark, x, y)], "o", color=color, markersize=6, clip_on=False)
    axes.axvline(
        mark,
        color=INK,
        linewidth=1.0,
        linestyle=(0, (7, 3)),
        zorder=2,
        label="as the sliders are set",
    )
    for which in logs:
        logarithmic(axes, which)
    axes.set_xlim(float(x[0]), float(x[-1]))
    if reach is not None:
        axes.set_ylim(*reach)
    axes.set_xlabel(labels[0])
    axes.set_ylabel(labels[1])
    axes.legend(fontsize=7.5, framealpha=0.85, loc=legend)
    return figure


def two_groups(
    title: str,
    groups: Mapping[str, FloatArray],
    lines: Mapping[str, float],
    label: str,
    counted: str = "parts",
    *,
    legend: Corner = "upper right",
    step: float | None = None,
    reach: tuple[float, float] | None = None,
    ax: Axes | None = None,
) -> Picture:
    """Draw histograms as outlines over each other.

    Parameters
    ----------
    title : str
    groups : mapping of str to numpy.ndarray
        Values by the name of their group.
    lines : mapping of str to float
        Name and place of each upright line.
    label : str
        Of the axis.
    counted : str
        What is counted.
    legend : {"best", "upper left", "upper right", "lower left", "lower right"}
        Place of the legend.
    step : float, optional
        Values come in steps of this: each step then lies in the middle of a bar.
    reach : tuple of float, optional
        Ends of the axis, the same at every position of the sliders; those of the values when absent.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    figure, axes = picture(title, width=6.4, height=3.2, ax=ax)
    everything = np.concatenate(list(groups.values()))
    low, high = reach or (float(everything.min()), float(everything.max()))
    edges: Sequence[float] = np.linspace(low, high, 40 if reach is None else 66).tolist()
    if step is not None:
        width = step / (2 * round(step / 0.3) + 1)
        first, last = np.floor(low / width), np.ceil(high / width)
        edges = (width * (np.arange(first, last + 2) - 0.5)).tolist()
    for (name, values), (style, color) in zip(groups.items(), _STYLES, strict=False):
        axes.hist(
            values, bins=edges, histtype="step", linestyle=style, color=color, linewidth=1.8, label=name
        )  # fmt: skip
    # Above the bars there is space for names and legend.
    axes.set_ylim(0, 1.3 * axes.get_ylim()[1])
    for name, place in lines.items():
        limit_line(axes, place, name, vertical=True)
    axes.set_xlabel(label)
    axes.set_ylabel(counted)
    axes.legend(fontsize=7.5, framealpha=0.85, loc=legend)
    return figure


def histogram_with_curves(
    title: str,
    values: FloatArray,
    x: FloatArray,
    shapes: Mapping[str, FloatArray],
    limits: Mapping[str, float],
    highest: float,
    *,
    ax: Axes | None = None,
) -> Picture:
    """Draw a histogram and the densities that are held against it.

    Parameters
    ----------
    title : str
    values : numpy.ndarray of float
    x : numpy.ndarray of float, shape (k,)
        Where the densities are known.
    shapes : mapping of str to numpy.ndarray
        A density by its name.
    limits : mapping of str to float
        Name and place of each upright line.
    highest : float
        Upper end of the upright axis: the same at every position of the sliders.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    figure, axes = picture(title, width=6.4, height=3.2, ax=ax)
    count = f"{values.size:,} values"
    axes.hist(values, bins=20, density=True, color=PALE, edgecolor=SOFT, label=count)
    for (name, y), (style, color) in zip(shapes.items(), _STYLES, strict=False):
        axes.plot(x, y, linestyle=style, color=color, linewidth=1.8, label=name)
    for name, place in limits.items():
        limit_line(axes, place, name, vertical=True)
    axes.set_xlim(float(x[0]), float(x[-1]))
    axes.set_ylim(0, highest)
    axes.set_yticks([])
    axes.set_xlabel("value")
    axes.legend(loc="upper center", fontsize=7.5, framealpha=0.85)
    return figure
