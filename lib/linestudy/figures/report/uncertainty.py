"""Measurement uncertainty on paper: what makes it up, and what a reading proves near the limits."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes

from linestudy.figures.style import DEEP, INK, LINES, PALE, SMALL, SOFT, panels, plain_text
from linestudy.results.picture import Picture
from linestudy.results.rounding import as_given

if TYPE_CHECKING:
    from linestudy.gauges.budget.expanded_finding import UncertaintyStudy

#: Rows of the right half: what a reading proves, and where the readings of the run lie.
_PROOF, _RUN = 1.0, 0.0
#: Most contributions drawn; smaller ones are left to the table.
_MOST_LINES = 8


def budget_and_zones(
    study: UncertaintyStudy,
    *,
    lower: float | None,
    upper: float | None,
    run: tuple[float, float] | None = None,
) -> Picture:
    """Draw the contributions to the uncertainty and, on the scale of the tolerance, what a reading proves.

    Parameters
    ----------
    study : UncertaintyStudy
    lower, upper : float or None
        Tolerance limits.
    run : (float, float), optional
        Smallest and largest reading of the run.

    Returns
    -------
    Picture
    """
    rows = study.budget[:_MOST_LINES]
    figure, (left, right) = panels(
        height=0.62 + 0.155 * max(len(rows), 4), columns=2, width_ratios=(1.0, 1.25)
    )
    for at, row in enumerate(reversed(rows)):
        face = DEEP if row.counted else "white"
        left.barh(
            at, row.standard_uncertainty, height=0.55, color=face, edgecolor=DEEP, linewidth=0.7
        )
    left.set_yticks(range(len(rows)), [plain_text(row.source, 30) for row in reversed(rows)])
    left.set_xlim(left=0)
    left.locator_params(axis="x", nbins=4)
    unit = f" ({study.unit})" if study.unit else ""
    left.set_xlabel(f"standard uncertainty{unit}")
    _zones(right, study, lower, upper, run)
    right.set_xlabel(f"reading{unit}")
    return figure


def _zones(
    axes: Axes,
    study: UncertaintyStudy,
    lower: float | None,
    upper: float | None,
    run: tuple[float, float] | None,
) -> None:
    """Draw one bar from end to end: proves nonconformity, proves nothing, proves conformity."""
    known = [v for v in (lower, upper, *study.rejection, *(run or ())) if v is not None]
    width = max(known) - min(known) or max(abs(known[0]), 1.0)
    begin, end = min(known) - 0.08 * width, max(known) + 0.08 * width
    low_out, high_out = (
        end_ if value is None else value
        for value, end_ in zip(study.rejection, (begin, end), strict=True)
    )
    low_in, high_in = (
        end_ if value is None else value
        for value, end_ in zip(study.acceptance, (begin, end), strict=True)
    )

    def bar(first: float, last: float, face: str) -> None:
        axes.barh(
            _PROOF,
            max(last - first, 0.0),
            left=first,
            height=0.5,
            color=face,
            edgecolor=INK,
            linewidth=0.5,
        )

    bar(begin, low_out, SOFT)
    bar(high_out, end, SOFT)
    bar(low_out, high_out, "white")
    bar(low_in, high_in, PALE)
    if low_in < high_in:
        axes.text(
            (max(low_in, begin) + min(high_in, end)) / 2,
            _PROOF,
            "conforms",
            ha="center",
            va="center",
            fontsize=SMALL,
            color=INK,
        )
    if run is not None:
        axes.plot(run, [_RUN, _RUN], color=DEEP, linewidth=2.2, solid_capstyle="butt")
    for value, name in ((lower, "LSL"), (upper, "USL")):
        if value is not None and np.isfinite(value):
            axes.axvline(value, color=INK, linewidth=0.8, linestyle=LINES[1], zorder=3)
            axes.annotate(
                f"{name} {as_given(value)}",
                (value, 1.0),
                xycoords=("data", "axes fraction"),
                xytext=(0, 1),
                textcoords="offset points",
                ha="center",
                va="bottom",
                fontsize=SMALL,
                color=INK,
            )
    names = ["a reading proves", "readings of the run"]
    axes.set_yticks([_PROOF, _RUN] if run else [_PROOF], names if run else names[:1])
    axes.set_ylim(-0.5 if run else 0.5, 1.5)
    axes.set_xlim(begin, end)
    axes.locator_params(axis="x", nbins=5)
