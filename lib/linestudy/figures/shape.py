"""Pictures of the room shape."""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.figures.style import DEEP, INK, LINES, PALE, Picture, picture, plain_text


def probability_plot(study: Any) -> Picture:
    """Quantiles of the values against those of the chosen distribution, with a band for chance.

    Parameters
    ----------
    study : ShapeStudy

    Returns
    -------
    Picture

    Notes
    -----
    The band is simultaneous: it holds the whole line in 95 of 100 samples (Kolmogorov,
    asymptotic 1.36 / sqrt(n), parameters taken as known, n the values that were tested).
    """
    figure, axes = picture("Do the values follow the chosen distribution?", width=4.6, height=3.6)
    x, w = study.counts
    total = w.sum()
    below = (np.cumsum(w) - w / 2) / total
    shown = _spread_points(below)
    theory = study.chosen.ppf(below[shown])
    grid = np.concatenate([[0.5 / total], np.linspace(0.001, 0.999, 200), [1 - 0.5 / total]])
    half = 1.36 / np.sqrt(study.tested)
    line = study.chosen.ppf(grid)
    low = study.chosen.ppf(np.clip(grid - half, 1e-6, 1 - 1e-6))
    high = study.chosen.ppf(np.clip(grid + half, 1e-6, 1 - 1e-6))
    axes.fill_between(line, low, high, color=PALE, alpha=0.6, linewidth=0)
    axes.plot(line, line, color=INK, linewidth=1.0, linestyle=LINES[1])
    axes.plot(theory, x[shown], "o", color=DEEP, markersize=3)
    span = [min(theory.min(), x.min()), max(theory.max(), x.max())]
    pad = 0.04 * (span[1] - span[0])
    axes.set_xlim(span[0] - pad, span[1] + pad)
    axes.set_ylim(span[0] - pad, span[1] + pad)
    unit = f" ({study.unit})" if study.unit else ""
    axes.set_xlabel(plain_text(f"quantile of the {study.chosen.family} distribution{unit}"))
    axes.set_ylabel(f"quantile of the values{unit}")
    axes.plot([], [], "o", color=DEEP, markersize=3, label="values")
    axes.fill_between([], [], color=PALE, label="band for chance")
    axes.legend(frameon=False, fontsize=7.5, loc="upper left")
    return figure


def _spread_points(below: Any) -> Any:
    """At most four hundred points, all of the tails among them."""
    if below.size <= 400:
        return np.arange(below.size)
    middle = np.linspace(50, below.size - 51, 300).astype(int)
    return np.unique(
        np.concatenate([np.arange(50), middle, np.arange(below.size - 50, below.size)])
    )
