"""Run length of a set of rules: how many points until the first signal, in control and after a shift.

Rules that depend on zones only are followed exactly by a Markov chain whose states remember which earlier
points can still matter (Champ & Woodall, *Technometrics* 29 (1987), 393-399); trends and alternations are
simulated.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np

from linestudy.numerics import generator
from linestudy.results import CannotJudge, Finding, Interval, arguments
from linestudy.results.declared import Declaration
from linestudy.results.rounding import counted_size
from linestudy.results.tables import Rows
from linestudy.stability.charts.rules import Rule, complete_at, select_rules


@dataclass(frozen=True)
class RunLengthStudy(Finding):
    """Mean run length of a set of rules over shifts of the mean.

    Attributes
    ----------
    rules : tuple of str
        Keys of the rules.
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
        first = float(self.mean[0])
        named = ", ".join("beyond the limits" if rule == "beyond" else rule for rule in self.rules)
        of = f"subgroups of {self.n}" if self.n > 1 else "individual values"
        text = (
            f"Rules {named}, {of}: ARL {first:,.0f} in control"
            if self.shifts[0] == 0
            else f"Rules {named}, {of}: ARL {first:,.1f} at a shift of "
            f"{counted_size(self.shifts[0], 'standard deviation')}"
        )
        if len(self.shifts) > 1:
            text += f", {float(self.mean[-1]):,.1f} at a shift of {counted_size(self.shifts[-1], 'standard deviation')}"
        return f"{text} ({self.method})."

    def _rows(self) -> Rows:
        return [
            {
                "shift (standard deviations)": shift,
                "mean points to a signal": mean,
                "median points to a signal": median,
            }
            for shift, mean, median in zip(self.shifts, self.mean, self.median, strict=True)
        ]


RUN_LENGTH = Declaration("stability.run_length", RunLengthStudy)


def run_length(
    rules: str | Iterable[str] = "three sigma",
    *,
    n: int = 5,
    shifts: Sequence[float] = (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0),
    confidence: float = 0.95,
    runs: int = 4000,
    seed: int | None = None,
) -> RunLengthStudy:
    """Compute mean and median run length of a set of rules.

    Parameters
    ----------
    rules : str or iterable of str
        Name of a published set, or keys of rules.
    n : int
        Subgroup size, at least 1.
    shifts : sequence of float
        Of the mean, in standard deviations of single values; at least one.
    confidence : float
        Of the intervals of simulated means, between 0 and 1.
    runs : int
        Simulated runs per shift, where a chain does not describe the rules; at least 2.
    seed : int, optional
        Of the simulation; the kit's own when absent.

    Returns
    -------
    RunLengthStudy
        Mean and median by shift.

    Raises
    ------
    CannotJudge
        Rules that hardly ever signal.
    ValueError, TypeError
        An unknown rule, no shift, or an argument outside its range.

    See Also
    --------
    average_run_length : The mean for one shift.
    sampling_plan : Subgroup size and interval that follow from it.

    Notes
    -----
    Model: independent normal points, centre and standard error known; a shift is there from the first point
    on (zero-state run length). Misleads where points correlate or where limits come from few subgroups:
    signals then come sooner than computed.

    References
    ----------
    Champ & Woodall, *Technometrics* 29 (1987), 393-399.

    Examples
    --------
    >>> round(run_length("Western Electric 1956", n=1, shifts=[0.0]).mean[0], 2)
    91.75
    """
    picked = select_rules(rules)
    arguments.whole("n", n, least=1)
    arguments.whole("runs", runs, least=2)
    arguments.share("confidence", confidence)
    if not len(shifts):
        raise ValueError("shifts is empty; a run length needs at least one.")
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
        tuple(float(shift) for shift in shifts),
        tuple(mean),
        tuple(median),
        "Markov chain" if exact else "simulation",
        ("Holds for independent points and known limits; correlated points signal sooner.",),
    )


def average_run_length(rules: str | Iterable[str], shift: float = 0.0) -> float:
    r"""Compute the mean number of points to the first signal, by Markov chain.

    Parameters
    ----------
    rules : str or iterable of str
        Rules that depend on zones only.
    shift : float
        Of a point, in its standard errors.

    Returns
    -------
    float
        Points to the first signal.

    Raises
    ------
    ValueError
        A rule is unknown, or is a trend or an alternation, which no chain of zones follows.

    See Also
    --------
    run_length : For several shifts, with the median, and for rules that are simulated.

    Notes
    -----
    With :math:`Q` the transition probabilities among the states of the chain that have not signalled, the mean
    is the first element of

    .. math:: (I - Q)^{-1} \mathbf 1

    References
    ----------
    Champ & Woodall, *Technometrics* 29 (1987), 393-399, section 3.

    Examples
    --------
    >>> round(average_run_length("three sigma"), 1)
    370.4
    """
    picked = select_rules(rules)
    if not all(rule.has_zones for rule in picked):
        raise ValueError(
            f"rules = {rules!r} hold a trend or an alternation, which no chain of zones follows; "
            "run_length simulates them."
        )
    return _by_chain(picked, shift)[0]


# --------------------------------------------------------------------------- Markov chain


def _edges(rules: tuple[Rule, ...]) -> Any:
    finite = {x for rule in rules for x in (rule.low, rule.high) if math.isfinite(x)}
    return np.array(sorted({s * x for x in finite for s in (-1.0, 1.0)}))


def _marks(rules: tuple[Rule, ...]) -> tuple[list[tuple[int, int]], list[list[bool]]]:
    """List windows (k, m) to be followed, and for each zone which of them it adds a mark to."""
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
    """Build the table of next states by state and zone; -1 where a pattern is complete."""
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
    """Compute mean and median run length from the beginning."""
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
    """Simulate run lengths; every run is extended until it has signalled."""
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
