"""Pictures of the package gauges."""

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
    SERIES,
    SOFT,
    interval_bars,
    limit_line,
    per_cent,
    picture,
    plain_text,
)
from linestudy.results import Interval
from linestudy.results.picture import Picture
from linestudy.results.rounding import as_given, with_unit

if TYPE_CHECKING:
    from linestudy.gauges.comparison.two_gauges import AgreementStudy
    from linestudy.gauges.destructive.nested_study import NestedStudy
    from linestudy.gauges.grr.finding import CrossedStudy
    from linestudy.gauges.judgement.judgements import AttributeStudy
    from linestudy.gauges.masters.bias import BiasStudy
    from linestudy.gauges.masters.drift import DriftStudy
    from linestudy.gauges.masters.linearity_finding import LinearityStudy


def gauge_shares(study: CrossedStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the share of the tolerance (or of the total spread) that each source takes up."""
    components, of_tolerance = study.named_components, study.tolerance is not None
    # All sources together are no source.
    names = [name for name, item in components.items() if item is not study.components.get("total")]
    attribute = "share_of_tolerance" if of_tolerance else "share_of_sd"
    whole = "tolerance" if of_tolerance else "total spread"
    figure, axes = picture(f"Is the gauge's spread small against the {whole}?", height=2.9, ax=ax)
    values = [getattr(components[name], attribute) for name in names]
    interval_bars(axes, names, [v if isinstance(v, Interval) else None for v in values])
    ends = [v.high for v in values if isinstance(v, Interval)]
    best = [v.estimate for v in values if isinstance(v, Interval)]
    # A wide interval from two degrees of freedom must not flatten everything else.
    reach = min(max(ends, default=1.0), 3 * max([*best, 0.3]))
    axes.set_xlim(0, reach * 1.05)
    axes.set_xlabel(f"share of the {whole} (bar: confidence interval)")
    axes.xaxis.set_major_formatter(per_cent)
    return figure


def bias_by_master(study: BiasStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the bias on each master with its interval."""
    masters, unit = study.masters, study.unit
    figure, axes = picture(
        "Does the gauge read true on the masters?", height=1.3 + 0.32 * len(masters), ax=ax
    )
    labels = [f"{as_given(item.reference)} {unit}".strip() for item in masters]
    bars = [
        item.bias
        if isinstance(item.bias, Interval)
        else Interval(item.mean, item.mean, item.mean, 0.95, "no spread seen")
        for item in masters
    ]
    interval_bars(axes, labels, bars)
    limit_line(axes, 0.0, "true", vertical=True)
    axes.set_xlabel(with_unit("bias", unit))
    axes.set_ylabel("master")
    return figure


def bias_against_size(study: LinearityStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the errors of the readings against the size of the master, with the fitted line and its band."""
    figure, axes = picture("Does the bias change with size?", height=3.0, ax=ax)
    sizes, errors = study.readings.T
    axes.plot(
        sizes, errors, MARKERS[0], color=SOFT, markersize=3, alpha=0.6, label="single reading"
    )
    levels = np.unique(sizes)
    means = [errors[sizes == level].mean() for level in levels]
    axes.plot(levels, means, MARKERS[1], color=DEEP, markersize=6, label="mean of a master")
    x = np.linspace(sizes.min(), sizes.max(), 60)
    middle, sxx = sizes.mean(), ((sizes - sizes.mean()) ** 2).sum()
    line = errors.mean() + study.slope.estimate * (x - middle)
    factor = study.slope.half_width * np.sqrt(sxx)
    half = factor * np.sqrt(1 / sizes.size + (x - middle) ** 2 / sxx)
    axes.plot(x, line, color=DEEP, linewidth=1.4, label="fitted line and band")
    axes.fill_between(x, line - half, line + half, color=PALE, alpha=0.7, linewidth=0)
    limit_line(axes, 0.0, "true")
    axes.set_xlabel(with_unit("master", study.unit))
    axes.set_ylabel(with_unit("reading minus master", study.unit))
    axes.legend(frameon=False, fontsize=7.5, loc="best")
    return figure


def nested_shares(study: NestedStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the share of the variance that each level brings."""
    components = study.components
    figure, axes = picture(
        "Where does the spread of the test come from?", height=1.5 + 0.3 * len(components), ax=ax
    )
    labels = ["within (tester and specimen)" if n == "repeatability" else n for n in components]
    interval_bars(axes, labels, [item.share_of_variance for item in components.values()])
    axes.set_xlim(0, 1.02)
    axes.xaxis.set_major_formatter(per_cent)
    axes.set_xlabel("share of the variance (bar: confidence interval)")
    return figure


def differences(study: AgreementStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the difference of two gauges against the size of the part, with limits of agreement."""
    figure, axes = picture("Do the two gauges read the same part alike?", height=3.0, ax=ax)
    first, second = study.pairs.T
    size = min(5.0, 40 / np.sqrt(len(first)) + 1.5)
    axes.plot(
        (first + second) / 2, first - second, MARKERS[0], color=DEEP, markersize=size, alpha=0.7
    )
    for interval, name in (
        (study.lower_limit, "lower limit of agreement"),
        (study.mean_difference, "mean difference"),
        (study.upper_limit, "upper limit of agreement"),
    ):
        axes.axhspan(interval.low, interval.high, color=PALE, alpha=0.7, linewidth=0)
        limit_line(axes, interval.estimate, name)
    axes.axhline(0, color=INK, linewidth=0.8, linestyle=LINES[2])
    axes.set_xlabel(with_unit("mean of both gauges", study.unit))
    axes.set_ylabel(with_unit("difference", study.unit))
    return figure


def judgement_rates(study: AttributeStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the errors of each appraiser: bad parts accepted and good parts rejected."""
    figure, axes = picture(
        "How often does each appraiser err?", height=1.6 + 0.4 * len(study.appraisers), ax=ax
    )
    labels = list(study.appraisers)
    for index, (name, rates) in enumerate(
        (("bad part accepted", study.miss), ("good part rejected", study.false_alarm))
    ):
        bars = [rate if isinstance(rate := rates[a], Interval) else None for a in labels]
        interval_bars(
            axes,
            labels,
            bars,
            color=SERIES[index],
            marker=MARKERS[index],
            offset=0.12 - 0.24 * index,
        )
        axes.plot([], [], marker=MARKERS[index], color=SERIES[index], label=plain_text(name))
    axes.set_xlim(left=0)
    axes.xaxis.set_major_formatter(per_cent)
    axes.set_xlabel("share of judgements (bar: confidence interval)")
    axes.legend(frameon=False, fontsize=8, loc="upper right")
    return figure


def drift_on_master(study: DriftStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the errors on one master in the order they were read, with the fitted drift."""
    figure, axes = picture("Does the gauge wander during production?", height=2.8, ax=ax)
    x, errors, fitted, _ = study.points[np.argsort(study.points[:, 0])].T
    axes.plot(x, errors, MARKERS[0], color=SOFT, markersize=3.5, label="reading")
    # A reset breaks the line: the fitted level jumps against the slope there.
    steps = np.diff(fitted) - study.slope_per_thousand.estimate / 1000 * np.diff(x)
    breaks = np.flatnonzero(np.abs(steps) > 1e-9) + 1
    for number, piece in enumerate(np.split(np.arange(x.size), breaks)):
        axes.plot(
            x[piece],
            fitted[piece],
            color=DEEP,
            linewidth=1.6,
            label="fitted drift" if number == 0 else None,
        )
    limit_line(axes, 0.0, "true")
    axes.set_xlabel(plain_text(study.counted))
    axes.set_ylabel(with_unit("reading minus master", study.unit))
    axes.legend(frameon=False, fontsize=7.5, loc="best")
    return figure
