"""Pictures of the room plan."""

from __future__ import annotations

from typing import Any

from linestudy.figures.style import DEEP, MARKERS, Picture, limit_line, picture


def chance_of_success(study: Any) -> Picture:
    """Chance that a sample of a given size shows the index.

    Parameters
    ----------
    study : SampleSize

    Returns
    -------
    Picture
    """
    figure, axes = picture("How many parts does it take?", height=2.8)
    sizes, chances = zip(*study.chances, strict=True)
    axes.plot(sizes, chances, color=DEEP, linewidth=1.2, marker=MARKERS[0], markersize=4)
    limit_line(axes, study.power, f"wished chance {study.power:.0%}")
    limit_line(axes, float(study.n), f"{study.n:,} parts", vertical=True)
    axes.set_xscale("log")
    ticks = [n for n in sizes if n not in (125,)]
    axes.set_xticks(ticks, [f"{n:,}" for n in ticks])
    axes.minorticks_off()
    axes.set_ylim(0, 1.05)
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:.0%}")
    axes.set_xlabel("independent parts")
    axes.set_ylabel("chance to show it")
    return figure
