"""Measurement systems on paper: readings of each part, bias on masters, drift, differences of two gauges, judgements."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from linestudy.figures.report.process import at_limit
from linestudy.figures.style import (
    DEEP,
    INK,
    LABEL,
    LINES,
    MARKERS,
    PALE,
    SERIES,
    SMALL,
    SOFT,
    panels,
    plain_text,
    plain_texts,
    whole_numbers,
)
from linestudy.numerics.arrays import FloatArray
from linestudy.results.picture import Picture
from linestudy.results.rounding import as_given

if TYPE_CHECKING:
    from linestudy.gauges import (
        AgreementStudy,
        CrossedStudy,
        DriftStudy,
        LinearityStudy,
        StrengthAssurance,
    )


@dataclass(frozen=True)
class Measured:
    """The studies of one characteristic that have a picture; None where there is none.

    Attributes
    ----------
    crossed, linearity, drift, agreement : Finding or None
    lower, upper : float or None
        Tolerance limits.
    unit : str
    allowed : float or None
        Largest bias and drift allowed, in the unit.
    axis : str
        What the order of the drift counts.
    """

    crossed: CrossedStudy | None = None
    linearity: LinearityStudy | None = None
    drift: DriftStudy | None = None
    agreement: AgreementStudy | None = None
    lower: float | None = None
    upper: float | None = None
    unit: str = ""
    allowed: float | None = None
    axis: str = "stroke"

    @property
    def shown(self) -> list[str]:
        """Names of the studies that are drawn."""
        names = ("crossed", "linearity", "drift", "agreement")
        return [name for name in names if getattr(self, name) is not None]


def gauge_studies(found: Measured) -> Picture:
    """Draw the studies of one characteristic's gauges side by side, all deviations on one scale.

    Parameters
    ----------
    found : Measured

    Returns
    -------
    Picture
    """
    names = found.shown
    wide = [1.35 if name == "crossed" else 1.0 for name in names]
    # One study alone does not fill the width.
    width = min(6.85, 0.4 + 1.62 * sum(wide))
    figure, axes = panels(width, 1.62, columns=len(names), width_ratios=wide)
    for one, name in zip(axes, names, strict=True):
        _DRAWN[name](one, found)
        one.locator_params(axis="y", nbins=5)
    return figure


def _deviation(axes: Axes, found: Measured, text: str) -> None:
    unit = f" ({found.unit})" if found.unit else ""
    axes.set_title(f"{text}{unit}", fontsize=LABEL, loc="left", color=INK, pad=3)


#: Letters of all names together that fit above the readings.
_LEGEND = 24


def _readings(axes: Axes, found: Measured) -> None:
    """Draw the deviation of every reading from its part's mean, appraisers side by side within the part."""
    assert found.crossed is not None
    layout = found.crossed.layout
    people = list(layout.levels.get("appraiser", ("",)))
    part = layout.codes[:, layout.factors.index("part")]
    who = (
        layout.codes[:, layout.factors.index("appraiser")]
        if "appraiser" in layout.factors
        else np.zeros(part.size, dtype=int)
    )
    middle = np.bincount(part, layout.values) / np.bincount(part)
    names = plain_texts(people, max(4, _LEGEND // len(people)))
    for j, name in enumerate(names):
        here = who == j
        axes.plot(
            part[here] + 1 + (j - (len(people) - 1) / 2) * 0.22,
            (layout.values - middle[part])[here],
            MARKERS[j % len(MARKERS)],
            color=SERIES[j % len(SERIES)],
            markersize=2.4,
            markeredgewidth=0,
            linestyle="none",
            label=name if len(people) > 1 else None,
        )
    axes.axhline(0, color=INK, linewidth=0.5)
    axes.xaxis.set_major_locator(MaxNLocator(6, integer=True))
    axes.set_xlabel("part")
    _deviation(axes, found, "reading − part's mean")
    if 1 < len(people) <= 4:
        legend = axes.legend(
            frameon=False,
            fontsize=SMALL,
            loc="upper left",
            ncols=len(people),
            handletextpad=0.0,
            columnspacing=0.5,
            borderaxespad=0.0,
            bbox_to_anchor=(0.0, 1.0),
        )
        # Long names must not press the frame together.
        legend.set_in_layout(False)
        low, high = axes.get_ylim()
        axes.set_ylim(low, high + 0.22 * (high - low))


def _bias(axes: Axes, found: Measured) -> None:
    study = found.linearity
    assert study is not None
    sizes, errors = study.readings.T
    axes.plot(sizes, errors, MARKERS[0], color=SOFT, markersize=2, markeredgewidth=0)
    levels = np.unique(sizes)
    means = [errors[sizes == level].mean() for level in levels]
    axes.plot(levels, means, MARKERS[1], color=DEEP, markersize=4)
    limits = [v for v in (found.lower, found.upper) if v is not None]
    ends = [min([sizes.min(), *limits]), max([sizes.max(), *limits])]
    x = np.linspace(float(ends[0]), float(ends[1]), 40)
    middle = sizes.mean()
    sxx = float(((sizes - middle) ** 2).sum())
    line = errors.mean() + study.slope.estimate * (x - middle)
    half = study.slope.half_width * np.sqrt(sxx) * np.sqrt(1 / sizes.size + (x - middle) ** 2 / sxx)
    axes.fill_between(
        x, line - half, line + half, facecolor=PALE, alpha=0.7, edgecolor=INK, linewidth=0.4
    )
    axes.plot(x, line, color=DEEP, linewidth=1.1)
    for value in limits:
        axes.axvline(value, color=INK, linewidth=0.8, linestyle=LINES[1])
    _allowed(axes, found)
    axes.locator_params(axis="x", nbins=4)
    axes.set_xlabel(f"master ({found.unit})" if found.unit else "master")
    _deviation(axes, found, "reading − master")


def _allowed(axes: Axes, found: Measured) -> None:
    axes.axhline(0, color=INK, linewidth=0.5)
    if found.allowed:
        for side in (-1, 1):
            axes.axhline(side * found.allowed, color=INK, linewidth=0.7, linestyle=LINES[2])


def _drift(axes: Axes, found: Measured) -> None:
    study = found.drift
    assert study is not None
    x, errors, fitted, stretch = study.points[np.argsort(study.points[:, 0])].T
    axes.plot(x, errors, MARKERS[0], color=SOFT, markersize=2, markeredgewidth=0)
    for number in np.unique(stretch):
        here = stretch == number
        axes.plot(x[here], fitted[here], color=DEEP, linewidth=1.3)
    _allowed(axes, found)
    axes.locator_params(axis="x", nbins=4)
    whole_numbers(axes.xaxis)
    axes.set_xlabel(plain_text(found.axis, 24))
    _deviation(axes, found, "reading − master")


def _agreement(axes: Axes, found: Measured) -> None:
    study = found.agreement
    assert study is not None
    first, second = study.pairs.T
    axes.plot(
        (first + second) / 2,
        first - second,
        MARKERS[0],
        color=DEEP,
        markersize=2.2,
        markeredgewidth=0,
    )
    for interval, dotted in (
        (study.lower_limit, False),
        (study.mean_difference, True),
        (study.upper_limit, False),
    ):
        axes.axhspan(
            interval.low, interval.high, facecolor=PALE, alpha=0.6, edgecolor=INK, linewidth=0.4
        )
        axes.axhline(
            interval.estimate, color=INK, linewidth=0.7, linestyle=LINES[2] if dotted else LINES[1]
        )
    axes.axhline(0, color=INK, linewidth=0.5)
    axes.locator_params(axis="x", nbins=3)
    axes.set_xlabel(f"mean of both ({found.unit})" if found.unit else "mean of both")
    _deviation(axes, found, "one gauge − other")


_DRAWN = {"crossed": _readings, "linearity": _bias, "drift": _drift, "agreement": _agreement}


@dataclass(frozen=True)
class Group:
    """Values of one batch.

    Attributes
    ----------
    name : str
    values : numpy.ndarray of float
    """

    name: str
    values: FloatArray


def by_batch(
    groups: Sequence[Group], *, lower: float | None, upper: float | None, unit: str, level: str
) -> Picture:
    """Draw single values by batch with the mean of each.

    Parameters
    ----------
    groups : sequence of Group
    lower, upper : float or None
    unit : str
    level : str
        What the batches are called.

    Returns
    -------
    Picture
    """
    figure, (axes,) = panels(height=1.9)
    for at, group in enumerate(groups):
        y = np.asarray(group.values, dtype=float)
        spread = np.linspace(-0.22, 0.22, y.size) if y.size > 1 else np.zeros(1)
        axes.plot(at + spread, y, MARKERS[0], color=SOFT, markersize=2.6, markeredgewidth=0)
        axes.plot([at - 0.3, at + 0.3], [y.mean()] * 2, color=DEEP, linewidth=1.6)
    at_limit(axes, lower, "LSL")
    at_limit(axes, upper, "USL")
    names = plain_texts((group.name for group in groups), 12)
    every = max(1, int(np.ceil(len(names) / 24)))
    axes.set_xticks(range(0, len(names), every), names[::every])
    axes.set_xlabel(plain_text(level, 40))
    axes.set_ylabel(f"value ({unit})" if unit else "value")
    return figure


def strength(study: StrengthAssurance) -> Picture:
    """Draw strength against size with its line, what it assures, and the least size that is enough.

    Parameters
    ----------
    study : StrengthAssurance

    Returns
    -------
    Picture
    """
    figure, (axes,) = panels(height=1.9)
    x, mean, assured = study.curve.T
    axes.plot(*study.points.T, MARKERS[0], color=SOFT, markersize=2.6, markeredgewidth=0)
    axes.plot(x, mean, color=DEEP, linewidth=1.3)
    axes.plot(x, assured, color=DEEP, linewidth=1.3, linestyle=LINES[1])
    at_limit(axes, study.required, "asked")
    if isinstance(study.width_limit, float):
        axes.axvline(study.width_limit, color=INK, linewidth=0.8, linestyle=LINES[2])
        axes.annotate(
            f"assured from {as_given(study.width_limit, digits=4)}",
            (study.width_limit, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 1),
            textcoords="offset points",
            ha="left",
            va="bottom",
            fontsize=SMALL,
            color=INK,
        )
    axes.margins(x=0.02)
    axes.set_xlabel(f"size ({study.size_unit})" if study.size_unit else "size")
    axes.set_ylabel(f"strength ({study.unit})" if study.unit else "strength")
    return figure


def verdicts_by_part(
    right: FloatArray, parts: Sequence[str], people: Sequence[str], truth: Sequence[bool] | None
) -> Picture:
    """Draw for each part and appraiser how often the judgement was right.

    Parameters
    ----------
    right : numpy.ndarray of float, shape (appraisers, parts)
        Share of right judgements; NaN where not judged.
    parts, people : sequence of str
    truth : sequence of bool or None
        Whether the reference accepts the part.

    Returns
    -------
    Picture
    """
    figure, (axes,) = panels(height=0.75 + 0.2 * len(people))
    for j in range(len(people)):
        for i in range(len(parts)):
            share = float(right[j, i])
            if not np.isfinite(share):
                continue
            face = "none" if share >= 1 else SOFT if share > 0 else DEEP
            axes.plot(
                [i],
                [len(people) - 1 - j],
                "o" if share >= 1 else "D" if share > 0 else "s",
                markersize=2.6 if share >= 1 else 4.6,
                markerfacecolor=face,
                markeredgecolor=INK if share >= 1 else face,
                markeredgewidth=0.4,
            )
    axes.set_yticks(range(len(people) - 1, -1, -1), plain_texts(people, 14))
    axes.set_ylim(-0.6, len(people) - 0.4)
    axes.set_xlim(-1, len(parts))
    if truth is not None and any(truth) and not all(truth):
        good = sum(truth)
        axes.axvline(good - 0.5, color=INK, linewidth=0.8, linestyle=LINES[1])
        for at, text in (
            (good / 2 - 0.5, "reference accepts"),
            (good + (len(parts) - good) / 2 - 0.5, "reference rejects"),
        ):
            axes.annotate(
                text,
                (at, 1.0),
                xycoords=("data", "axes fraction"),
                ha="center",
                va="bottom",
                fontsize=SMALL,
            )
    axes.set_xticks([])
    axes.set_xlabel(f"{len(parts)} parts; ring: always right, diamond: sometimes, square: never")
    return figure
