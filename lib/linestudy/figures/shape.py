"""Pictures of the package shape."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes

from linestudy.figures.style import (
    DEEP,
    INK,
    LINES,
    MARKERS,
    PALE,
    logarithmic,
    picture,
    plain_text,
)
from linestudy.numerics.arrays import FloatArray, IntArray
from linestudy.results.picture import Picture
from linestudy.results.rounding import with_unit

if TYPE_CHECKING:
    from linestudy.shape.finding import ShapeStudy


def probability_plot(study: ShapeStudy, *, ax: Axes | None = None) -> Picture:
    """Draw quantiles of the values against those of the chosen distribution, with a band for chance.

    Parameters
    ----------
    study : ShapeStudy
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture

    Notes
    -----
    The band is simultaneous: it holds the whole line of dots in 95 of 100 samples of the chosen
    distribution, its parameters estimated anew from each (``shape.goodness.band``). Dots are the
    values that were tested; where there are more, a thin line shows all.
    """
    figure, axes = picture(
        "Do the values follow the chosen distribution?", width=4.6, height=3.6, ax=ax
    )
    x, w = study.counts
    total = w.sum()
    below = (np.cumsum(w) - w / 2) / total
    shown = _spread_points(below)
    every = study.chosen.ppf(below[shown])
    y = x if study.sample is None else study.sample
    theory = study.chosen.ppf((np.arange(1, y.size + 1) - 0.5) / y.size)
    if study.band is not None:
        axes.fill_between(*study.band, color=PALE, alpha=0.6, linewidth=0)
    ends = np.array([min(every.min(), theory.min()), max(every.max(), theory.max())])
    axes.plot(ends, ends, color=INK, linewidth=1.0, linestyle=LINES[1])
    if study.n > y.size:
        axes.plot(every, x[shown], color=DEEP, linewidth=0.8)
    axes.plot(theory, y, "o", color=DEEP, markersize=3)
    theory = every
    span = [min(theory.min(), x.min()), max(theory.max(), x.max())]
    pad = 0.04 * (span[1] - span[0])
    axes.set_xlim(span[0] - pad, span[1] + pad)
    axes.set_ylim(span[0] - pad, span[1] + pad)
    unit = f" ({study.unit})" if study.unit else ""
    axes.set_xlabel(plain_text(f"quantile of the {study.family} distribution{unit}"))
    axes.set_ylabel(with_unit("quantile of the values", study.unit))
    name = "values" if study.n <= y.size else f"{y.size} values spread over the run"
    axes.plot([], [], "o", color=DEEP, markersize=3, label=name)
    if study.n > y.size:
        axes.plot([], [], color=DEEP, linewidth=0.8, label=f"all {study.n:,} values")
    if study.band is not None:
        axes.fill_between([], [], color=PALE, label="95 of 100 samples lie in here")
    axes.legend(frameon=False, fontsize=7.5, loc="upper left")
    return figure


def candidates(study: ShapeStudy, *, ax: Axes | None = None) -> Picture:
    """Draw parts per million that each candidate expects outside the limits, best family on top."""
    rows = [
        (item, max(item.expected_ppm, 1e-3))
        for item in study.families
        if isinstance(item.expected_ppm, float)
    ]
    figure, axes = picture(
        "How much hangs on the choice of distribution?",
        width=5.4,
        height=1.1 + 0.27 * max(len(rows), 2),
        ax=ax,
    )
    equal = {item.family for item in study.plausible_families}
    best = study.families[0].aic
    for row, (item, value) in enumerate(rows):
        near = item.family in equal
        axes.plot(
            value,
            row,
            MARKERS[0],
            color=DEEP,
            markersize=6,
            markerfacecolor=DEEP if near else "none",
            linestyle="none",
        )
    labels = [
        item.family + (" (chosen)" if item.family == study.chosen.family else "")
        for item, _ in rows
    ]
    axes.set_yticks(range(len(rows)), [plain_text(label) for label in labels])
    axes.set_ylim(len(rows) - 0.5, -0.5)
    # Where all expect the same, the axis would have no length.
    expected = [value for _, value in rows]
    axes.set_xlim(min(expected) / 1.5, max(expected) * 1.5)
    logarithmic(axes)
    low, high = axes.get_xlim()
    axes.set_xlim(low / 2, high * 2)
    axes.set_xlabel("expected outside the limits (parts per million)")
    right = axes.secondary_yaxis("right")
    right.set_yticks(range(len(rows)), [f"+{item.aic - best:,.0f}" for item, _ in rows])
    right.set_ylabel("AIC above the best", fontsize=7.5)
    right.tick_params(labelsize=7.5, length=0)
    name = "chosen, and what describes the values as well" if len(equal) > 1 else "chosen"
    axes.plot([], [], MARKERS[0], color=DEEP, label=name)
    axes.plot([], [], MARKERS[0], color=DEEP, markerfacecolor="none", label="others")
    axes.legend(
        frameon=False,
        fontsize=7,
        loc="upper center",
        bbox_to_anchor=(0.5, -0.2 - 0.6 / len(rows)),
        ncols=2,
    )
    return figure


def _spread_points(below: FloatArray) -> IntArray:
    """Choose at most four hundred points, all of the tails among them."""
    if below.size <= 400:
        return np.arange(below.size)
    middle = np.linspace(50, below.size - 51, 300).astype(int)
    return np.unique(
        np.concatenate([np.arange(50), middle, np.arange(below.size - 50, below.size)])
    )
