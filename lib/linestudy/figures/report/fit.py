"""A distribution on paper: between its limits, its tails on a logarithmic scale, its quantiles, its streams."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes

from linestudy.figures.capability import density_bars, zone_and_parts
from linestudy.figures.style import (
    DEEP,
    HALF,
    INK,
    LINES,
    MARKERS,
    MID,
    PALE,
    SOFT,
    above,
    beside,
    logarithmic,
    panels,
    plain_text,
    plain_texts,
)
from linestudy.numerics.arrays import FloatArray
from linestudy.results.picture import Picture
from linestudy.results.rounding import as_given

if TYPE_CHECKING:
    from linestudy.capability import CapabilityStudy
    from linestudy.capability.round_zone.study import PositionStudy
    from linestudy.capability.sorting.truncated_study import TruncatedStudy
    from linestudy.shape import ShapeStudy

_HEIGHT = 1.95


def _value(unit: str) -> str:
    return f"value ({unit})" if unit else "value"


def _upright(axes: Axes, value: float | None, name: str, *, dotted: bool = False) -> None:
    """Draw a limit as an upright line, named above the frame."""
    if value is None or not np.isfinite(value):
        return
    axes.axvline(
        value, color=INK, linewidth=0.8, linestyle=LINES[2] if dotted else LINES[1], zorder=2
    )
    above(axes, value, f"{name}\n{as_given(value)}")


def _few_ticks(axes: Axes) -> None:
    """Place fewer ticks where their numbers would touch in half the width of the page."""
    for most in (8, 6, 5, 4):
        axes.locator_params(axis="x", nbins=most)
        low, high = axes.get_xlim()
        shown = [at for at in axes.get_xticks() if low <= at <= high]
        letters = sum(
            len(text) + 2 for text in axes.xaxis.get_major_formatter().format_ticks(shown)
        )
        if letters <= _LETTERS:
            return


#: Letters that fit under an axis of half the width.
_LETTERS = 52


def between_limits(
    study: CapabilityStudy, *, target: float | None = None, bound: float | None = None
) -> Picture:
    """Draw the values, the fitted curve, the limits, the target and the 0.135 % and 99.865 % points.

    Parameters
    ----------
    study : CapabilityStudy
    target : float, optional
    bound : float, optional
        What no part can be smaller than.

    Returns
    -------
    Picture
    """
    figure, (axes,) = panels(HALF, _HEIGHT)
    edges = density_bars(axes, study)
    grid = _grid(study, edges)
    axes.plot(grid, _density(study, grid), color=DEEP, linewidth=1.3)
    for share in (0.00135, 0.99865):
        at = float(_quantile(study, share))
        if grid[0] <= at <= grid[-1]:
            axes.plot([at], [0], marker="^", color=MID, markersize=6, clip_on=False, zorder=5)
    _upright(axes, study.lower, "LSL")
    _upright(axes, study.upper, "USL")
    _upright(axes, target, "target", dotted=True)
    if bound is not None and grid[0] <= bound <= grid[-1]:
        _upright(axes, bound, "bound", dotted=True)
    axes.set_xlim(grid[0], grid[-1])
    axes.set_ylim(bottom=0)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.set_xlabel(_value(study.unit))
    _few_ticks(axes)
    return figure


def before_sorting(study: TruncatedStudy) -> Picture:
    """Draw accepted parts, the process that they come from, and the limits at which the rest was taken out.

    Parameters
    ----------
    study : TruncatedStudy

    Returns
    -------
    Picture
    """
    figure, (axes,) = panels(HALF, _HEIGHT)
    x, counts = study.values
    step = float(np.diff(x).min()) if x.size > 1 else 1.0
    cells = max(1, round((x[-1] - x[0]) / step / 45)) * step
    edges = np.arange(x[0] - step / 2, x[-1] + step / 2 + cells, cells)
    kept = (1 - study.rejected.estimate) / counts.sum()
    heights, _ = np.histogram(x, bins=edges, weights=counts * kept)
    axes.bar(
        edges[:-1],
        heights / cells,
        width=cells,
        align="edge",
        color=PALE,
        edgecolor=SOFT,
        linewidth=0.5,
    )
    span = float(x[-1] - x[0]) or 1.0
    grid = np.linspace(x[0] - 0.5 * span, x[-1] + 0.5 * span, 600)
    curve = study.density(grid)
    visible = curve > 1e-4 * curve.max()
    grid, curve = grid[visible], curve[visible]
    axes.plot(grid, curve, color=DEEP, linewidth=1.3)
    for limit, side in ((study.lower, -1), (study.upper, 1)):
        if limit is not None:
            gone = (grid - limit) * side >= 0
            axes.fill_between(
                grid[gone], curve[gone], facecolor=SOFT, hatch="////", edgecolor=INK, linewidth=0
            )
    _upright(axes, study.lower, "LSL")
    _upright(axes, study.upper, "USL")
    axes.set_ylim(bottom=0)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.set_xlabel(_value(study.unit))
    return figure


def in_the_zone(study: PositionStudy) -> Picture:
    """Draw where the parts of a position lie about its true place, and the zone that they must lie in.

    Parameters
    ----------
    study : PositionStudy

    Returns
    -------
    Picture
    """
    figure, (axes,) = panels(HALF, 1.3 * _HEIGHT)
    zone_and_parts(axes, study)
    axes.locator_params(nbins=5)
    return figure


def _grid(study: CapabilityStudy, edges: FloatArray) -> FloatArray:
    ends = [v for v in (study.lower, study.upper) if v is not None] + [edges[0], edges[-1]]
    pad = 0.05 * (max(ends) - min(ends))
    return np.linspace(min(ends) - pad, max(ends) + pad, 500)


def _density(study: CapabilityStudy, grid: FloatArray) -> FloatArray:
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        if study.fitted is not None:
            found = np.nan_to_num(np.exp(study.fitted.logpdf(grid)), nan=0.0, posinf=0.0)
            return np.asarray(found)
        z = (grid - study.mean) / study.sd_overall
        return np.asarray(np.exp(-0.5 * z * z) / (study.sd_overall * np.sqrt(2 * np.pi)))


def _quantile(study: CapabilityStudy, share: float | FloatArray) -> Any:
    if study.fitted is not None:
        return study.fitted.ppf(share)
    from scipy.special import ndtri

    return study.mean + study.sd_overall * ndtri(share)


#: Shares of parts down to which the tails are drawn.
_LEAST_SHARE = 1e-9


def both_tails(study: CapabilityStudy, decides: float | None = None) -> Picture:
    """Draw the share of parts beyond each value, seen and expected, on a logarithmic scale.

    Parameters
    ----------
    study : CapabilityStudy
    decides : float, optional
        [ppm] What the description that decides expects outside, where that is not the line; it is marked at the limit
        that the line comes nearer to.

    Returns
    -------
    Picture

    Notes
    -----
    Below the middle the share of smaller values, above it that of larger ones. The line is the
    distribution that was fitted, the dots are the values.
    """
    figure, (axes,) = panels(HALF, _HEIGHT)
    x, w = study.counts
    total = float(w.sum())
    below = (np.cumsum(w) - w / 2) / total
    seen = np.minimum(below, 1 - below)
    axes.plot(x, 1e6 * seen, MARKERS[0], color=SOFT, markersize=2.4, markeredgewidth=0)
    shares = np.concatenate(
        [np.geomspace(_LEAST_SHARE, 0.5, 200), 1 - np.geomspace(0.5, _LEAST_SHARE, 200)]
    )
    with np.errstate(all="ignore"):
        line = np.asarray(_quantile(study, shares), dtype=float)
    good = np.isfinite(line)
    axes.plot(line[good], 1e6 * np.minimum(shares, 1 - shares)[good], color=DEEP, linewidth=1.2)
    nearer = _nearer_limit(study)
    if decides is not None and nearer is not None:
        axes.plot(
            [nearer],
            [max(decides, 1.5e6 * _LEAST_SHARE)],
            MARKERS[1],
            color=DEEP,
            markerfacecolor="white",
            markersize=6,
            zorder=5,
        )
    _upright(axes, study.lower, "LSL")
    _upright(axes, study.upper, "USL")
    ends = [v for v in (study.lower, study.upper) if v is not None] + [float(x[0]), float(x[-1])]
    pad = 0.06 * (max(ends) - min(ends)) or 1.0
    axes.set_xlim(min(ends) - pad, max(ends) + pad)
    logarithmic(axes, "y")
    axes.set_ylim(1e6 * _LEAST_SHARE, 1e6)
    axes.set_yticks([1e-3, 1e-1, 10, 1e3, 1e5], ["0.001", "0.1", "10", "1,000", "100,000"])
    axes.set_yticks([], minor=True)
    axes.set_ylabel("parts beyond (ppm)")
    axes.set_xlabel(_value(study.unit))
    _few_ticks(axes)
    return figure


def _nearer_limit(study: CapabilityStudy) -> float | None:
    """Find the limit with the smaller margin, in spreads of the line, on its own side of the middle."""
    low, middle, high = (float(_quantile(study, share)) for share in (0.00135, 0.5, 0.99865))
    sides = []
    if study.lower is not None and middle > low:
        sides.append(((middle - study.lower) / (middle - low), study.lower))
    if study.upper is not None and high > middle:
        sides.append(((study.upper - middle) / (high - middle), study.upper))
    return min(sides)[1] if sides else None


def quantiles(study: ShapeStudy) -> Picture:
    """Draw the values against the quantiles of the distribution that describes them, with its band.

    Parameters
    ----------
    study : ShapeStudy

    Returns
    -------
    Picture
    """
    figure, (axes,) = panels(HALF, _HEIGHT)
    x, w = study.counts
    y = np.repeat(x, w.astype(int)) if study.sample is None else study.sample
    theory = study.chosen.ppf((np.arange(1, y.size + 1) - 0.5) / y.size)
    if study.band is not None:
        axes.fill_between(*study.band, facecolor=PALE, alpha=0.6, linewidth=0)
        for edge in study.band[1:]:
            axes.plot(study.band[0], edge, color=INK, linewidth=0.5, linestyle=LINES[4])
    ends = np.array([min(theory.min(), y.min()), max(theory.max(), y.max())])
    axes.plot(ends, ends, color=INK, linewidth=0.8, linestyle=LINES[1])
    axes.plot(theory, y, MARKERS[0], color=DEEP, markersize=2.4, markeredgewidth=0)
    axes.set_xlabel(plain_text(f"quantile of the {study.family} distribution", 60))
    axes.set_ylabel(_value(study.unit))
    axes.locator_params(nbins=5)
    return figure


@dataclass(frozen=True)
class StreamValues:
    """One stream beside the others.

    Attributes
    ----------
    name : str
    values : numpy.ndarray of float
    label : str
        What is at its right end.
    """

    name: str
    values: FloatArray
    label: str


def side_by_side(
    streams: Sequence[StreamValues],
    *,
    lower: float | None,
    upper: float | None,
    unit: str = "",
    width: float = HALF,
) -> Picture:
    """Draw streams one below the other on the scale of the limits: extremes, quartiles, mean.

    Parameters
    ----------
    streams : sequence of StreamValues
    lower, upper : float or None
    unit : str
    width : float
        In inches.

    Returns
    -------
    Picture
    """
    shown = list(streams)[:12]
    figure, (axes,) = panels(width, max(1.3, min(_HEIGHT, 0.75 + 0.3 * len(shown))))
    for row, stream in enumerate(shown):
        at = len(shown) - 1 - row
        y = np.asarray(stream.values, dtype=float)
        quarter = np.percentile(y, [25, 75])
        axes.plot([y.min(), y.max()], [at, at], color=DEEP, linewidth=0.9)
        axes.barh(
            at,
            quarter[1] - quarter[0],
            left=quarter[0],
            height=0.42,
            color=PALE,
            edgecolor=DEEP,
            linewidth=0.7,
            zorder=2,
        )
        axes.plot([y.mean()], [at], MARKERS[1], color=DEEP, markersize=4.5, zorder=3)
        beside(axes, at, plain_text(stream.label, 24), gap=3)
    axes.set_yticks(
        range(len(shown) - 1, -1, -1), plain_texts((stream.name for stream in shown), 16)
    )
    axes.set_ylim(-0.6, len(shown) - 0.4)
    _upright(axes, lower, "LSL")
    _upright(axes, upper, "USL")
    axes.margins(x=0.06)
    axes.set_xlabel(_value(unit))
    return figure
