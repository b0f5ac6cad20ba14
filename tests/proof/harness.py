"""One way to measure what an interval or a rule really does, and to write it down.

A *trial* draws one data set of known truth and says whether the claim held: for an
interval, whether it covered the truth. It takes a seeded generator and returns one
bool, or a dict of name → bool where one data set serves several claims. Trials run
on all cores; every scenario has its own stream, so that adding one changes no other.

``measure`` appends to a table that ``conftest.py`` writes to ``report/ROOM.json``
when LINESTUDY_WRITE_PROOF is set, and compares with the committed one otherwise.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from functools import partial

import numpy as np

from linestudy.numerics import generator

Trial = Callable[..., "bool | Mapping[str, bool]"]

#: Simulated studies of each scenario in an ordinary run of the proof, which has twenty minutes for all of them: a claim
#: of 95 % that truly holds in 85 % passes one time in twenty. All of them, as in the report: LINESTUDY_FULL=1, or writing it.
SAMPLE = 200
FULL = any(os.environ.get(name) for name in ("LINESTUDY_FULL", "LINESTUDY_WRITE_PROOF"))


@dataclass(frozen=True)
class Measured:
    """How often a claim held.

    Attributes
    ----------
    room, method, scenario : str
        What was measured, and on which truth.
    nominal : float or None
        The rate that is claimed; None where nothing is.
    rate : float
        The rate that was found in `runs` simulated studies.
    runs : int
        Number of simulated studies.
    note : str
        Why theory forbids better, where it does.
    """

    room: str
    method: str
    scenario: str
    nominal: float | None
    rate: float
    runs: int
    note: str = ""

    @property
    def error(self) -> float:
        """Monte Carlo standard error of the rate, at the nominal rate where one is claimed."""
        true = self.rate if self.nominal is None else self.nominal
        spread = max(true * (1 - true), 1e-4)
        return math.sqrt(spread / self.runs)

    def within(self, low: float, high: float, errors: float = 3.0) -> bool:
        """Whether the true rate may lie between low and high, allowing Monte Carlo error."""
        return low - errors * self.error <= self.rate <= high + errors * self.error

    def as_row(self) -> dict[str, object]:
        """The fields and the Monte Carlo error, for the report."""
        return asdict(self) | {"mc_error": round(self.error, 5)}


#: Everything measured in this process, in order.
TABLE: list[Measured] = []


@dataclass(frozen=True)
class Counted:
    """How many false signals a chart promised, and how many came.

    Attributes
    ----------
    room, method, scenario : str
        What was counted, and on which design.
    expected, found : float
        Signals per 1,000 points: said by the kit beforehand, and seen in simulation at nominal.
    error : float
        Monte Carlo standard error of `found`.
    points : int
        Points that were simulated.
    """

    room: str
    method: str
    scenario: str
    expected: float
    found: float
    error: float
    points: int


#: Every count of false signals of this process, in order.
COUNTS: list[Counted] = []


def count(
    room: str,
    method: str,
    scenario: str,
    expected: float,
    signals: Sequence[float],
    points: int,
) -> Counted:
    """Note how many signals came in runs of a process that never moved.

    Parameters
    ----------
    room, method, scenario : str
    expected : float
        Signals that were promised over all runs.
    signals : sequence of float, shape (runs,)
        Signals seen in each run.
    points : int
        Points over all runs.

    Returns
    -------
    Counted
    """
    seen = np.asarray(signals, dtype=float)
    # One long run: its signals are counted as if they came independently.
    spread = float(seen.std(ddof=1)) * math.sqrt(seen.size) if seen.size > 1 else seen.sum() ** 0.5
    per = 1000 / points
    row = Counted(
        room,
        method,
        scenario,
        round(expected * per, 6),
        round(float(seen.sum()) * per, 6),
        round(spread * per, 6),
        points,
    )
    COUNTS.append(row)
    return row


def measure(
    room: str,
    method: str,
    scenario: str,
    trial: Trial,
    runs: int = 2000,
    nominal: float | None = 0.95,
    note: str = "",
    sample: int = SAMPLE,
    **settings: object,
) -> dict[str, Measured]:
    """Run a trial many times and note how often each of its claims held.

    Parameters
    ----------
    room, method, scenario : str
        Names for the report; they also choose the random stream.
    trial : callable
        A function at module level (it is sent to other processes):
        ``trial(rng, **settings)`` → bool or dict of bool.
    runs : int
        Number of simulated studies, of which an ordinary run takes no more than `sample`.
    nominal : float or None
        The rate claimed; None where nothing is claimed and the rate is only reported.
    note : str
        Shown in the report.
    sample : int
        Fewer than usual for a trial of a second and more.
    **settings
        The truth and the design, passed to the trial.

    Returns
    -------
    dict of str to Measured
        By claim; the key is `method` where the trial returns one bool.
    """
    cores = int(os.environ.get("LINESTUDY_PROOF_CORES", min(os.cpu_count() or 1, 2)))
    runs = runs if FULL else min(runs, sample)
    # As many on every machine, so that the same studies are drawn everywhere.
    blocks = 4
    sizes = [runs // blocks + (index < runs % blocks) for index in range(blocks)]
    work = partial(_block, trial, room, method, scenario, settings)
    with ProcessPoolExecutor(cores) as pool:
        counts = list(pool.map(work, range(blocks), sizes))
    found = {}
    for claim in counts[0]:
        name = method if claim == "" else f"{method}: {claim}"
        rate = sum(count[claim] for count in counts) / runs
        found[claim or method] = Measured(room, name, scenario, nominal, rate, runs, note)
    TABLE.extend(found.values())
    return found


def _block(
    trial: Trial,
    room: str,
    method: str,
    scenario: str,
    settings: Mapping[str, object],
    index: int,
    size: int,
) -> dict[str, int]:
    rng: np.random.Generator = generator(None, "proof", room, method, scenario, str(index))
    held: dict[str, int] = {}
    for _ in range(size):
        outcome = trial(rng, **settings)
        claims = outcome if isinstance(outcome, Mapping) else {"": outcome}
        for claim, value in claims.items():
            held[claim] = held.get(claim, 0) + bool(value)
    return held
