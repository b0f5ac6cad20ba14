"""The one visual language: a question on top, dots with bars, limits as labelled lines.

Shades are chosen by lightness first, so that they stay distinguishable in greyscale and for
colour-blind readers; shape and line style always say the same thing as the shade.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from typing import Any, cast

from matplotlib.axes import Axes
from matplotlib.axis import Axis
from matplotlib.ticker import LogLocator, MaxNLocator, ScalarFormatter

from linestudy.results import Interval
from linestudy.results.picture import Picture

#: Ink for axes and text; tones from dark to light for data (lightness about 25, 45, 65, 80).
INK = "#2b2b33"
DEEP = "#3b2f63"
MID = "#8a4f7d"
SOFT = "#b5743c"
PALE = "#d9cfa8"
FAINT = "#e9e7e2"
#: Order in which several series take their tone, marker and line.
SERIES = (DEEP, SOFT, MID, "#758662", "#4f7a8c")
MARKERS = ("o", "D", "^", "s", "v")
LINES = ("-", (0, (6, 2)), (0, (2, 1.5)), (0, (8, 2, 2, 2)), (0, (1, 1)))


def picture(
    question: str, width: float = 6.4, height: float = 3.2, *, ax: Axes | None = None
) -> tuple[Picture, Axes]:
    """Return a blank picture with its question as the title, or axes of somebody else made ready.

    Parameters
    ----------
    question : str
        The one question the picture answers, as a sentence.
    width, height : float
        Size in inches, of a new picture.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    figure : Picture
        The new picture, or the figure that `ax` belongs to.
    axes : matplotlib.axes.Axes
    """
    if ax is None:
        figure = Picture(figsize=(width, height), layout="constrained", facecolor="white")
        axes = figure.add_subplot()
    else:
        figure, axes = cast(Picture, ax.figure), ax
    axes.set_title(plain_text(question), loc="left", fontsize=10, color=INK, pad=8, y=1.0)
    quiet(axes)
    return figure, axes


#: Width of the document's text, and of one of two pictures side by side, in inches.
WIDE, HALF = 6.85, 3.35
#: Sizes of lettering in the document, in points; none is smaller than the last.
LABEL, TICK, SMALL = 8.0, 7.5, 7.0


def panels(
    width: float = WIDE,
    height: float = 2.0,
    rows: int = 1,
    columns: int = 1,
    *,
    sharex: bool = False,
    height_ratios: Sequence[float] | None = None,
    width_ratios: Sequence[float] | None = None,
) -> tuple[Picture, list[Axes]]:
    """Return blank axes at the size the document prints them in; their question is the caption there.

    Parameters
    ----------
    width, height : float
        In inches.
    rows, columns : int
    sharex : bool
        Whether all have one horizontal axis.
    height_ratios, width_ratios : sequence of float, optional
        Of rows and columns.

    Returns
    -------
    figure : Picture
    axes : list of matplotlib.axes.Axes
        Row by row.
    """
    figure = Picture(figsize=(width, height), layout="constrained", facecolor="white")
    # A browser without the family sets some words wider: leave space for them at both sides.
    side = 0.08 / width
    figure.get_layout_engine().set(  # type: ignore[union-attr]
        w_pad=0.02,  # type: ignore[call-arg]
        h_pad=0.02,
        rect=(side, 0.0, 1 - 2 * side, 1.0),
    )
    found = figure.subplots(
        rows,
        columns,
        squeeze=False,
        sharex=sharex,
        height_ratios=height_ratios,
        width_ratios=width_ratios,
    )
    axes = [cast(Axes, one) for row in found for one in row]
    for one in axes:
        quiet(one)
        one.tick_params(labelsize=TICK)
        one.xaxis.label.set(size=LABEL)
        one.yaxis.label.set(size=LABEL)
    return figure, axes


def quiet(axes: Axes) -> None:
    """Take away every line that carries no information, and powers of ten beside an axis."""
    for axis in (axes.xaxis, axes.yaxis):
        if isinstance(axis.get_major_formatter(), ScalarFormatter):
            axis.set_major_formatter(_WrittenOut())
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(INK)
        axes.spines[side].set_linewidth(0.6)
    axes.tick_params(colors=INK, labelsize=8, width=0.6, length=3)
    axes.xaxis.label.set(size=8.5, color=INK)
    axes.yaxis.label.set(size=8.5, color=INK)


#: Four digits or more before the point of a number.
_LONG = re.compile(r"(?<![\d.])\d{4,}")


class _WrittenOut(ScalarFormatter):
    """Numbers of a linear axis in full: thousands apart, no power of ten and nothing added beside the axis."""

    def __init__(self) -> None:
        super().__init__(useOffset=False)
        self.set_powerlimits((-9, 9))

    def __call__(self, x: float, pos: int | None = None) -> str:
        return _LONG.sub(lambda found: f"{int(found[0]):,d}", super().__call__(x, pos))


def logarithmic(axes: Axes, which: str = "x") -> None:
    """Make an axis logarithmic, its numbers written out; between decades where fewer than two are seen.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
    which : {"x", "y"}
    """
    if which == "x":
        axes.set_xscale("log")
        axis: Any = axes.xaxis
    else:
        axes.set_yscale("log")
        axis = axes.yaxis

    def between(value: float, _: Any) -> str:
        low, high = sorted(axis.get_view_interval())
        first = round(value / 10 ** math.floor(math.log10(value)))
        return written_out(value) if first in (2, 5) and high < 50 * low else ""

    # Eight marks in every decade are slow to lay out and say no more than two.
    axis.set_minor_locator(LogLocator(subs=(2.0, 5.0)))
    axis.set_major_formatter(lambda value, _: written_out(value))
    axis.set_minor_formatter(between)


def whole_numbers(axis: Axis) -> None:
    """Mark a counter (strokes, parts) at whole numbers only: half a stroke would be printed as the next one.

    Parameters
    ----------
    axis : matplotlib.axis.Axis
    """
    axis.set_major_locator(MaxNLocator("auto", steps=[1, 2, 2.5, 5, 10], integer=True))
    axis.set_major_formatter("{x:,.0f}")


#: Digits of an exponent.
_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def written_out(value: float) -> str:
    """Write a number of a logarithmic axis: plain from a hundred-thousandth to a million, else a power of ten.

    Examples
    --------
    >>> written_out(0.01), written_out(20000.0), written_out(1e-5), written_out(1e-6), written_out(2e9)
    ('0.01', '20,000', '0.00001', '10⁻⁶', '2·10⁹')
    """
    if not math.isfinite(value) or value <= 0:
        return ""
    if 1 <= value <= 1e6:
        return f"{value:,.10g}"
    if 0.99e-5 <= value < 1:
        return f"{value:.10f}".rstrip("0")
    power = math.floor(math.log10(value) + 1e-9)
    first = value / 10.0**power
    lead = "" if abs(first - 1) < 1e-9 else f"{first:.3g}·"
    return f"{lead}10{str(power).translate(_RAISED)}"


def per_cent(share: float, _: object = None) -> str:
    """Write a share as an axis shows it.

    Examples
    --------
    >>> per_cent(0.25)
    '25 %'
    """
    return f"{100 * share:.0f} %"


def plain_text(text: str, limit: int = 160) -> str:
    """Write text from a study as Matplotlib may draw it: no markup, no control characters."""
    kept = "".join(c if c.isprintable() else " " for c in str(text))
    kept = kept if len(kept) <= limit else kept[: limit - 1] + "…"
    return kept.replace("$", r"\$")


def plain_texts(names: Iterable[object], limit: int) -> list[str]:
    """Shorten long names of one picture so that different names stay different.

    Parameters
    ----------
    names : iterable of object
    limit : int
        Most signs of each.

    Returns
    -------
    list of str
        In the order given: cut at the end, or at the beginning or in the middle where names begin or end alike.

    Examples
    --------
    >>> plain_texts(["Coil 2026/4711", "Coil 2026/4712"], 8)
    ['…26/4711', '…26/4712']
    """
    texts = [plain_text(str(name), 10_000) for name in names]
    for kept in (limit - 1, 0, (limit - 1) // 2):
        short = [
            one
            if len(one) <= limit
            else f"{one[:kept].rstrip()}…{one[len(one) - (limit - 1 - kept) :].lstrip()}"
            for one in texts
        ]
        if len(set(short)) == len(set(texts)):
            return short
    return [plain_text(one, limit) for one in texts]


def beside(axes: Axes, value: float, text: str, *, gap: float = 4) -> None:
    """Write a label right of the frame, level with a value of the vertical axis.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
    value : float
    text : str
    gap : float
        [points] From the frame.
    """
    axes.annotate(
        text,
        (1.0, value),
        xycoords=("axes fraction", "data"),
        xytext=(gap, 0),
        textcoords="offset points",
        va="center",
        fontsize=SMALL,
        color=INK,
        annotation_clip=False,
    )


def above(axes: Axes, value: float, text: str, *, gap: float = 0, ha: str = "center") -> None:
    """Write a label above the frame, over a value of the horizontal axis.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
    value : float
    text : str
    gap : float
        [points] To the right of the value; to the left where negative.
    ha : str
        Side of the label that is there.
    """
    axes.annotate(
        text,
        (value, 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(gap, 1),
        textcoords="offset points",
        ha=ha,
        va="bottom",
        fontsize=SMALL,
        color=INK,
        linespacing=0.95,
    )


#: A label over data stays readable.
_HALO: dict[str, Any] = {"facecolor": "white", "edgecolor": "none", "alpha": 0.75, "pad": 0.6}


def limit_line(axes: Axes, value: float | None, label: str, vertical: bool = False) -> None:
    """Draw a labelled line for a tolerance or control limit; nothing where there is no limit."""
    if value is None or not math.isfinite(value):
        return
    line: dict[str, Any] = {"color": INK, "linewidth": 1.0, "linestyle": (0, (7, 3)), "zorder": 2}
    text: dict[str, Any] = {"fontsize": 7.5, "color": INK}
    if vertical:
        axes.axvline(value, **line)
        axes.annotate(
            plain_text(label),
            (value, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(2, -2),
            textcoords="offset points",
            va="top",
            rotation=90,
            bbox=_HALO,
            **text,
        )
    else:
        axes.axhline(value, **line)
        axes.annotate(
            plain_text(label),
            (1.0, value),
            xycoords=("axes fraction", "data"),
            xytext=(-2, 2),
            textcoords="offset points",
            ha="right",
            va="bottom",
            bbox=_HALO,
            **text,
        )


def interval_bars(
    axes: Axes,
    labels: Sequence[str],
    intervals: Sequence[Interval | None],
    color: str = DEEP,
    marker: str = "o",
    offset: float = 0.0,
) -> None:
    """Draw horizontal estimates as dots with their intervals as bars, first label on top."""
    count = len(labels)
    for index, interval in enumerate(intervals):
        if interval is None or not math.isfinite(interval.estimate):
            continue
        height = count - 1 - index + offset
        low = interval.low if math.isfinite(interval.low) else interval.estimate
        high = interval.high if math.isfinite(interval.high) else interval.estimate
        axes.plot(
            [low, high],
            [height, height],
            color=color,
            linewidth=2.2,
            alpha=0.75,
            solid_capstyle="butt",
        )
        axes.plot(
            [interval.estimate],
            [height],
            marker=marker,
            color=color,
            markersize=5,
            linestyle="none",
        )
    axes.set_yticks(range(count - 1, -1, -1), plain_texts(labels, 40))
    axes.set_ylim(-0.6, count - 0.4)
