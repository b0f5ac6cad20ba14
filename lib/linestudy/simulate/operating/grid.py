"""How reliable a decision is: shares of "meets" over many simulated studies of known truth.

A cell is one process at one number of readings. Every simulated study is described once and judged at
every true index by moving its limits (nothing else about it would change), on the estimate and on the
lower bound. Each study has a seed of its own, made of the cell's name and its number, so a cell that
was stopped goes on where it stopped and a cell twice as long begins with the shorter one.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path

from linestudy.numerics import generator
from linestudy.results import Absent, CannotJudge, Interval
from linestudy.simulate.operating.truth import Truth
from linestudy.verdict.criteria import resolve
from linestudy.verdict.decisions import judge
from linestudy.verdict.measurement_facts import GaugeFacts
from linestudy.verdict.process.description import describe
from linestudy.verdict.rulings import MEETS, NONE, SUPPORTS

#: True indices at which every study is judged; 1.67 is asked.
INDICES = (1.20, 1.33, 1.50, 1.67, 1.80, 2.00, 2.33)
_SIZE = 5_000


@dataclass
class Cell:
    """Counts of one process at one number of readings.

    Attributes
    ----------
    truth : str
    n, runs : int
    meets_estimate, meets_bound : list of int
        Studies that end with "meets", by true index.
    index_estimate, index_bound : list of int
        Studies whose index alone is above what is asked.
    fails : list of int
        Studies that end with "does not meet", on the estimate.
    objected : list of int
        Studies that some rule but the index objects to, by true index.
    covered : int
        Studies whose lower bound lies below a true index of 1.67.
    not_in_control : int
    refused : int
        Studies that could not be judged at all.
    sum_log, sum_square, sum_width : float
        Of the logarithm of estimate over truth, its square, and of estimate over bound.
    by_rule : dict of str to int
        Objections at a true index of 2.00.
    """

    truth: str
    n: int
    runs: int = 0
    meets_estimate: list[int] = field(default_factory=lambda: [0] * len(INDICES))
    meets_bound: list[int] = field(default_factory=lambda: [0] * len(INDICES))
    index_estimate: list[int] = field(default_factory=lambda: [0] * len(INDICES))
    index_bound: list[int] = field(default_factory=lambda: [0] * len(INDICES))
    fails: list[int] = field(default_factory=lambda: [0] * len(INDICES))
    objected: list[int] = field(default_factory=lambda: [0] * len(INDICES))
    covered: int = 0
    not_in_control: int = 0
    refused: int = 0
    sum_log: float = 0.0
    sum_square: float = 0.0
    sum_width: float = 0.0
    by_rule: dict[str, int] = field(default_factory=dict)


def adequate_gauge(width: float) -> GaugeFacts:
    """Return the facts of a gauge that meets every criterion.

    Parameters
    ----------
    width : float
        Of the tolerance.

    Returns
    -------
    GaugeFacts
    """
    small = 0.01 * width

    def known(value: float, half: float, confidence: float = 0.95) -> Interval:
        return Interval(value, value - half, value + half, confidence, "simulated")

    return GaugeFacts(
        name="the gauge",
        share=known(0.05, 0.01),
        ndc=known(20.0, 4.0),
        bias={"the upper limit": known(0.0, small, 0.90)},
        width=width,
        drift=known(0.0, small, 0.90),
        q_ms=known(0.05, 0.01),
        q_mp=known(0.08, 0.01),
        step_share=0.01,
    )


def simulate_cell(truth: Truth, n: int, runs: int, cell: Cell | None = None) -> Cell:
    """Simulate studies of a process until the cell holds `runs` of them.

    Parameters
    ----------
    truth : Truth
    n : int
        Readings of each study.
    runs : int
    cell : Cell, optional
        What was simulated before; it is continued.

    Returns
    -------
    Cell
    """
    import math

    from linestudy.study.model import Criteria as StudyCriteria

    cell = cell or Cell(truth.name, n)
    on_estimate = resolve()
    on_bound = resolve(StudyCriteria(decide_capability_on="lower bound"))
    asked = on_estimate["capability_accept"].number
    while cell.runs < runs:
        rng = generator(_SIZE, truth.name, str(n), str(cell.runs))
        values, tags = truth.study(rng, n)
        cell.runs += 1
        try:
            process = describe(values, tags, bound=truth.bound, seed=1)
        except CannotJudge:
            cell.refused += 1
            continue
        for at, index in enumerate(INDICES):
            lower, upper = truth.limits(index)
            gauge = adequate_gauge(upper - (lower or 0.0))
            found = judge(process, gauge, on_estimate, lower=lower, upper=upper)
            strict = judge(process, gauge, on_bound, lower=lower, upper=upper)
            cell.meets_estimate[at] += found.decision == MEETS
            cell.meets_bound[at] += strict.decision == MEETS
            cell.fails[at] += found.decision == "does not meet"
            known = found.facts.index
            if not isinstance(known, Absent):
                cell.index_estimate[at] += known.estimate > asked
                cell.index_bound[at] += known.bound > asked
            against = [
                r.rule
                for r in found.rulings
                if r.rule != "index" and r.effect not in (SUPPORTS, NONE)
            ]
            cell.objected[at] += bool(against)
            if index == 2.00:
                for name in against:
                    cell.by_rule[name] = cell.by_rule.get(name, 0) + 1
            # Readings that end where a limit lies are taken for those of sorted parts, once in some hundred studies of a walk.
            if index == asked and not isinstance(known, Absent):
                cell.covered += known.bound < index
                ratio = math.log(max(known.estimate, 1e-9) / index)
                cell.sum_log += ratio
                cell.sum_square += ratio * ratio
                cell.sum_width += math.log(max(known.estimate, 1e-9) / max(known.bound, 1e-9))
        alpha = on_estimate["stability_alpha"].number
        cell.not_in_control += process.steady.p < alpha and process.steady.matters
    return cell


def run_grid(
    truths: dict[str, Truth], sizes: dict[int, int], folder: Path, seconds: float | None = None
) -> list[Cell]:
    """Simulate every cell, keeping each in a file of its own.

    Parameters
    ----------
    truths : dict of str to Truth
    sizes : dict of int to int
        Readings of a study → studies of each process.
    folder : pathlib.Path
        Where cells are kept; those found there are continued.
    seconds : float, optional
        Stop beginning cells after so long.

    Returns
    -------
    list of Cell
    """
    import time

    begin = time.monotonic()
    folder.mkdir(parents=True, exist_ok=True)
    done = []
    for n, runs in sizes.items():
        for number, truth in enumerate(truths.values()):
            file = folder / f"{n}_{number:02d}.json"
            cell = _kept(file, truth, n)
            while cell.runs < runs and (seconds is None or time.monotonic() - begin < seconds):
                cell = simulate_cell(truth, n, min(cell.runs + 25, runs), cell)
                file.write_text(json.dumps(cell.__dict__))
            done.append(cell)
    return done


def _kept(file: Path, truth: Truth, n: int) -> Cell:
    if file.is_file():
        kept = Cell(**json.loads(file.read_text()))
        if kept.truth == truth.name and kept.n == n:
            return kept
    return Cell(truth.name, n)
