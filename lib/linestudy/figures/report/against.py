"""Numbers against what is asked of them: every index with its decision, every share of a measurement system."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill

from linestudy.figures.style import (
    DEEP,
    HALF,
    INK,
    LINES,
    MARKERS,
    SERIES,
    TICK,
    WIDE,
    above,
    beside,
    panels,
    plain_text,
    plain_texts,
)
from linestudy.results import Interval
from linestudy.results.picture import Picture


def decisions(
    rows: Sequence[tuple[str, Interval, str, tuple[float, float]]],
    words: tuple[str, str] = ("by approval", "accepted"),
) -> Picture:
    """Draw every index with its bound against what is asked, and beside it the decision.

    Parameters
    ----------
    rows : sequence of (str, Interval, str, tuple of float)
        Name, index with bound and highest admissible, decision, and the two criteria of this characteristic:
        from which it may be approved, above which it is accepted.
    words : tuple of str
        What the two criteria are called. Where they are those of all rows they are drawn across, else row by row.

    Returns
    -------
    Picture
    """
    names = [fill(name, 30) for name in plain_texts((name for name, *_ in rows), 56)]
    high = 0.155 if not any("\n" in name for name in names) else 0.24
    figure, (axes,) = panels(WIDE, 0.55 + high * len(rows))
    marks = {"meets": "o", "customer approval required": "D", "does not meet": "s"}
    alike = len({asked for *_, asked in rows}) == 1
    top = max(max(1.1 * max(asked), value.estimate) for _, value, _, asked in rows)
    for row, (_, value, decision, asked) in enumerate(rows):
        at = len(rows) - 1 - row
        axes.plot([value.low, value.estimate], [at, at], color=DEEP, linewidth=1.6)
        full = decision == "meets"
        if not alike:
            for mark, style in zip(asked, (LINES[2], LINES[0]), strict=True):
                ends = [at - 0.4, at + 0.4]
                axes.plot([mark, mark], ends, color=INK, linewidth=1.2, linestyle=style)
        axes.plot(
            [value.estimate],
            [at],
            marks.get(decision, "v"),
            color=DEEP,
            markerfacecolor=DEEP if full else "white",
            markersize=5,
        )
        beside(axes, at, plain_text(decision, 40))
    across = zip(rows[0][3], words, ("right", "left"), strict=True) if alike else ()
    for mark, word, side in across:
        axes.axvline(mark, color=INK, linewidth=0.8, linestyle=LINES[1])
        number = max(f"{mark:.2f}", f"{mark:g}", key=len)
        above(axes, mark, f"{number} {word}", gap=-2 if side == "right" else 2, ha=side)
    axes.set_yticks(range(len(rows) - 1, -1, -1), names)
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.set_xlim(0, top * 1.05)
    axes.set_xlabel("index that decides; bar: from its lower bound")
    axes.tick_params(labelsize=TICK)
    for label in axes.get_yticklabels():
        label.set_linespacing(1.0)
    return figure


def shares(
    rows: Sequence[tuple[str, Interval, float | None]],
    marks: Sequence[tuple[float, str]] = (),
    *,
    label: str = "% tolerance",
) -> Picture:
    """Draw shares as dots with their intervals, and what each is held against.

    Parameters
    ----------
    rows : sequence of (str, Interval, float or None)
        Name, share in percent, its own criterion in percent.
    marks : sequence of (float, str)
        Criteria that hold for the first row, drawn across.
    label : str

    Returns
    -------
    Picture
    """
    figure, (axes,) = panels(HALF, 0.75 + 0.19 * len(rows))
    best = max(
        [value.estimate for _, value, _ in rows]
        + [own for *_, own in rows if own is not None]
        + [at for at, _ in marks],
        default=1.0,
    )
    reach = 1.12 * best
    for row, (_, value, own) in enumerate(rows):
        at = len(rows) - 1 - row
        high = min(value.high, reach)
        axes.plot([max(value.low, 0.0), high], [at, at], color=SERIES[0], linewidth=1.6, alpha=0.75)
        if value.high > reach:
            # An interval that goes on beyond the frame says so, and how far.
            axes.plot([reach], [at], ">", color=SERIES[0], markersize=4, clip_on=False, zorder=4)
            beside(axes, at, f"{value.high:,.0f} %")
        axes.plot([value.estimate], [at], MARKERS[0], color=DEEP, markersize=4)
        if own is not None:
            axes.plot([own, own], [at - 0.4, at + 0.4], color=INK, linewidth=1.4)
    for mark, name in marks:
        axes.axvline(mark, color=INK, linewidth=0.8, linestyle=LINES[1])
        above(axes, mark, name)
    axes.set_yticks(range(len(rows) - 1, -1, -1), plain_texts((name for name, *_ in rows), 30))
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.set_xlim(0, reach)
    axes.set_xlabel(label)
    return figure
