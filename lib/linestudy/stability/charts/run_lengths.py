"""Run length of a set of rules: how many points until the first signal, at rest and after a shift.

Model: independent normal points, centre and standard error known. Rules that depend on zones only
are followed exactly by a Markov chain whose states remember which earlier points can still
matter (Champ & Woodall, *Technometrics* 29 (1987), 393-399); trends and alternations are
simulated. Misleads where points correlate or where limits come from few subgroups: signals then
come sooner than computed. A shift is there from the first point on (zero-state run length).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.numerics import generator
from linestudy.results import CannotJudge, Finding, Interval, show
from linestudy.results.declared import Declaration
from linestudy.stability.charts.rules import Rule, chosen, complete_at

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class RunLengthStudy(Finding):
    """Mean run length of a set of rules over shifts of the mean.

    Attributes
    ----------
    rules : tuple of str
    n : int
        Subgroup size.
    shifts : tuple of float
        In standard deviations of single values.
    mean : tuple of Interval or float
        Mean number of points to the signal, by shift; an interval where simulated.
    median : tuple of float
        Half of the runs are shorter.
    method : str
        ``"Markov chain"`` or ``"simulation"``.
    """

    rules: tuple[str, ...]
    n: int
    shifts: tuple[float, ...]
    mean: tuple[Interval | float, ...]
    median: tuple[float, ...]
    method: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Run length of the rules"
    picture: ClassVar[str] = "stability:run_lengths"

    @property
    def statement(self) -> str:
        first = _number(self.mean[0])
        text = (
            f"With the rules {', '.join(self.rules)} and subgroups of {self.n}, a process at rest "
            f"gives a false signal every {first:,.0f} points on average"
            if self.shifts[0] == 0
            else f"With the rules {', '.join(self.rules)} and subgroups of {self.n}, a shift of "
            f"{self.shifts[0]:g} standard deviations is found after {first:,.1f} points on average"
        )
        if len(self.shifts) > 1:
            text += (
                f"; a shift of {self.shifts[-1]:g} standard deviations is found after "
                f"{_number(self.mean[-1]):,.1f}"
            )
        return f"{text} ({self.method})."

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        return pd.DataFrame(
            {
                "shift (standard deviations)": list(self.shifts),
                "mean points to a signal": [show(m) for m in self.mean],
                "median points to a signal": [f"{m:,.0f}" for m in self.median],
            }
        )


RUN_LENGTH = Declaration("stability.run_length", RunLengthStudy, "Run length of the rules")


def _number(value: Interval | float) -> float:
    return value.estimate if isinstance(value, Interval) else value


def run_length(
    rules: str | Iterable[str] = "three sigma",
    n: int = 5,
    shifts: Sequence[float] = (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0),
    confidence: float = 0.95,
    runs: int = 4000,
    seed: int | None = None,
) -> RunLengthStudy:
    """Mean and median run length of a set of rules.

    Parameters
    ----------
    rules : str or iterable of str
        Name of a published set, or keys of rules.
    n : int
        Subgroup size.
    shifts : sequence of float
        Of the mean, in standard deviations of single values.
    confidence : float
        Of the intervals of simulated means.
    runs : int
        Simulated runs per shift, where a chain does not describe the rules.
    seed : int, optional

    Returns
    -------
    RunLengthStudy

    Raises
    ------
    CannotJudge
        An unknown rule, no shift, or a subgroup size below 1.

    Examples
    --------
    >>> round(run_length("Western Electric 1956", n=1, shifts=[0.0]).mean[0], 2)
    91.75
    """
    picked = chosen(rules)
    if n < 1 or not shifts:
        raise CannotJudge(
            "A run length needs a subgroup size of at least 1 and at least one shift."
        )
    scaled = [float(shift) * math.sqrt(n) for shift in shifts]
    exact = all(rule.has_zones for rule in picked)
    mean: list[Interval | float] = []
    median = []
    for shift in scaled:
        if exact:
            average, half = _by_chain(picked, shift)
            mean.append(average)
        else:
            lengths = _simulated(picked, shift, runs, generator(seed, "run length"))
            half = float(np.median(lengths))
            mean.append(_mean_interval(lengths, confidence))
        median.append(half)
    return RunLengthStudy(
        tuple(rule.key for rule in picked),
        n,
        tuple(float(s) for s in shifts),
        tuple(mean),
        tuple(median),
        "Markov chain" if exact else "simulation",
        ("Holds for independent points and known limits; correlated points signal sooner.",),
    )


def average_run_length(rules: str | Iterable[str], shift: float = 0.0) -> float:
    """Mean number of points to the first signal, by Markov chain.

    Parameters
    ----------
    rules : str or iterable of str
        Rules that depend on zones only.
    shift : float
        Of a point, in its standard errors.

    Returns
    -------
    float

    Raises
    ------
    CannotJudge
        A rule is unknown, or is a trend or an alternation, which no chain of zones follows.

    Examples
    --------
    >>> round(average_run_length("three sigma"), 1)
    370.4
    """
    picked = chosen(rules)
    if not all(rule.has_zones for rule in picked):
        raise CannotJudge("Trends and alternations have no chain of zones; simulate them.")
    return _by_chain(picked, shift)[0]


# --------------------------------------------------------------------------- Markov chain


def _edges(rules: tuple[Rule, ...]) -> Any:
    finite = {x for rule in rules for x in (rule.low, rule.high) if math.isfinite(x)}
    return np.array(sorted({s * x for x in finite for s in (-1.0, 1.0)}))


def _marks(rules: tuple[Rule, ...]) -> tuple[list[tuple[int, int]], list[list[bool]]]:
    """Windows (k, m) to be followed, and for each zone which of them it adds a mark to."""
    edges = _edges(rules)
    middles = np.concatenate([[edges[0] - 1], (edges[:-1] + edges[1:]) / 2, [edges[-1] + 1]])
    windows: list[tuple[int, int]] = []
    columns = []
    for rule in rules:
        if rule.sides == "either":
            windows.append((rule.k, rule.m))
            columns.append((np.abs(middles) > rule.low) & (np.abs(middles) < rule.high))
        else:
            windows += [(rule.k, rule.m)] * 2
            columns += [middles > rule.low, middles < -rule.low]
    return windows, np.column_stack(columns).tolist()


def _useful(bits: int, k: int, m: int) -> int:
    """Drop marks so old that no future points could still complete k of m with them."""
    for age in range(m - 2, -1, -1):  # bit 0 is the latest point
        if not bits >> age & 1:
            continue
        held = (bits & ((1 << (age + 1)) - 1)).bit_count()
        if held + (m - 1 - age) >= k:
            break
        bits &= ~(1 << age)
    return bits


@lru_cache(maxsize=32)
def _automaton(rules: tuple[Rule, ...]) -> Any:
    """Next state by state and zone; -1 where a pattern is complete."""
    windows, marks = _marks(rules)
    start = (0,) * len(windows)
    number = {start: 0}
    todo = [start]
    table: list[list[int]] = []
    for state in todo:
        row = []
        for zone in marks:
            following = []
            signal = False
            for bits, (k, m), mark in zip(state, windows, zone, strict=True):
                moved = (bits << 1 | mark) & ((1 << m) - 1)
                if mark and moved.bit_count() >= k:
                    signal = True
                    break
                following.append(_useful(moved & ((1 << (m - 1)) - 1), k, m))
            if signal:
                row.append(-1)
                continue
            key = tuple(following)
            if key not in number:
                number[key] = len(todo)
                todo.append(key)
            row.append(number[key])
        table.append(row)
    return np.array(table)


@lru_cache(maxsize=4096)
def _by_chain(rules: tuple[Rule, ...], shift: float) -> tuple[float, float]:
    """Mean and median run length from the beginning."""
    from scipy.sparse import coo_matrix, identity
    from scipy.sparse.linalg import spsolve
    from scipy.special import ndtr

    edges = _edges(rules)
    cut = np.concatenate([[-np.inf], edges, [np.inf]])
    # Differences of the nearer tails, so that small probabilities keep their digits.
    lo, hi = cut[:-1] - shift, cut[1:] - shift
    probability = np.where(lo > 0, ndtr(-lo) - ndtr(-hi), ndtr(hi) - ndtr(lo))
    table = _automaton(rules)
    states, zones = table.shape
    go = table >= 0
    rows = np.repeat(np.arange(states), zones).reshape(states, zones)[go]
    weights = np.broadcast_to(probability, table.shape)[go]
    moves = coo_matrix((weights, (rows, table[go])), shape=(states, states)).tocsc()
    mean = float(np.asarray(spsolve(identity(states, format="csc") - moves, np.ones(states)))[0])
    back = moves.T.tocsr()
    at = np.zeros(states)
    at[0] = 1.0
    points = 0
    limit = 10_000
    while at.sum() > 0.5 and points < limit:
        at = back @ at
        points += 1
    if points >= limit:  # far out the run length is geometric
        points = int(math.log(2) * mean)
    return mean, float(points)


# ------------------------------------------------------------------------------ simulation


def _simulated(rules: tuple[Rule, ...], shift: float, runs: int, rng: Any) -> Any:
    """Run lengths; every run is extended until it has signalled."""
    memory = max(rule.m for rule in rules) - 1
    lengths = np.zeros(runs, dtype=np.int64)
    alive = np.arange(runs)
    tail = np.full((runs, 0), 0.0)
    done = 0
    block = 64
    while alive.size and done < 2_000_000:
        z = np.concatenate([tail, rng.normal(shift, 1.0, (alive.size, block))], axis=1)
        found = np.zeros(z.shape, dtype=bool)
        for rule in rules:
            found |= complete_at(rule, z)
        found[:, : tail.shape[1]] = False
        hit = found.any(axis=1)
        first = found.argmax(axis=1) - tail.shape[1] + 1
        lengths[alive[hit]] = done + first[hit]
        tail = z[~hit, -memory:] if memory else z[~hit, :0]
        alive = alive[~hit]
        done += block
        block = min(512, 2 * block)
    if alive.size:
        raise CannotJudge("The rules hardly ever signal; their run length was not reached.")
    return lengths


def _mean_interval(lengths: Any, confidence: float) -> Interval:
    from scipy.special import ndtri

    mean = float(lengths.mean())
    half = float(ndtri((1 + confidence) / 2)) * float(lengths.std(ddof=1)) / math.sqrt(lengths.size)
    return Interval(mean, max(mean - half, 1.0), mean + half, confidence, "simulation")
