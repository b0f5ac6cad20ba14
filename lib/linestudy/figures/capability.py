"""Pictures of the package capability."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes

from linestudy.figures.style import (
    DEEP,
    INK,
    PALE,
    SOFT,
    WIDE,
    limit_line,
    picture,
    plain_text,
    plain_texts,
    whole_numbers,
)
from linestudy.numerics.arrays import FloatArray
from linestudy.results.picture import Picture
from linestudy.results.rounding import with_unit

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.capability.finding import CapabilityStudy
    from linestudy.capability.resampled_blocks import BlockBootstrap
    from linestudy.capability.round_zone.study import PositionStudy
    from linestudy.capability.tolerance import ToleranceIntervals


def histogram_with_limits(
    study: CapabilityStudy,
    *,
    question: str = "Does the process fit between the limits?",
    ax: Axes | None = None,
) -> Picture:
    """Draw the values, the fitted curve and the tolerance limits.

    Parameters
    ----------
    study : CapabilityStudy
    question : str
        Title of the picture.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    figure, axes = picture(question, height=3.0, ax=ax)
    edges = density_bars(axes, study)
    ends = [v for v in (study.lower, study.upper) if v is not None] + [edges[0], edges[-1]]
    pad = 0.05 * (max(ends) - min(ends))
    grid = np.linspace(min(ends) - pad, max(ends) + pad, 400)
    axes.plot(grid, _density(study, grid), color=DEEP, linewidth=1.5)
    limit_line(axes, study.lower, "lower limit", vertical=True)
    limit_line(axes, study.upper, "upper limit", vertical=True)
    axes.plot([], [], color=DEEP, label=plain_text(_curve_name(study)))
    axes.fill_between([], [], color=PALE, label=f"{study.n:,} values")
    axes.set_xlim(grid[0], grid[-1])
    axes.set_ylim(bottom=0)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.set_xlabel(with_unit("value", study.unit))
    axes.legend(
        frameon=False, fontsize=7.5, loc="lower center", bbox_to_anchor=(0.5, -0.42), ncols=2
    )
    return figure


def _curve_name(study: CapabilityStudy) -> str:
    return "normal curve" if study.fitted is None else f"{study.fitted.family} curve"


def _density(study: CapabilityStudy, grid: FloatArray) -> FloatArray:
    if study.fitted is not None:
        with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
            fitted = np.exp(study.fitted.logpdf(grid))
        return np.asarray(np.nan_to_num(fitted, nan=0.0, posinf=0.0))
    z = (grid - study.mean) / study.sd_overall
    return np.asarray(np.exp(-0.5 * z * z) / (study.sd_overall * np.sqrt(2 * np.pi)))


def density_bars(axes: Axes, study: CapabilityStudy) -> FloatArray:
    """Draw the values as a histogram of density, and return the edges of its bins."""
    x, w = study.counts
    edges = _bar_edges(x, w)
    heights, _ = np.histogram(x, bins=edges, weights=w / w.sum())
    width = np.diff(edges)
    axes.bar(
        edges[:-1], heights / width, width, align="edge", color=PALE, edgecolor=SOFT, linewidth=0.3
    )
    return edges


def _bar_edges(x: FloatArray, w: FloatArray) -> FloatArray:
    """Compute bin edges that are whole steps of the readings, so that no bin is empty by rounding alone."""
    step = float(np.diff(x).min()) if x.size > 1 else 1.0
    n = w.sum()
    spread = np.sqrt(w @ (x - w @ x / n) ** 2 / n)
    width = max(step, np.ceil(3.0 * spread / n ** (1 / 3) / step) * step)
    width = max(width, np.ceil((x[-1] - x[0]) / 120 / step) * step)
    begin = x[0] - step / 2
    count = int(np.ceil((x[-1] + step / 2 - begin) / width))
    return np.asarray(begin + width * np.arange(max(count, 1) + 1))


#: Characteristics whose pairs fit into a small picture.
_FEW_SQUARES = 6


def correlation_heatmap(correlations: pd.DataFrame, *, ax: Axes | None = None) -> Picture:
    """Draw the rank correlation of every pair of characteristics.

    Parameters
    ----------
    correlations : pandas.DataFrame
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new picture when absent.

    Returns
    -------
    Picture
    """
    import seaborn

    # A square must hold its number: many characteristics take all of the width.
    many = len(correlations) > _FEW_SQUARES
    width, height = (WIDE, 1.3 + 0.28 * len(correlations)) if many else (4.6, 3.4)
    figure, axes = picture(
        "Which characteristics are correlated?", width=width, height=height, ax=ax
    )
    # Long names would leave no space for the squares.
    short = dict(zip(correlations, plain_texts(correlations, 20), strict=True))
    if len(set(short.values())) == len(short):
        correlations = correlations.rename(index=short, columns=short)
    shades = seaborn.light_palette(DEEP, as_cmap=True)
    mask = np.triu(np.ones(correlations.shape, dtype=bool))
    seaborn.heatmap(
        correlations.abs(),
        mask=mask,
        annot=(correlations.round(2) + 0.0).map("{:.2f}".format).replace("-", "−", regex=True),
        fmt="",
        vmin=0,
        vmax=1,
        cmap=shades,
        cbar_kws={"label": "rank correlation, size"},
        ax=axes,
        linewidths=1,
        annot_kws={"fontsize": 8},
    )
    # Names upright on the left, and all lettering of one size.
    axes.tick_params(labelsize=8, colors=INK)
    axes.tick_params(axis="y", rotation=0)
    bar = axes.collections[0].colorbar
    if bar is not None:
        bar.ax.tick_params(labelsize=8, colors=INK)
        bar.ax.yaxis.label.set(size=8.5, color=INK)
    return figure


def tolerance_interval_plot(study: ToleranceIntervals, *, ax: Axes | None = None) -> Picture:
    """Draw distribution-free tolerance intervals against the limits, one bar for each share of parts."""
    least, middle, most = study.extremes
    figure, axes = picture("What holds a stated share of all parts?", height=2.2, ax=ax)
    rows = list(study.intervals)
    for index, item in enumerate(rows):
        height = len(rows) - 1 - index
        if not item.exists:
            axes.annotate(
                f"needs {item.needed:,} independent values",
                (middle, height),
                fontsize=7.5,
                color=INK,
                ha="center",
                va="center",
            )
            continue
        ends = [
            least if item.low is None else item.low,
            most if item.high is None else item.high,
        ]
        axes.plot(ends, [height, height], color=DEEP, linewidth=5, solid_capstyle="butt")
    axes.plot([middle] * len(rows), range(len(rows)), "o", color=SOFT, markersize=4)
    labels = [f"{100 * item.content:.4g} % of parts" for item in rows]
    axes.set_yticks(range(len(rows) - 1, -1, -1), labels)
    axes.set_ylim(-0.6, len(rows) - 0.4)
    limit_line(axes, study.lower, "lower limit", vertical=True)
    limit_line(axes, study.upper, "upper limit", vertical=True)
    axes.set_xlabel(with_unit("value", study.unit))
    return figure


def position_plot(study: PositionStudy, *, ax: Axes | None = None) -> Picture:
    """Draw deviations in x and y, the zone, and the largest ellipse that it holds."""
    figure, axes = picture("Does the axis lie inside its zone?", width=4.4, height=4.0, ax=ax)
    zone_and_parts(axes, study)
    axes.legend(frameon=False, fontsize=7.5, loc="center left", bbox_to_anchor=(1.0, 0.5))
    return figure


def zone_and_parts(axes: Axes, study: PositionStudy) -> None:
    """Draw deviations of the parts about the true position, their mean, the zone and the largest ellipse in it.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
    study : PositionStudy
    """
    points, mean = study.points.deviations, study.points.mean
    covariance, radius = study.points.covariance, study.points.radius
    shown = points[:: max(len(points) // 2000, 1)]
    axes.plot(*shown.T, ".", color=SOFT, markersize=3, alpha=0.6, label="parts")
    angle = np.linspace(0, 2 * np.pi, 361)
    around = np.stack([np.cos(angle), np.sin(angle)])
    axes.plot(*(radius * around), color=INK, linewidth=1.0, linestyle=(0, (7, 3)), label="zone")
    if np.hypot(*mean) < radius:
        away = radius * around - mean[:, None]
        squared = np.einsum("ia,ij,ja->a", away, np.linalg.inv(covariance), away)
        ellipse = np.linalg.cholesky(covariance) @ around * np.sqrt(squared.min())
        axes.plot(*(ellipse + mean[:, None]), color=DEEP, linewidth=1.6, label="largest ellipse")
    axes.plot(*mean, "D", color=DEEP, markersize=5, label="mean")
    axes.plot(0, 0, "+", color=INK, markersize=9, label="true position")
    axes.set_aspect("equal")
    axes.set_xlabel(with_unit("deviation in x", study.unit))
    axes.set_ylabel(with_unit("deviation in y", study.unit))


def effective_sample_sizes(study: BlockBootstrap, *, ax: Axes | None = None) -> Picture:
    """Draw effective sample sizes, by blocks and as the intervals used them."""
    figure, axes = picture("Does the effective sample size hold?", height=1.9, ax=ax)
    for height, (blocks, used) in enumerate(
        ((study.n_eff_sd, study.used_n_eff_sd), (study.n_eff_mean, study.used_n_eff_mean))
    ):
        axes.plot([blocks, used], [height, height], color=PALE, linewidth=3, zorder=1)
        axes.plot(blocks, height, "o", color=DEEP, label="by blocks" if height else None)
        axes.plot(used, height, "D", color=SOFT, label="used by the intervals" if height else None)
    axes.set_xlim(left=0)
    whole_numbers(axes.xaxis)
    axes.set_yticks([0, 1], ["for the SD", "for the mean"])
    axes.set_ylim(-0.6, 1.6)
    axes.set_xlabel("effective sample size")
    axes.legend(frameon=False, fontsize=7.5, loc="center left", bbox_to_anchor=(1.0, 0.5))
    return figure
