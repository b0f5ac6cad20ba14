"""Pictures of what a gauge's error is made of and what it does."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes

from linestudy.figures.style import (
    DEEP,
    INK,
    LINES,
    PALE,
    SOFT,
    interval_bars,
    limit_line,
    logarithmic,
    per_cent,
    picture,
    plain_text,
    plain_texts,
)
from linestudy.results import Interval
from linestudy.results.picture import Picture
from linestudy.results.rounding import as_given, with_unit

if TYPE_CHECKING:
    from linestudy.capability.whole_part.rejects_study import RejectsStudy
    from linestudy.gauges.budget.expanded_finding import UncertaintyStudy
    from linestudy.gauges.budget.risk_study import ConformityRisk
    from linestudy.gauges.comparison.laboratories_finding import LaboratoryStudy
    from linestudy.gauges.comparison.systems_finding import SystemComparison
    from linestudy.gauges.destructive.strength_finding import StrengthAssurance
    from linestudy.gauges.destructive.tester_study import DestructiveGrr
    from linestudy.gauges.grr.leave_one_out import InfluenceStudy
    from linestudy.gauges.judgement.acceptance_curve import GaugePerformanceCurve
    from linestudy.gauges.judgement.appraiser_curves import OwnThresholds
    from linestudy.gauges.judgement.grades import GradedStudy
    from linestudy.gauges.masters.reading_step import ResolutionStudy


def influence_by_level(study: InfluenceStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the gauge's standard deviation without each part, appraiser or odd reading."""
    chosen, whole, unit = study.ordered[:10], study.grr_sd, study.unit
    figure, axes = picture(
        "Does the result rest on one part, appraiser or reading?",
        height=1.4 + 0.26 * len(chosen),
        ax=ax,
    )
    values = [row.grr_sd for row in chosen]
    heights = range(len(chosen) - 1, -1, -1)
    axes.hlines(heights, whole.estimate, values, color=SOFT, linewidth=1.5)
    axes.plot(values, list(heights), "o", color=DEEP, markersize=5)
    labels = [plain_text(f"without {row}", 40) for row in chosen]
    axes.set_yticks(list(heights), labels)
    axes.set_ylim(-0.6, len(chosen) - 0.4)
    axes.axvline(whole.estimate, color=INK, linewidth=1.2)
    span = max(*values, whole.estimate) - min(*values, whole.estimate)
    low = max(whole.low, min(values) - 0.6 * span)
    high = min(whole.high, max(values) + 0.6 * span)
    axes.axvspan(low, high, color=PALE, alpha=0.4, zorder=0)
    axes.set_xlim(min(low, min(values)) - 0.05 * span, max(high, max(values)) + 0.05 * span)
    axes.set_xlabel(
        f"gauge's standard deviation{f' ({unit})' if unit else ''}\n"
        "line: all readings; shaded: its confidence interval, as far as shown"
    )
    return figure


def uncertainty_budget(study: UncertaintyStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the standard uncertainties of a budget, those that do not count drawn hollow."""
    rows, unit = study.budget, study.unit
    figure, axes = picture("What makes up the uncertainty?", height=1.3 + 0.3 * len(rows), ax=ax)
    heights = list(range(len(rows) - 1, -1, -1))
    for height, row in zip(heights, rows, strict=True):
        size = row.standard_uncertainty
        axes.plot([0, size], [height, height], color=SOFT, linewidth=1.5)
        face = DEEP if row.counted else "white"
        axes.plot([size], [height], "o", color=DEEP, markerfacecolor=face, markersize=6)
    axes.set_yticks(heights, [plain_text(row.source, 40) for row in rows])
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.set_xlim(0, 1.08 * max(row.standard_uncertainty for row in rows))
    hollow = "" if all(row.counted for row in rows) else "; hollow: held by a larger one"
    axes.set_xlabel(f"standard uncertainty{f' ({unit})' if unit else ''}{hollow}")
    return figure


def risk_by_guard_band(study: ConformityRisk, *, ax: Axes | None = None) -> Picture:
    """Draw wrong verdicts per million against the guard band, on a logarithmic scale."""
    curve, target, band, unit = study.curve, study.risk_target, study.guard_band, study.unit
    figure, axes = picture("What does a guard band buy, and at what cost?", height=3.3, ax=ax)
    x = np.array([row.guard_band for row in curve])
    floor = 1e-3
    rates = {
        name: np.maximum([1e6 * getattr(row, name) for row in curve], floor)
        for name in ("false_accept", "false_reject")
    }
    labels = {"false_accept": "bad parts accepted", "false_reject": "good parts rejected"}
    for index, (name, values) in enumerate(rates.items()):
        axes.plot(
            x,
            values,
            color=DEEP if index == 0 else INK,
            linestyle=LINES[index],
            linewidth=1.8,
            label=labels[name],
        )
    logarithmic(axes, "y")
    top = max(float(v.max()) for v in rates.values())
    # A process far from its limits makes no wrong verdicts that could be drawn above the floor.
    axes.set_ylim(floor if top < 1e6 * target else 1e-2 * 1e6 * target, max(3 * top, 1e7 * target))
    axes.set_xlim(0, float(x[-1]))
    limit_line(axes, 1e6 * target, f"target: {1e6 * target:g}")
    if isinstance(band, Interval) and 0 < band.estimate < x[-1]:
        size = as_given(band.estimate, digits=2)
        reached = f"guard band for the target: {size}{f' {unit}' if unit else ''}"
        axes.axvline(band.estimate, color=INK, linestyle=":", linewidth=1.2, label=reached)
    axes.set_xlabel(with_unit("guard band at each limit", unit))
    axes.set_ylabel("parts per million")
    axes.legend(fontsize=7.5, framealpha=0.85, loc="best")
    return figure


def sizes_on_a_ruler(study: ResolutionStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the step beside the lengths it must separate, on one logarithmic scale."""
    unit = study.unit
    sizes = {"step": study.step, "added by rounding (SD)": study.rounding_sd}
    if study.repeat_sd is not None:
        sizes["repeatability (SD)"] = study.repeat_sd.estimate
    if study.share_of_process:
        sizes["process spread (6 SD)"] = study.step / study.share_of_process
    if study.share_of_tolerance:
        sizes["tolerance"] = study.step / study.share_of_tolerance
    ordered = sorted(sizes.items(), key=lambda item: item[1])
    figure, axes = picture(
        "Is the step small against what it must tell apart?", height=1.3 + 0.3 * len(ordered), ax=ax
    )
    heights = list(range(len(ordered)))
    values = [size for _, size in ordered]
    left = values[0] / 2
    axes.hlines(heights, left, values, color=SOFT, linewidth=1.5)
    axes.plot(values, heights, "o", color=DEEP, markersize=6)
    for height, value in zip(heights, values, strict=True):
        axes.annotate(
            as_given(value, digits=3),
            (value, height),
            xytext=(7, -3),
            textcoords="offset points",
            fontsize="small",
        )
    logarithmic(axes)
    axes.set_xlim(left, values[-1] * 3)
    axes.set_yticks(heights, [name for name, _ in ordered])
    axes.set_ylim(-0.6, len(ordered) - 0.4)
    axes.set_xlabel(f"size{f' ({unit})' if unit else ''}, logarithmic")
    return figure


def performance_curve(study: GaugePerformanceCurve, *, ax: Axes | None = None) -> Picture:
    """Draw the share of judgements that accept, against the measured value, with the fitted curve."""
    from scipy.special import ndtr

    figure, axes = picture("Where do judgements turn, and how sharply?", height=3.2, ax=ax)
    for index, (name, side) in enumerate(study.sides.items()):
        points = study.points[name]
        axes.plot(
            points[:, 0],
            points[:, 1],
            "o",
            color=DEEP if index == 0 else INK,
            markersize=4,
            alpha=0.7,
        )
        best, spread = side.threshold.estimate, side.judgement_sd.estimate
        reach = max(4 * spread, 0.6 * float(np.ptp(points[:, 0])) or spread)
        x = np.linspace(best - reach, best + reach, 200)
        sign = 1.0 if name == "lower" else -1.0
        axes.plot(x, ndtr(sign * (x - best) / spread), color=DEEP, linewidth=1.6)
        axes.axvspan(side.grey_low, side.grey_high, color=PALE, alpha=0.4, zorder=0)
        if side.limit is not None:
            limit_line(axes, side.limit, f"{name} limit", vertical=True)
    axes.set_ylim(-0.05, 1.05)
    axes.yaxis.set_major_formatter(per_cent)
    axes.set_ylabel("accepted")
    axes.set_xlabel(f"measured value{f' ({study.unit})' if study.unit else ''}; shaded: grey zone")
    return figure


def rejects(study: RejectsStudy, *, ax: Axes | None = None) -> Picture:
    """Draw predicted and observed rejects on one logarithmic scale."""
    rows = study.lines
    figure, axes = picture(
        "Were as many parts rejected as predicted?", height=1.5 + 0.34 * len(rows), ax=ax
    )
    least = 0.1
    for index, row in enumerate(rows):
        height = len(rows) - 1 - index
        for name, offset, color, marker in (
            ("predicted", 0.13, DEEP, "o"),
            ("observed", -0.13, SOFT, "D"),
        ):
            value = getattr(row, name)
            if value is None:
                continue
            low, best, high = (
                max(1e6 * end, least) for end in (value.low, value.estimate, value.high)
            )
            axes.plot(
                [low, high],
                [height + offset] * 2,
                color=color,
                linewidth=2.2,
                solid_capstyle="butt",
            )
            axes.plot(
                [best],
                [height + offset],
                marker,
                color=color,
                markersize=5,
                linestyle="none",
            )
    for name, color, marker in (("predicted", DEEP, "o"), ("observed", SOFT, "D")):
        if any(getattr(row, name) is not None for row in rows):
            axes.plot([], [], marker, color=color, markersize=5, label=name, linestyle="none")
    logarithmic(axes)
    axes.set_xlim(left=least)
    axes.set_yticks(
        range(len(rows) - 1, -1, -1), plain_texts((row.characteristic for row in rows), 40)
    )
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.set_xlabel("rejected parts per million, logarithmic; what is below 0.1 is drawn there")
    # Above the frame, where no bar can lie.
    axes.legend(fontsize=8, frameon=False, loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=2)
    return figure


def strength_by_size(study: StrengthAssurance, *, ax: Axes | None = None) -> Picture:
    """Draw strength against size, with the line and what it assures."""
    size_unit = f" ({study.size_unit})" if study.size_unit else ""
    unit = f" ({study.unit})" if study.unit else ""
    figure, axes = picture("Which size assures the strength?", height=3.4, ax=ax)
    axes.plot(study.points[:, 0], study.points[:, 1], "o", color=SOFT, markersize=3.5)
    axes.plot(study.curve[:, 0], study.curve[:, 1], color=DEEP, linewidth=1.4)
    axes.plot(study.curve[:, 0], study.curve[:, 2], color=DEEP, linewidth=1.4, linestyle="--")
    limit_line(axes, study.required, f"required {study.required:g}")
    if isinstance(study.width_limit, float):
        limit_line(
            axes,
            study.width_limit,
            f"assured from {as_given(study.width_limit, digits=4)}",
            vertical=True,
        )
    axes.set_xlabel(
        f"size{size_unit}\ndots: destroyed parts; line: mean; dashed: {100 * study.content:.3g} % lie above "
        f"({100 * study.confidence:.3g} % confidence)"
    )
    axes.set_ylabel(f"strength{unit}")
    return figure


def laboratories(study: LaboratoryStudy, *, ax: Axes | None = None) -> Picture:
    """Draw how far each laboratory's mean lies from the others', part by part."""
    names = study.laboratories
    figure, axes = picture("Does a laboratory stand out?", height=1.5 + 0.3 * len(names), ax=ax)
    out = {(one.part, one.laboratory) for one in study.stragglers if one.kind == "mean"}
    for height, name in enumerate(reversed(names)):
        at = [
            (level.h[name], (level.part, name) in out) for level in study.levels if name in level.h
        ]
        for h, marked in at:
            axes.plot(
                h, height, "D" if marked else "o", color=INK if marked else SOFT, markersize=5
            )
        if at:
            mean = sum(h for h, _ in at) / len(at)
            axes.vlines(mean, height - 0.25, height + 0.25, color=DEEP, linewidth=2)
    axes.axvline(0.0, color=INK, linewidth=0.8)
    axes.set_yticks(range(len(names)), plain_texts(reversed(names), 30))
    axes.set_ylim(-0.6, len(names) - 0.4)
    axes.set_xlabel(
        "Mandel's h: distance of the mean from the others', in standard deviations\n"
        "dot: one part; bar: mean over the parts; diamond: straggler or outlier"
    )
    return figure


def graded_kappa(study: GradedStudy, *, ax: Axes | None = None) -> Picture:
    """Draw the weighted kappa of each appraiser with the reference and with themselves, and of every two."""
    rows: list[tuple[str, object]] = []
    for who in study.appraisers:
        rows.append((f"{who} and the reference", study.kappa_with_reference[who]))
        rows.append((f"{who}, trial with trial", study.kappa_within[who]))
    rows += list(study.kappa_pairs.items())
    known = [(name, value) for name, value in rows if isinstance(value, Interval)]
    figure, axes = picture(
        "How well do graded judgements agree?", height=1.3 + 0.28 * len(known), ax=ax
    )
    interval_bars(axes, [name for name, _ in known], [value for _, value in known])
    lowest = min((value.low for _, value in known), default=0.0)
    axes.set_xlim(min(0.0, lowest) - 0.02, 1.02)
    axes.set_xlabel(f"weighted kappa, {study.weights} weights (bar: confidence interval)")
    return figure


def own_thresholds(study: OwnThresholds, *, ax: Axes | None = None) -> Picture:
    """Draw where each appraiser's judgements turn, and the limit."""
    rows = [
        (who if len(study.sides) == 1 else f"{who}, {name} limit", one)
        for name, side in study.sides.items()
        for who, one in [*side.appraisers.items(), ("all together", side.together)]
    ]
    figure, axes = picture(
        "At what size does each appraiser turn?", height=1.4 + 0.32 * len(rows), ax=ax
    )
    interval_bars(axes, [name for name, _ in rows], [one.threshold for _, one in rows])
    for name, side in study.sides.items():
        limit_line(axes, side.together.limit, f"{name} limit", vertical=True)
    unit = f" ({study.unit})" if study.unit else ""
    axes.set_xlabel(f"threshold{unit} (bar: confidence interval)")
    return figure


def systems(study: SystemComparison, *, ax: Axes | None = None) -> Picture:
    """Draw the standard deviation of each measuring system, repeatability and whole."""
    names = list(study.systems)
    figure, axes = picture(
        "Do the measuring systems spread alike?", height=1.5 + 0.42 * len(names), ax=ax
    )
    for index, (label, field) in enumerate((("EV", "repeatability_sd"), ("GRR", "grr_sd"))):
        found = [getattr(study.systems[name], field) for name in names]
        bars = [value if isinstance(value, Interval) else None for value in found]
        color, marker = (DEEP, "o") if index == 0 else (INK, "s")
        offset = 0.12 - 0.24 * index
        interval_bars(axes, names, bars, color=color, marker=marker, offset=offset)
        axes.plot([], [], marker=marker, color=color, label=label)
    best = [one.grr_sd for one in study.systems.values() if isinstance(one.grr_sd, Interval)]
    reach = 3 * max((one.estimate for one in best), default=0.0)
    axes.set_xlim(0, min(max((one.high for one in best), default=1.0), reach or 1.0) * 1.05)
    axes.set_xlabel(with_unit("standard deviation", study.unit) + "; bar: confidence interval")
    axes.legend(frameon=False, fontsize=8, loc="best")
    return figure


def destructive_spreads(study: DestructiveGrr, *, ax: Axes | None = None) -> Picture:
    """Draw the spread of testers, batches and the rest, and between which bounds GRR lies."""
    labels = ["testers (AV)", "batches", "specimen and test"]
    bars: list[Interval | None] = [study.tester_sd, study.batch_sd, study.within_sd]
    if isinstance(study.grr_sd, Interval):
        labels, bars = [*labels, "GRR"], [*bars, study.grr_sd]
    figure, axes = picture(
        "What can the destructive test be held to?", height=1.6 + 0.34 * len(labels), ax=ax
    )
    interval_bars(axes, labels, bars)
    axes.axvspan(study.grr_least, study.grr_most, color=PALE, alpha=0.5, zorder=0)
    best = [bar.estimate for bar in bars if bar is not None]
    ends = [bar.high for bar in bars if bar is not None]
    axes.set_xlim(0, 1.05 * max(min(max(ends), 3 * max(best)), study.grr_most))
    label = with_unit("standard deviation", study.unit)
    axes.set_xlabel(f"{label}; shaded: where GRR lies")
    return figure
