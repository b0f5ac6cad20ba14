"""Picture of what sorting took away."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes

from linestudy.figures.style import DEEP, INK, PALE, SOFT, limit_line, picture
from linestudy.results.picture import Picture
from linestudy.results.rounding import with_unit

if TYPE_CHECKING:
    from linestudy.capability.sorting.truncated_study import TruncatedStudy


def truncated_distribution(study: TruncatedStudy, *, ax: Axes | None = None) -> Picture:
    """Draw sorted values, the process they come from, and the parts that were taken out."""
    figure, axes = picture("What did sorting take away?", height=3.2, ax=ax)
    x, counts = study.values
    kept = 1 - study.rejected.estimate
    step = float(np.diff(x).min()) if x.size > 1 else 1.0
    cells = max(1, round((x[-1] - x[0]) / step / 45)) * step
    edges = np.arange(x[0] - step / 2, x[-1] + step / 2 + cells, cells)
    heights, _ = np.histogram(x, bins=edges, weights=counts / counts.sum() * kept)
    axes.bar(
        edges[:-1],
        heights / cells,
        width=cells,
        align="edge",
        color=PALE,
        linewidth=0,
        label=f"{study.n:,} sorted parts",
    )
    span = x[-1] - x[0]
    grid = np.linspace(x[0] - 0.5 * span, x[-1] + 0.5 * span, 600)
    curve = study.density(grid)
    visible = curve > 1e-4 * curve.max()
    grid, curve = grid[visible], curve[visible]
    axes.plot(grid, curve, color=DEEP, linewidth=1.6, label="process before sorting")
    for limit, beyond in ((study.lower, -1), (study.upper, 1)):
        if limit is None:
            continue
        gone = (grid - limit) * beyond >= 0
        axes.fill_between(
            grid[gone],
            curve[gone],
            color=SOFT,
            alpha=0.6,
            hatch="///",
            edgecolor=INK,
            linewidth=0,
            label="taken out" if beyond == (1 if study.upper is not None else -1) else None,
        )
    limit_line(axes, study.lower, "lower limit", vertical=True)
    limit_line(axes, study.upper, "upper limit", vertical=True)
    axes.set_ylim(bottom=0)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.set_xlabel(with_unit("value", study.unit))
    axes.legend(fontsize=8, frameon=False, loc="upper left", bbox_to_anchor=(0.0, -0.18), ncols=3)
    return figure
