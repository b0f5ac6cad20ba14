"""Labs about what a record keeps and loses: the order of its rows, the wear of a tool, the step of its readings."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from linestudy.numerics import generator
from linestudy.simulate.labs.experiment import Experiment

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture

_SUBGROUPS, _SIZE = 50, 5
_REACH = (-6.5, 6.5)


def rows_in_another_order(order: str = "as made", serial: float = 0.9, seed: int = 1) -> Experiment:
    """Show what sorting or shuffling the same readings hides.

    Parameters
    ----------
    order : {"as made", "shuffled", "sorted"}
        What somebody did to the rows before they were numbered anew.
    serial : float
        Correlation of a part with the next, as made.
    seed : int
        Every draw derives from it.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Examples
    --------
    >>> made, shuffled = (rows_in_another_order(o).numbers for o in ("as made", "shuffled"))
    >>> made["out of control"] > 10 > shuffled["out of control"]
    True
    """
    from linestudy.simulate.process import Process

    n = _SUBGROUPS * _SIZE
    values = Process(0.0, 1.0, serial=serial).draw(
        generator(seed, "lab", "order"), np.arange(1, n + 1)
    )
    if order == "shuffled":
        values = generator(seed, "lab", "shuffle").permutation(values)
    elif order == "sorted":
        values = np.sort(values)
    groups = values.reshape(_SUBGROUPS, _SIZE)
    limit = 3 * float(np.sqrt(groups.var(axis=1, ddof=1).mean())) / math.sqrt(_SIZE)
    means = groups.mean(axis=1) - values.mean()
    out = np.abs(means) > limit
    neighbours = float(np.corrcoef(values[1:], values[:-1])[0, 1])
    sd = float(values.std(ddof=1))

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import run_with_limits

        return run_with_limits(
            "What does the order of the rows show?", means, out, {"UCL": limit, "LCL": -limit}, _REACH, ax=ax
        )  # fmt: skip

    return Experiment(
        f"Rows {order}: neighbours correlate by {neighbours:.2f} and {int(out.sum())} of {_SUBGROUPS} points are out of "
        f"control. The standard deviation of all values is {sd:.2f} in any order, and so is every index from it.",
        {"correlation": neighbours, "out of control": float(out.sum()), "sd": sd},
        (
            ("correlation of neighbours", f"{neighbours:.2f}"),
            ("points out of control", f"{int(out.sum())} of {_SUBGROUPS}"),
            ("SD of all values", f"{sd:.2f}"),
        ),
        draw=draw,
    )


def wear_against_signals(
    wear: float = 4.0, limits: str = "about a level", seed: int = 1
) -> Experiment:
    """Chart a tool that wears, with limits about a level and about its trend.

    Parameters
    ----------
    wear : float
        Over the run, in standard deviations of the parts.
    limits : {"about a level", "about the trend"}
        What the chart's limits are drawn about.
    seed : int
        Every draw derives from it.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Examples
    --------
    >>> level, trend = (wear_against_signals(4.0, x).numbers for x in ("about a level", "about the trend"))
    >>> level["out of control"] > 10 > trend["out of control"]
    True
    """
    groups = generator(seed, "lab", "wear").standard_normal((_SUBGROUPS, _SIZE))
    time = np.linspace(-0.5, 0.5, _SUBGROUPS)
    groups += wear * time[:, None]
    limit = 3 * float(np.sqrt(groups.var(axis=1, ddof=1).mean())) / math.sqrt(_SIZE)
    means = groups.mean(axis=1)
    slope = float(np.polyfit(time, means, 1)[0])
    shown = means - means.mean() - (slope * time if limits == "about the trend" else 0.0)
    out = np.abs(shown) > limit
    overall = math.sqrt(1 + wear**2 / 12)

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import run_with_limits

        return run_with_limits(
            "Is wear a special cause?", shown, out, {"UCL": limit, "LCL": -limit}, _REACH, ax=ax
        )

    return Experiment(
        f"The tool wears by {wear:.1f} standard deviations. With limits {limits} {int(out.sum())} of {_SUBGROUPS} points are out "
        f"of control. Over the tool's life parts scatter {overall:.2f} times as much as at one moment.",
        {"out of control": float(out.sum()), "overall": overall, "slope": slope},
        (
            ("points out of control", f"{int(out.sum())} of {_SUBGROUPS}"),
            ("SD over the tool's life, over that at one moment", f"{overall:.2f}"),
            ("what an index of 2.00 at one moment is over the life", f"{2 / overall:.2f}"),
        ),
        draw=draw,
    )


def steps_of_the_gauge(step: float = 1.0, n: int = 250, seed: int = 1) -> Experiment:
    """Show what rounding readings to a step hides and what it adds.

    Parameters
    ----------
    step : float
        Of the reading, in standard deviations of the process.
    n : int
        Parts.
    seed : int
        Every draw derives from it.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Notes
    -----
    Rounding adds ``step² / 12`` to the variance as long as the step is small against the spread (W. F. Sheppard,
    *Proceedings of the London Mathematical Society* 29 (1898), 353-380).

    Examples
    --------
    >>> fine, coarse = (steps_of_the_gauge(x).numbers["values"] for x in (0.1, 2.0))
    >>> coarse < 6 < fine
    True
    """
    true = 0.3 + generator(seed, "lab", "steps").standard_normal(n)
    read = np.round(true / step) * step
    values = int(np.unique(read).size)
    groups = read[: n - n % _SIZE].reshape(-1, _SIZE)
    alike = float(np.mean(np.ptp(groups, axis=1) == 0))
    sheppard = math.sqrt(1 + step**2 / 12)

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import two_groups

        return two_groups(
            "What does the step of a gauge hide?", {"as made": true, "as read": read}, {},
            "standard deviations of the process", step=step, ax=ax,
        )  # fmt: skip

    return Experiment(
        f"Read in steps of {step:.2f} standard deviations, {n} parts show {values} different values; in {alike:.0%} of subgroups "
        f"of five all readings are equal. Rounding adds to the spread: {read.std(ddof=1) / true.std(ddof=1):.2f} times as large.",
        {"values": float(values), "alike": alike, "ratio": float(read.std() / true.std()), "sheppard": sheppard},
        (
            ("different values", f"{values}"),
            ("subgroups of five equal readings", f"{alike:.0%}"),
            ("SD as read, over that as made", f"{read.std(ddof=1) / true.std(ddof=1):.2f}"),
            ("the same by theory, while the step is small", f"{sheppard:.2f}"),
        ),
        draw=draw,
    )  # fmt: skip


def range_against_s(size: int = 5, seed: int = 1) -> Experiment:
    """Compare the efficiency of a subgroup's range with that of its standard deviation.

    Parameters
    ----------
    size : int
        Parts in a subgroup.
    seed : int
        Not used: the numbers are exact.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Notes
    -----
    Both estimate the SD of normal parts without bias, as R / d2 and s / c4; the efficiency is the variance of the second over
    that of the first (L. H. C. Tippett, *Biometrika* 17 (1925), for the range).

    Examples
    --------
    >>> [round(range_against_s(n).numbers["efficiency"], 2) for n in (2, 5, 10)]
    [1.0, 0.95, 0.85]
    """
    from linestudy.numerics.normal_constants import c4, d2, d3

    def efficiency(n: int) -> float:
        return (1 - c4(n) ** 2) / c4(n) ** 2 / (d3(n) / d2(n)) ** 2

    sizes = np.arange(2, 26)
    heights = np.array([efficiency(int(n)) for n in sizes])
    found = efficiency(size)

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import curves

        return curves(
            "What does the range leave unused?", sizes.astype(float),
            {"efficiency of the range": heights}, float(size),
            ("parts in a subgroup", "share of the information used"), (0.0, 1.05), ax=ax,
        )  # fmt: skip

    return Experiment(
        f"Of subgroups of {size} the range uses {found:.1%} of what the standard deviation uses: {100 / found:.0f} subgroups by range "
        "estimate the spread as well as 100 by SD.",
        {"efficiency": found, "d2": d2(size), "d3": d3(size), "c4": c4(size)},
        (
            ("efficiency of the range", f"{found:.1%}"),
            ("subgroups by range for 100 by SD", f"{100 / found:.0f}"),
            ("d2, by which ranges are divided", f"{d2(size):.3f}"),
            ("c4, by which SDs are divided", f"{c4(size):.4f}"),
        ),
        draw=draw,
    )
