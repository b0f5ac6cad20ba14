"""A crossed study in which readings were copied: from one appraiser to another, or from trial to trial.

Model of an honest study: a reading is the part, the appraiser, their interaction and an error of
repetition; errors of different readings are independent. Then

- the errors of one appraiser say nothing of another's: with the mean of each cell and of each trial
  taken off, the correlation of what is left, trial by trial, is nought (judged by putting the trials of
  each cell in other orders, drawn at random, and where that is rarer than the draws can tell by Student's t);
- the cell means of two appraisers differ at least as much as repetition lets them: the sum of squares
  of these differences over that expected of the errors alone follows F with no more doubt than that, and
  a value far too small says that the same numbers occur twice, in whatever order. Where readings lie on a coarse grid
  it must also be rarer than two draws from the readings of both agree as well.

Both are one-sided at the far tail, over all pairs of appraisers, and are also taken together. A study copied as a whole, with other
numbers throughout, shows neither; the rules on repeatability against masters and the run look at that.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np

from linestudy.numerics import generator
from linestudy.verdict.facts import Doubt

_ORDERS = 4000
#: Steps in standard deviations of repetition beyond which a grid is coarse: 2 of 800 honest studies alarmed at two without it.
_COARSE = 1.5
#: A p-value of F below which it is asked whether the grid of readings alone explains it.
_DOUBTED = 0.01
#: Share of orders below which the draws no longer tell how rare something is.
_RARE = 0.003


@dataclass(frozen=True, slots=True)
class Cells:
    """Readings by part, appraiser and trial.

    Attributes
    ----------
    parts, names, trials : tuple of str
    table : numpy.ndarray of float, shape (parts, appraisers, trials)
    numbered : bool
        Whether trials are numbered; else they are counted by their rows.
    """

    parts: tuple[str, ...]
    names: tuple[str, ...]
    trials: tuple[str, ...]
    table: Any
    numbered: bool


def copied_appraiser(part: Any, appraiser: Any, trial: Any, value: Any) -> Doubt | None:
    """Test whether one appraiser's readings are another's.

    Parameters
    ----------
    part, appraiser, trial : array_like, shape (n,)
        Labels; trial may be None (rows count up within a cell).
    value : array_like of float, shape (n,)

    Returns
    -------
    Doubt or None
        None where fewer than two appraisers read five parts twice.
    """
    cells = table_of_cells(part, appraiser, trial, value)
    if cells is None:
        return None
    names, table, numbered = cells.names, cells.table, cells.numbered
    errors = table - table.mean(axis=2, keepdims=True)
    # What all readings of a trial have in common is no copy, nor does it tell how well the gauge repeats.
    centred = errors - errors.mean(axis=0, keepdims=True)
    if not errors.any():
        return None
    coarse = _is_coarse(table, errors)
    pairs = list(combinations(range(len(names)), 2))
    best, who, how = 1.0, pairs[0], ""
    for a, b in pairs:
        one, two = table[:, a], table[:, b]
        alike = _same_errors(errors[:, a], errors[:, b], centred[:, a], centred[:, b], coarse)
        # Only how these two repeat counts: a stray reading of a third person says nothing of them. Trials that are only
        # counted by their rows have nothing in common.
        near = _same_means(one, two, (centred if numbered else errors)[:, [a, b]], numbered, coarse)
        for p, words in (
            (alike, "err alike, trial by trial"),
            (near, "agree better than they repeat"),
            (_together(alike, one, two), "are the same, reading by reading"),
        ):
            if p < best:
                best, who, how = p, (a, b), words
    first, second = (names[i] for i in who)
    return Doubt(
        "copied gauge study",
        min(best * 3 * len(pairs), 1.0),
        f"the readings of {first} and {second} {how}",
    )


def copied_part(part: Any, appraiser: Any, trial: Any, value: Any) -> Doubt | None:
    """Test whether all readings of one part are those of another, but for a constant.

    With q the probability that two errors are equal on the grid of readings, all of k readings agree by
    chance with probability q ** (k - 1) for each pair of parts.

    Parameters
    ----------
    part, appraiser, trial, value
        As for :func:`copied_appraiser`.

    Returns
    -------
    Doubt or None
        None where no two parts agree.
    """
    cells = table_of_cells(part, appraiser, trial, value)
    if cells is None:
        return None
    flat = cells.table.reshape(cells.table.shape[0], -1)
    moves = flat - flat[:, :1]
    scale = float(np.abs(moves).max())
    if scale <= 0:
        return None
    grid = np.round(moves / scale * 1e7).astype(np.int64)
    pairs = list(combinations(range(grid.shape[0]), 2))
    same = [(a, b) for a, b in pairs if (grid[a] == grid[b]).all()]
    if not same:
        return Doubt("copied gauge study", 1.0, "no two parts have the same readings")
    counts = np.unique(grid[:, 1:], return_counts=True)[1] / grid[:, 1:].size
    # The copies are among the readings that tell how often two agree; one more, on the safe side.
    q = min(float((counts**2).sum()) + 1 / grid[:, 1:].size, 1.0)
    return Doubt(
        "copied gauge study",
        min(len(pairs) * q ** (grid.shape[1] - 1), 1.0),
        f"the readings of {len(same)} pairs of parts are the same throughout",
    )


def table_of_cells(
    part: Any, appraiser: Any, trial: Any, value: Any, people: int = 2
) -> Cells | None:
    """Lay readings out by part, appraiser and trial; only parts and trials that all of them have.

    Parameters
    ----------
    part, appraiser, trial, value
        As for :func:`copied_appraiser`.
    people : int
        Appraisers that there must be.

    Returns
    -------
    Cells or None
        None where fewer than five parts were read twice by everyone.
    """
    import pandas as pd

    frame = pd.DataFrame(
        {"part": np.asarray(part), "who": np.asarray(appraiser), "value": np.asarray(value, float)}
    )
    number = frame.groupby(["part", "who"]).cumcount()
    frame["trial"] = number if trial is None else np.asarray(trial)
    numbered = trial is not None and not frame.duplicated(["part", "who", "trial"]).any()
    if not numbered:
        frame["trial"] = number
    wide = frame.pivot(index="part", columns=["who", "trial"], values="value")
    names = sorted(frame["who"].unique(), key=str)
    trials = sorted(frame["trial"].unique(), key=str)
    if len(names) < people or len(trials) < 2:
        return None
    wide = wide.reindex(columns=pd.MultiIndex.from_product([names, trials])).dropna()
    if len(wide) < 5:
        return None
    table = wide.to_numpy().reshape(len(wide), len(names), len(trials))
    rows, who, again = (tuple(map(str, labels)) for labels in (wide.index, names, trials))
    return Cells(rows, who, again, table, numbered)


def _is_coarse(table: Any, errors: Any) -> bool:
    """Check whether the steps of the readings are wide beside their repetition, so that few errors are seen at all."""
    values = np.unique(np.round(table - table.min(), 12))
    step = float(np.diff(values).min()) if values.size > 1 else 0.0
    free = errors.size * (1 - 1 / errors.shape[2])
    return step > _COARSE * float(np.sqrt((errors**2).sum() / free))


def _same_errors(a: Any, b: Any, centred_a: Any, centred_b: Any, coarse: bool) -> float:
    """Compute the p-value that errors go together, by putting the trials of each part in other orders.

    What a trial has in common is taken off. On a coarse grid the one reading that differs would be taken off all other
    parts, which then go together: there errors must go together without that as well.
    """
    seen = float((centred_a * centred_b).sum())
    scale = float(np.sqrt((centred_a**2).sum() * (centred_b**2).sum()))
    if scale <= 0 or seen < 0.5 * scale:
        return 1.0
    by_order = _in_other_orders(centred_a, centred_b)
    plain = _in_other_orders(a, b) if coarse else 0.0
    if max(by_order, plain) > _RARE:
        return max(by_order, plain)
    # Rarer than the draws can tell: as a correlation of normal errors.
    from scipy.special import stdtr

    df = a.shape[0] * (a.shape[1] - 1) - a.shape[1]
    r = min(seen / scale, 1 - 1e-12)
    return max(float(stdtr(df, -r * np.sqrt(df / (1 - r * r)))), plain)


def _in_other_orders(a: Any, b: Any) -> float:
    """Compute the share of other orders of each part's trials in which errors go together as much."""
    least = float((a * b).sum()) - 1e-9 * float(np.sqrt((a**2).sum() * (b**2).sum()))
    draw = generator(None, "copied gauge study")
    order = draw.random((_ORDERS, *b.shape)).argsort(axis=2)
    drawn = (a * np.take_along_axis(b[None], order, axis=2)).sum(axis=(1, 2))
    return float((drawn >= least).sum()) / _ORDERS


def _same_means(a: Any, b: Any, errors: Any, numbered: bool, coarse: bool) -> float:
    """Compute the p-value that cell means lie too near each other for errors like these, by F."""
    from scipy.special import fdtr

    parts, trials = a.shape
    df = 2 * (parts - int(numbered)) * (trials - 1)
    variance = float((errors**2).sum()) / df
    if variance <= 1e-24 * float(np.abs(a).max()) ** 2:
        return 1.0
    differences = a.mean(axis=1) - b.mean(axis=1)
    seen = float((differences**2).sum())
    p = float(fdtr(parts, df, seen / parts / (2 * variance / trials)))
    return max(p, _on_the_grid(a, b, seen)) if coarse and p <= _DOUBTED else p


def _together(alike: float, a: Any, b: Any) -> float:
    """Combine both p-values by Fisher's method: errors in the same order say nothing of which errors they are."""
    if alike > 0.05:
        return 1.0
    from scipy.special import chdtrc

    squares = float(((a.mean(axis=1) - b.mean(axis=1)) ** 2).sum())
    least = 1 / _ORDERS
    both = np.log(max(alike, least)) + np.log(max(_on_the_grid(a, b, squares), least))
    return float(chdtrc(4, -2 * both))


def _on_the_grid(a: Any, b: Any, seen: float) -> float:
    """Simulate how often two who read the same parts honestly agree as well: each draws from the readings of both.

    On a coarse grid most parts are read the same by everybody, and one or two between two steps decide; F knows nothing of that.
    """
    both = np.concatenate([a, b], axis=1)
    trials = a.shape[1]
    draw = generator(None, "cell means on a grid")
    drawn = draw.integers(0, 2 * trials, size=(_ORDERS, a.shape[0], 2 * trials))
    values = np.take_along_axis(both[None], drawn, axis=2)
    differences = values[..., :trials].mean(axis=2) - values[..., trials:].mean(axis=2)
    return float(((differences**2).sum(axis=1) <= seen * (1 + 1e-9) + 1e-24).sum()) / _ORDERS
