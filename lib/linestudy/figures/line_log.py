"""Picture of a line log: what each day and stream made, one row for each characteristic."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.figures.style import MARKERS, SERIES, WIDE, limit_line, panels, plain_text
from linestudy.results.picture import Picture
from linestudy.results.rounding import with_unit

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    #: What was made, tolerance limits, control limits by stream, unit.
    Made = tuple[
        pd.DataFrame,
        tuple[float | None, float | None],
        Mapping[str, tuple[float, float]],
        str,
    ]


def days_and_streams(made: Mapping[str, Made]) -> Picture:
    """Draw the mean of each group with three standard deviations on either side, between the limits.

    Parameters
    ----------
    made : mapping of str to tuple
        By characteristic: the table of days, coils and streams; lower and upper tolerance limit; control limits of subgroup means by
        stream; and the unit.

    Returns
    -------
    Picture
    """
    figure, axes = panels(height=0.3 + 2.0 * max(len(made), 1), rows=max(len(made), 1))
    for (name, (table, tolerance, control, unit)), one in zip(made.items(), axes, strict=False):
        _row(one, table, tolerance, control)
        one.set_ylabel(with_unit(plain_text(name, 40), unit))
    axes[-1].set_xlabel(
        "day; dot: mean of a coil in a stream, bar: three standard deviations, tinted: control limits of the study"
    )
    figure.set_size_inches(WIDE, figure.get_size_inches()[1])
    figure.alt_text = (
        "Mean and spread of each day, coil and stream between tolerance and control limits."
    )
    return figure


def _row(
    axes: Axes,
    table: pd.DataFrame,
    tolerance: tuple[float | None, float | None],
    control: Mapping[str, tuple[float, float]],
) -> None:
    streams: list[Any] = sorted(table["stream"].dropna().unique()) if "stream" in table else [""]
    # Groups of one day stand side by side, coils in their order.
    within = table.groupby("day").cumcount()
    size = table.groupby("day")["day"].transform("size")
    x = (table["day"] - 0.4 + 0.8 * (within + 0.5) / size).to_numpy(dtype=float)
    for at, stream in enumerate(streams):
        here = (table["stream"] == stream).to_numpy() if stream != "" else np.ones(len(table), bool)
        color, marker = SERIES[at % len(SERIES)], MARKERS[at % len(MARKERS)]
        mean, reach = table["mean"].to_numpy()[here], 3 * table["SD"].to_numpy()[here]
        axes.vlines(x[here], mean - reach, mean + reach, color=color, linewidth=1.0, alpha=0.6)
        axes.plot(
            x[here], mean, marker, color=color, markersize=3.5, label=plain_text(str(stream), 20)
        )
        limits = control.get(str(stream), control.get(""))
        if limits is not None:
            axes.axhspan(*limits, color=color, alpha=0.1, linewidth=0)
    limit_line(axes, tolerance[0], "lower limit")
    limit_line(axes, tolerance[1], "upper limit")
    days = np.unique(table["day"].to_numpy(dtype=int))
    shown = days[:: max(1, days.size // 16)]
    axes.set_xticks(shown, [str(day) for day in shown])
    if streams != [""]:
        axes.legend(frameon=False, fontsize=7, ncols=len(streams), loc="upper left")
