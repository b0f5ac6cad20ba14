"""A distribution on paper: between its limits, its tails on a logarithmic scale, its quantiles, its streams."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes

from linestudy.figures.capability import density_bars
from linestudy.figures.style import (
    DEEP,
    HALF,
    INK,
    LINES,
    MARKERS,
    MID,
    PALE,
    SERIES,
    SMALL,
    SOFT,
    TICK,
    WIDE,
    logarithmic,
    panels,
    plain_text,
)
from linestudy.numerics.arrays import FloatArray
from linestudy.results import Interval
from linestudy.results.picture import Picture

if TYPE_CHECKING:
    from linestudy.capability import CapabilityStudy
    from linestudy.shape import ShapeStudy

_HEIGHT = 1.95


def _value(unit: str) -> str:
    return f"value ({unit})" if unit else "value"


def _upright(axes: Axes, value: float | None, name: str, *, dotted: bool = False) -> None:
    """A limit as an upright line, named above the frame."""
    if value is None or not np.isfinite(value):
        return
    axes.axvline(
        value, color=INK, linewidth=0.8, linestyle=LINES[2] if dotted else LINES[1], zorder=2
    )
    axes.annotate(
        f"{name}\n{value:.6g}".replace("-", "−"),
        (value, 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(0, 1),
        textcoords="offset points",
        ha="center",
        va="bottom",
        fontsize=SMALL,
        color=INK,
        linespacing=0.95,
    )


def between_limits(study: CapabilityStudy, *, target: float | None = None) -> Picture:
    """Draw the values, the fitted curve, the limits, the target and the 0.135 % and 99.865 % points.

    Parameters
    ----------
    study : CapabilityStudy
    target : float, optional

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
    axes.set_xlim(grid[0], grid[-1])
    axes.set_ylim(bottom=0)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.set_xlabel(_value(study.unit))
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


def both_tails(study: CapabilityStudy) -> Picture:
    """Draw the share of parts beyond each value, seen and expected, on a logarithmic scale.

    Parameters
    ----------
    study : CapabilityStudy

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
    return figure


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
    axes.set_xlabel(plain_text(f"quantile of the {study.chosen.family} distribution", 60))
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
        axes.annotate(
            plain_text(stream.label, 24),
            (1.0, at),
            xycoords=("axes fraction", "data"),
            xytext=(3, 0),
            textcoords="offset points",
            va="center",
            fontsize=SMALL,
            color=INK,
        )
    axes.set_yticks(
        range(len(shown) - 1, -1, -1), [plain_text(stream.name, 16) for stream in shown]
    )
    axes.set_ylim(-0.6, len(shown) - 0.4)
    _upright(axes, lower, "LSL")
    _upright(axes, upper, "USL")
    axes.margins(x=0.06)
    axes.set_xlabel(_value(unit))
    return figure


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
    figure, (axes,) = panels(WIDE, 0.55 + 0.155 * len(rows))
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
        axes.annotate(
            plain_text(decision, 40),
            (1.0, at),
            xycoords=("axes fraction", "data"),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
            fontsize=SMALL,
            color=INK,
        )
    across = zip(rows[0][3], words, ("right", "left"), strict=True) if alike else ()
    for mark, word, side in across:
        axes.axvline(mark, color=INK, linewidth=0.8, linestyle=LINES[1])
        axes.annotate(
            f"{mark:g} {word}",
            (mark, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(-2 if side == "right" else 2, 1),
            textcoords="offset points",
            ha=side,
            va="bottom",
            fontsize=SMALL,
        )
    axes.set_yticks(range(len(rows) - 1, -1, -1), [plain_text(name, 26) for name, *_ in rows])
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.set_xlim(0, top * 1.05)
    axes.set_xlabel("index that decides; bar: from its lower bound")
    axes.tick_params(labelsize=TICK)
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
        high = min(value.high, reach * 1.2)
        axes.plot([max(value.low, 0.0), high], [at, at], color=SERIES[0], linewidth=1.6, alpha=0.75)
        axes.plot([value.estimate], [at], MARKERS[0], color=DEEP, markersize=4)
        if own is not None:
            axes.plot([own, own], [at - 0.4, at + 0.4], color=INK, linewidth=1.4)
    for mark, name in marks:
        axes.axvline(mark, color=INK, linewidth=0.8, linestyle=LINES[1])
        axes.annotate(
            name,
            (mark, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 1),
            textcoords="offset points",
            ha="center",
            va="bottom",
            fontsize=SMALL,
        )
    axes.set_yticks(range(len(rows) - 1, -1, -1), [plain_text(name, 30) for name, *_ in rows])
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.set_xlim(0, reach)
    axes.set_xlabel(label)
    return figure
