"""Pictures of the package plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matplotlib.axes import Axes

from linestudy.figures.style import DEEP, MARKERS, PALE, SOFT, limit_line, per_cent, picture
from linestudy.results.picture import Picture

if TYPE_CHECKING:
    from linestudy.plan.equivalence_sizes import EquivalenceSize
    from linestudy.plan.gauge_sizes import Design, GaugeStudySize
    from linestudy.plan.graded_sizes import GradedStudySize
    from linestudy.plan.judgement_sizes import JudgementStudySize
    from linestudy.plan.lot_sizes import LotDesign, LotStudySize
    from linestudy.plan.sizes import SampleSize
    from linestudy.plan.widths import IntervalSize


def chance_of_success(
    study: SampleSize | JudgementStudySize | GradedStudySize | EquivalenceSize,
    *,
    ax: Axes | None = None,
) -> Picture:
    """Draw the chance that a sample of a given size shows what it is meant to show."""
    figure, axes = picture("How many parts does it take?", height=2.8, ax=ax)
    sizes = [one.n for one in study.chances]
    chances = [one.chance for one in study.chances]
    shares = [getattr(one, "found", None) for one in study.chances]
    found = [share for share in shares if share is not None]
    if len(found) == len(sizes):
        axes.plot(
            sizes, found, color=DEEP, linewidth=1.2, marker=MARKERS[0], markersize=4,
            label="the verdict finds the distribution",
        )  # fmt: skip
        axes.plot(
            sizes, chances, color=SOFT, linewidth=1.2, linestyle="--", marker=MARKERS[1], markersize=4,
            label="known to be normal",
        )  # fmt: skip
        axes.legend(loc="upper left", frameon=False, fontsize=8)
    else:
        axes.plot(sizes, chances, color=DEEP, linewidth=1.2, marker=MARKERS[0], markersize=4)
    limit_line(axes, study.power, f"power {per_cent(study.power)}")
    limit_line(axes, float(study.n), f"{study.n:,} parts", vertical=True)
    axes.set_xscale("log")
    # The size that is needed has its own line; other sizes between round ones would write over each other.
    ticks = [n for n in sizes if len(str(n).rstrip("0")) == 1]
    axes.set_xticks(ticks, [f"{n:,}" for n in ticks])
    axes.minorticks_off()
    # Above the curves there is space for names and legend.
    axes.set_ylim(0, 1.45)
    axes.set_yticks([0, 0.2, 0.4, 0.6, 0.8, 1.0])
    axes.yaxis.set_major_formatter(per_cent)
    axes.set_xlabel("parts")
    axes.set_ylabel("chance to show it")
    return figure


def narrowing(study: IntervalSize, *, ax: Axes | None = None) -> Picture:
    """Draw the interval of an index for growing samples."""
    figure, axes = picture("How narrow does the interval become?", height=2.8, ax=ax)
    for one in study.widths:
        n = one.n
        axes.plot([n, n], [one.index.low, one.index.high], color=DEEP, linewidth=2.2, alpha=0.75)
        axes.plot(n, study.index, MARKERS[0], color=DEEP, markersize=4)
    limit_line(axes, float(study.n), f"{study.n:,} parts", vertical=True)
    axes.set_xscale("log")
    ticks = [one.n for one in study.widths if one.n not in (125,)]
    axes.set_xticks(ticks, [f"{n:,}" for n in ticks])
    axes.minorticks_off()
    axes.set_xlabel("independent parts")
    axes.set_ylabel("index and its interval")
    return figure


def chance_of_designs(study: GaugeStudySize | LotStudySize, *, ax: Axes | None = None) -> Picture:
    """Draw the chance that each design of a study shows what it is meant to show."""
    figure, axes = picture("Which study is large enough?", height=3.0, ax=ax)
    rows: list[Design | LotDesign] = sorted(study.designs, key=lambda item: item.readings)
    for height, item in enumerate(rows):
        # Of lots, the chance where the verdict finds the distribution, unless it is known.
        found = getattr(item, "found", None)
        chance = item.chance if found is None else found
        axes.plot([0, chance], [height, height], color=PALE, linewidth=2, zorder=1)
        axes.plot(chance, height, MARKERS[0], color=DEEP, markersize=5)
    axes.set_yticks(range(len(rows)), [item.label for item in rows])
    limit_line(axes, study.power, f"power {per_cent(study.power)}", vertical=True)
    axes.set_xlim(0, 1.02)
    axes.xaxis.set_major_formatter(per_cent)
    axes.set_xlabel("chance to show it")
    axes.set_ylabel("design = readings")
    return figure
