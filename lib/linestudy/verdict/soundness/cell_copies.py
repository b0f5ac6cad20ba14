"""A crossed study in which single readings occur twice: rows doubled within cells, or one trial copied from another.

Model of an honest study: repeated readings of a cell err independently, with a density that is smooth over a
few steps of the scale. Then

- two readings of a cell are equal hardly more often than they differ by any other small number of steps. Of the
  readings that repeat one of their own cell, and of the pairs that differ by a few steps, the number of the
  former is binomial; distances of one, two, five and ten steps are looked at by themselves, as whoever rounds to
  half and whole divisions makes readings equal that are no copies;
- with the mean of each appraiser's trial taken off, each two trials are equally often the nearest to each other
  in a cell: a trial copied from another, with its last digits changed, is the nearest nearly always (binomial, exact).

Misleads where one trial scatters more than the others, as a first one may: those then lie nearer to each other,
which is no copy but asks for its reason just as well. Two trials only cannot show a copy with changed digits,
nor can a scale whose steps are as wide as the errors show equal readings.
"""

from __future__ import annotations

from itertools import combinations
from typing import Any

import numpy as np

from linestudy.verdict.facts import Doubt
from linestudy.verdict.soundness.reading_doubts import step_of

#: Distances in steps that rounding to divisions makes as frequent as nought.
_DIVISIONS = (1, 2, 5, 10)
#: From how often one distance is that of a coarser scale, and the share of equal readings that one may hide.
_OFTEN, _HIDDEN = 5, 0.8
#: A density falls over a few steps, so that nought is a little more frequent than its neighbours.
_PEAK = 1.3
#: Parts of an appraiser from which the nearest trials are counted.
_PARTS = 5
_KIND = "copied gauge study"


def doubled_readings(part: Any, appraiser: Any, value: Any) -> Doubt | None:
    """Test whether readings of cells are repeated more often than readings so near to each other are.

    Parameters
    ----------
    part, appraiser : array_like, shape (n,)
        Labels; one appraiser for all where the gauge reads by itself.
    value : array_like of float, shape (n,)

    Returns
    -------
    Doubt or None
        None where no cell holds two readings, or the step is too coarse to tell.

    Examples
    --------
    >>> import numpy as np
    >>> part = np.repeat(np.arange(10), 6)
    >>> once = np.random.default_rng(1).normal(size=(10, 3)).round(3)
    >>> doubled_readings(part, ["A"] * 60, np.hstack([once, once]).ravel()).p < 1e-6
    True
    """
    y = np.asarray(value, dtype=float)
    if y.size < 2 or not np.ptp(y) > 0:
        return None
    # Numbers that were never rounded are in steps too fine to matter.
    step = step_of(y) or float(np.ptp(y)) * 1e-9
    cells = _by_cell(np.round((y - y.min()) / step).astype(np.int64), part, appraiser)
    pairwise = [np.abs(a[:, None] - a[None, :])[np.triu_indices(a.size, 1)] for a in cells]
    distances = np.concatenate(pairwise) if pairwise else np.empty(0, dtype=np.int64)
    other = distances[distances > 0]
    reach = int(np.median(other) / 2) if other.size else 0
    if reach < 1:
        return None
    from scipy.special import bdtrc

    twice = sum(a.size - np.unique(a).size for a in cells)
    if not twice:
        return Doubt(_KIND, 1.0, "no reading stands twice in its cell")
    near = int((other <= reach).sum())
    chances = [(near, _PEAK / (2 * reach + 1))]
    chances += [(int((other == d).sum()), _PEAK / 3) for d in _DIVISIONS]
    chances += _coarser(cells, twice, reach)
    p = max(float(bdtrc(twice - 1, twice + m, min(share, 1.0))) for m, share in chances)
    return Doubt(
        _KIND,
        p,
        f"{twice} of {y.size} readings stand twice in their cell; rows entered twice or readings rounded coarser than the rest",
    )


def copied_trial(part: Any, appraiser: Any, trial: Any, value: Any) -> Doubt | None:
    """Test whether two trials lie nearer to each other than to the rest, cell by cell, more often than by chance.

    Parameters
    ----------
    part, appraiser, trial : array_like, shape (n,)
        Labels.
    value : array_like of float, shape (n,)

    Returns
    -------
    Doubt or None
        None where fewer than five parts were read in three numbered trials.
    """
    import pandas as pd

    keys = ["part", "who", "trial"]
    frame = pd.DataFrame(
        dict(zip(keys, map(np.asarray, (part, appraiser, trial)), strict=True))
    ).assign(value=np.asarray(value, dtype=float))
    if frame.duplicated(keys).any():
        return None
    wide = frame.pivot(index=["part", "who"], columns="trial", values="value").dropna()
    if wide.empty:
        return None
    # Taking off the mean of too few parts would leave no distances.
    wide = wide[wide.groupby(level="who")[wide.columns[0]].transform("size") >= _PARTS]
    trials = wide.columns.size
    if trials < 3 or wide.empty:
        return None
    people = wide.index.get_level_values("who").to_numpy()
    moved = wide - wide.groupby(level="who").transform("mean")
    table = moved.to_numpy()
    pairs = list(combinations(range(trials), 2))
    gaps = np.stack([np.abs(table[:, a] - table[:, b]) for a, b in pairs], axis=1)
    ranked = np.sort(gaps, axis=1)
    # With trial means taken off, distances within a step of each other are ties, and a tie names no pair as the nearest.
    step = step_of(wide.to_numpy().ravel())
    clear = ranked[:, 1] - ranked[:, 0] > np.maximum(step, 1e-9 * ranked[:, -1])
    nearest = np.where(clear, gaps.argmin(axis=1), -1)
    from scipy.special import bdtrc

    everyone = np.ones(len(wide), dtype=bool)
    single = sorted(set(people), key=str)
    groups = [("", everyone), *((str(one), people == one) for one in single if len(single) > 1)]
    best, which, whose, cells = 1.0, 0, "", 0
    for name, rows in groups:
        counts = np.bincount(nearest[rows & (nearest >= 0)], minlength=len(pairs))
        most = int(counts.argmax())
        if not counts[most]:
            continue
        p = float(bdtrc(int(counts[most]) - 1, int(rows.sum()), 1 / len(pairs)))
        if p < best:
            best, which, whose, cells = p, most, name, int(rows.sum())
    first, second = (str(wide.columns[i]) for i in pairs[which])
    return Doubt(
        _KIND,
        min(best * len(pairs) * len(groups), 1.0),
        f"trials {first} and {second}{f' of {whose}' if whose else ''} lie nearer to each other than to the rest in most of {cells} cells",
    )


def _coarser(cells: list[Any], twice: int, reach: int) -> list[tuple[int, float]]:
    """Count how often readings of a cell differ by one and the same distance, where some were rounded coarser."""
    pairwise = [
        np.abs(np.subtract.outer(one, one))[np.triu_indices(one.size, 1)]
        for one in map(np.unique, cells)
    ]
    distance, count = np.unique(np.concatenate(pairwise), return_counts=True)
    most = int(count.argmax())
    if count[most] < max(_OFTEN, twice / 4):
        return []
    return [(int(count[most]), _HIDDEN if distance[most] > reach else _PEAK / 3)]


def _by_cell(steps: Any, part: Any, appraiser: Any) -> list[Any]:
    """Group readings in steps by cell, of the cells that hold several."""
    import pandas as pd

    names = {"part": np.asarray(part), "who": np.asarray(appraiser), "y": steps}
    groups = pd.DataFrame(names).groupby(["part", "who"], sort=True)["y"]
    return [own.to_numpy() for _, own in groups if len(own) > 1]
