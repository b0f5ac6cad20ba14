"""Whether the subgroups of a run reach every station: a sampling plan may beat with stations that take turns."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.results import CannotJudge, Finding, arguments
from linestudy.results.declared import Declaration
from linestudy.results.tables import Rows, listed

#: Longest cycle that is sought, share of parts one cycle apart that must be of one station, and fewest cycles.
_LONGEST, _SAME, _TURNS = 64, 0.95, 5
#: A station that has less than this share of its due among the sampled parts is hardly sampled.
_HARDLY = 0.5
#: Most stations (more are none).
_MOST = 64


@dataclass(frozen=True, slots=True)
class ReachedStation:
    """One station of a run.

    Attributes
    ----------
    name : str
        Of the station.
    made : int
        Parts of the run.
    sampled : int
        Parts in subgroups.
    due : float
        Parts that would be in subgroups if these took every station in its share.
    """

    name: str
    made: int
    sampled: int
    due: float


@dataclass(frozen=True)
class ReachedStations(Finding):
    """How the subgroups of a run fall on its stations.

    Attributes
    ----------
    stations : tuple of ReachedStation
        By name.
    turn : int or None
        Parts after which the stations repeat, where they take turns.
    size : float
        Mean parts of a subgroup.
    every : float or None
        Parts from one subgroup to the next, where that is always the same.
    missed : tuple of str
        Stations without a sampled part.
    hardly : tuple of str
        Stations with less than half the sampled parts that are their due.
    uneven : bool
        Whether the subgroups hold the stations in other shares than the run and always in the same, or now so, now so.
    better_every : int or None
        The next interval that falls on all stations in turn, where stations are missed or hardly sampled.
    """

    stations: tuple[ReachedStation, ...]
    turn: int | None
    size: float
    every: float | None
    missed: tuple[str, ...]
    hardly: tuple[str, ...]
    uneven: bool
    better_every: int | None
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Sampling of the stations"

    @property
    def beats(self) -> bool:
        """Whether the plan leaves out a station, or nearly."""
        return bool(self.missed or self.hardly)

    @property
    def statement(self) -> str:
        plan = f"Subgroups of {self.size:g}"
        if self.every is not None:
            plan += f" every {self.every:,.0f} parts"
        turns = f"; stations take turns every {self.turn} parts" if self.turn else ""
        if not self.beats:
            every = "both" if len(self.stations) == 2 else f"all {len(self.stations)}"
            return f"{plan} reach {every} stations{turns}."
        found = []
        if self.missed:
            found.append(f"no part of {listed(self.missed)}")
        if self.hardly:
            found.append(f"hardly any of {listed(self.hardly)}")
        text = f"{plan} hold {' and '.join(found)}{turns}: the interval beats with the stations."
        if self.better_every is not None:
            text += f" Every {self.better_every:,} parts would reach all of them."
        return text

    def _rows(self) -> Rows:
        return [
            {
                "station": one.name,
                "parts made": one.made,
                "parts in subgroups": one.sampled,
                "due by share": one.due,
            }
            for one in self.stations
        ]


REACHED = Declaration("stability.sampled_stations", ReachedStations, with_table=True)


def sampled_stations(
    station: ArrayLike, subgroup: ArrayLike, order: ArrayLike | None = None
) -> ReachedStations:
    r"""Compare the stations of the parts in subgroups with those of all parts made.

    Parameters
    ----------
    station : array_like, shape (n,)
        Station of each part, in production order.
    subgroup : array_like, shape (n,)
        Subgroup of each part, missing where it is in none.
    order : array_like of float, shape (n,), optional
        Order number of each part; 1, 2, … when absent.

    Returns
    -------
    ReachedStations
        Parts made and sampled of each station, and the turn of the stations.

    Raises
    ------
    CannotJudge
        Fewer than two stations, or no part in a subgroup.
    ValueError, TypeError
        Lengths that differ.

    See Also
    --------
    sampling_plan : Subgroup size and interval by what a shift costs.

    Notes
    -----
    Model: stations take turns with a fixed period P (a carrier wheel, a tool whose strokes feed lanes in turn) when
    95 % of the parts P apart are of one station. A subgroup of n neighbours every h parts begins at the stations
    of the multiples of :math:`\gcd(h, P)` only, and where n is smaller than that divisor the others are never measured. A
    station is hardly sampled where it has less than half its share. By counting alone: nothing
    is assumed of the values. Misleads where the file holds sampled parts only: then what was made is not known.

    References
    ----------
    Elementary arithmetic; the share of one half is common practice, no source.

    Examples
    --------
    >>> n = np.arange(2000)
    >>> found = sampled_stations(np.array(list("ABCD"))[n % 4], np.where(n % 100 < 2, n // 100, np.nan))
    >>> found.missed, found.better_every
    (('C', 'D'), 101)
    """
    import pandas as pd

    arguments.same_length(station=station, subgroup=subgroup, order=order)
    labels: Any = station
    codes, names = pd.factorize(pd.array(labels), sort=True)
    group = pd.Series(pd.array(np.asarray(subgroup, dtype=object))).reset_index(drop=True)
    if not 2 <= len(names) <= _MOST:
        raise CannotJudge(f"The run names {len(names)} stations; two to {_MOST} take turns.")
    inside = group.notna().to_numpy(dtype=bool) & (codes >= 0)
    if not inside.any():
        raise CannotJudge("No part belongs to a subgroup.")
    place = np.arange(1.0, codes.size + 1) if order is None else np.asarray(order, dtype=float)
    made = np.bincount(codes[codes >= 0], minlength=len(names))
    sampled = np.bincount(codes[inside], minlength=len(names))
    due = made / made.sum() * sampled.sum()
    missed = tuple(str(names[j]) for j in np.flatnonzero((sampled == 0) & (due >= 1)))
    hardly = tuple(
        str(names[j])
        for j in np.flatnonzero((sampled > 0) & (sampled < _HARDLY * due) & (due >= 5))
    )
    turn = turn_of(codes, place)
    size, every = _plan(group[inside], place[inside])
    uneven = turn is not None and size % turn != 0
    better = None
    if (missed or hardly) and turn is not None and every is not None:
        better = int(every) + 1
        while math.gcd(better, turn) != 1:
            better += 1
    return ReachedStations(
        stations=tuple(
            ReachedStation(str(name), int(made[j]), int(sampled[j]), float(due[j]))
            for j, name in enumerate(names)
        ),
        turn=turn,
        size=size,
        every=every,
        missed=missed,
        hardly=hardly,
        uneven=uneven,
        better_every=better,
        cautions=_cautions(missed + hardly, uneven, turn, size, len(names)),
    )


def turn_of(codes: Any, order: Any) -> int | None:
    """Find after how many order numbers the stations repeat.

    Parameters
    ----------
    codes : numpy.ndarray of int, shape (n,)
        Station of each part, -1 where none is named.
    order : numpy.ndarray of float, shape (n,)
        Order number of each part.

    Returns
    -------
    int or None
        None where they do not take turns.

    See Also
    --------
    sampled_stations : Uses it.

    Notes
    -----
    The smallest distance at which 95 % of the parts have the station of the part before.

    Examples
    --------
    >>> turn_of(np.arange(100) % 3, np.arange(100.0))
    3
    """
    whole = np.flatnonzero((codes >= 0) & (order == np.floor(order)))
    if whole.size < 20 or np.unique(order[whole]).size < whole.size:
        return None
    # A stretch at the beginning tells; the rest is more of the same.
    whole = whole[:20000]
    number, code = order[whole].astype(np.int64), codes[whole]
    for distance in range(2, min(_LONGEST, int(number[-1] - number[0])) + 1):
        at = np.searchsorted(number, number + distance)
        there = at < number.size
        there[there] = number[at[there]] == number[there] + distance
        if there.sum() < _TURNS * distance:
            continue
        if (code[at[there]] == code[there]).mean() >= _SAME:
            # Long stretches of one station are no turns.
            before = np.diff(number) == 1
            same = (np.diff(code) == 0)[before]
            return distance if same.size and same.mean() < 0.5 else None
    return None


def _plan(group: Any, place: Any) -> tuple[float, float | None]:
    """Return the usual size of the subgroups, and the distance from one to the next where it is the same throughout."""
    import pandas as pd

    table = pd.DataFrame({"group": group.to_numpy(), "order": place}).groupby("group")["order"]
    size, first = float(table.size().median()), np.sort(table.min().to_numpy(dtype=float))
    intervals = np.diff(first)
    if not intervals.size:
        return size, None
    usual = float(np.median(intervals))
    return size, usual if (intervals == usual).mean() >= 0.9 else None


def _cautions(
    left_out: tuple[str, ...], uneven: bool, turn: int | None, size: float, stations: int
) -> tuple[str, ...]:
    if left_out:
        return (
            f"The chart says little of {listed(left_out)}. Take as many neighbouring parts as the stations need to "
            "take their turns, or subgroups of each station.",
        )
    if uneven and turn is not None:
        return (
            f"Subgroups of {size:g} do not hold whole turns of {turn} parts: some stations have more parts in a "
            "subgroup than others, and where levels differ the means move with that. The streams' own charts do not.",
        )
    return ()
