"""Sorted parts of processes of known truth: how often the sorting is seen, and what is said of the process before it.

Limits are set where the process before sorting has the wanted index, parts beyond them are taken out, and the rest is
judged three ways: untold, as a folder that does not say so; with the count of the rejected; and without it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linestudy.capability.sorting.recognition import truncation_points
from linestudy.capability.sorting.truncation import truncated_capability
from linestudy.numerics import generator
from linestudy.results import CannotJudge
from linestudy.simulate.operating.grid import adequate_gauge
from linestudy.simulate.operating.truth import Truth
from linestudy.verdict.criteria import resolve
from linestudy.verdict.decisions import decide
from linestudy.verdict.rulings import MEETS

_SEED = 21_000


@dataclass
class SortedCell:
    """Counts of the sorted parts of one process.

    Attributes
    ----------
    truth : str
    n : int
        Parts made.
    index : float
        Of the process before sorting.
    step : float
        Of the readings, in standard deviations of the process; 0 for none.
    runs : int
    recognised : int
        Studies whose readings show the cut at every limit that took something out.
    meets : int
        Studies that end with "meets" where the sorting is not declared.
    claimed, covered, uncounted_claimed, uncounted_covered : int
        Intervals given, and those that hold the index, with and without the count of the rejected.
    width, uncounted_width : float
        Sum of the logarithm of the upper over the lower end, of the intervals given.
    error : float
        Sum of the logarithm of the estimate over the truth, with the count.
    """

    truth: str
    n: int
    index: float
    step: float = 0.0
    runs: int = 0
    recognised: int = 0
    meets: int = 0
    claimed: int = 0
    covered: int = 0
    uncounted_claimed: int = 0
    uncounted_covered: int = 0
    width: float = 0.0
    uncounted_width: float = 0.0
    error: float = 0.0


def simulate_sorted(truth: Truth, cell: SortedCell, runs: int) -> SortedCell:
    """Simulate studies of sorted parts until the cell holds `runs` of them.

    Parameters
    ----------
    truth : Truth
    cell : SortedCell
        What was simulated before; it is continued.
    runs : int

    Returns
    -------
    SortedCell
    """
    from dataclasses import replace

    lower, upper = truth.limits(cell.index)
    low, _, high = truth.quantiles
    step = cell.step * (high - low) / 6
    while cell.runs < runs:
        name = f"{truth.name} {cell.n} {cell.index} {cell.step}"
        rng = generator(_SEED, name, str(cell.runs))
        made, tags = truth.study(rng, cell.n)
        seen = np.round(made / step) * step if step else made
        keep = (seen <= upper) & (seen >= (-np.inf if lower is None else lower))
        kept, gone = seen[keep], int((~keep).sum())
        cut = truncation_points(kept, lower, upper, bound=truth.bound)
        wanted = {"upper"} if lower is None else {"lower", "upper"}
        cell.recognised += set(cut) == wanted
        own_tags = replace(tags, order=tags.orders(seen.size)[keep], subgroup=None)
        try:
            found = decide(
                kept,
                own_tags,
                adequate_gauge(upper - (lower or 0.0)),
                resolve(),
                lower=lower,
                upper=upper,
                bound=truth.bound,
                seed=1,
            )
            cell.meets += found.decision == MEETS
        except CannotJudge:
            pass
        _judge(cell, kept, (lower, upper, truth.bound), gone)
        cell.runs += 1
    return cell


def _judge(cell: SortedCell, kept: Any, limits: Any, gone: int) -> None:
    lower, upper, bound = limits
    for rejected, prefix in ((gone, ""), (None, "uncounted_")):
        try:
            found = truncated_capability(kept, lower, upper, rejected_count=rejected, bound=bound)
        except CannotJudge:
            continue
        ppk = found.Ppk
        for name, value in (
            ("claimed", 1),
            ("covered", int(ppk.low <= cell.index <= ppk.high)),
            ("width", float(np.log(ppk.high / ppk.low))),
        ):
            setattr(cell, prefix + name, getattr(cell, prefix + name) + value)
        if rejected is not None:
            cell.error += float(np.log(ppk.estimate / cell.index))
