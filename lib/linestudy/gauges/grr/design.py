"""The layout of a crossed study: who read what how often, as an array."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from itertools import compress
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linestudy.numerics.heavy_tails import variance_df
from linestudy.results import CannotJudge, data_arguments
from linestudy.results.tables import natural_order

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Layout:
    """Readings of a crossed study.

    Attributes
    ----------
    factors : tuple of str
        ``part``, then ``appraiser`` and ``factor`` where the study has them.
    levels : dict of str to tuple of str
        Names of the levels of each factor, sorted.
    codes : numpy.ndarray of int, shape (n, factors)
        Level of each reading.
    values : numpy.ndarray of float, shape (n,)
    counts : numpy.ndarray of int, shape (*levels,)
        Readings per cell.
    merged : (str, str) or None
        Factor that was left out because it changed together with the other, and that other.
    trial : numpy.ndarray of int, shape (n,), or None
        Trial of each reading, counted from 0, where the study names it.
    """

    factors: tuple[str, ...]
    levels: dict[str, tuple[str, ...]]
    codes: NDArray[np.int_]
    values: NDArray[np.float64]
    counts: NDArray[np.int_]
    merged: tuple[str, str] | None = None
    trial: NDArray[np.int_] | None = None

    @cached_property
    def balanced(self) -> bool:
        """Whether every cell holds the same number of readings."""
        return bool((self.counts == self.counts.flat[0]).all())

    @property
    def trials(self) -> float:
        """Readings per cell; the harmonic mean over the cells that hold any, where they differ."""
        if self.balanced:
            return float(self.counts.flat[0])
        filled = self.counts[self.counts > 0]
        return float(filled.size / (1.0 / filled).sum())

    @cached_property
    def cells(self) -> NDArray[np.int_]:
        """Return the flat index of the cell of each reading."""
        flat: NDArray[np.int_] = np.ravel_multi_index(tuple(self.codes.T), self.counts.shape)
        return flat

    def readings(self) -> NDArray[np.float64]:
        """Return balanced readings as an array, shape (*levels, trials)."""
        order = np.argsort(self.cells, kind="stable")
        return self.values[order].reshape((*self.counts.shape, int(self.counts.flat[0])))

    def rest(self) -> NDArray[np.float64]:
        """Return the readings less the mean of their cell; nought to the last digit where these are all equal."""
        cell, counts = self.cells, self.counts.ravel()
        zero = np.zeros(counts.size)
        zero[cell] = self.values
        centred = self.values - zero[cell]
        sums = np.bincount(cell, centred, minlength=counts.size)
        rest: NDArray[np.float64] = centred - (sums / np.maximum(counts, 1))[cell]
        return rest

    @cached_property
    def tail_factor(self) -> float:
        """Return the share of the degrees of freedom of repeatability that heavy tails of repeated readings leave."""
        counts = self.counts.ravel()
        df = float(np.maximum(counts - 1, 0).sum())
        return variance_df(self.rest(), self.cells, counts) / df

    def kept(self, keep: NDArray[np.bool_]) -> Layout:
        """Return the same study with some readings only; levels nobody measured any more are gone."""
        codes, levels = [], {}
        for at, name in enumerate(self.factors):
            left, code = np.unique(self.codes[keep, at], return_inverse=True)
            codes.append(np.ravel(code))
            levels[name] = tuple(self.levels[name][i] for i in left)
        shape = tuple(len(names) for names in levels.values())
        cell = np.ravel_multi_index(tuple(codes), shape)
        counts = np.bincount(cell, minlength=math.prod(shape)).reshape(shape)
        values = self.values[keep]
        trial = None if self.trial is None else self.trial[keep]
        return Layout(
            self.factors, levels, np.stack(codes, axis=1), values, counts, self.merged, trial
        )

    def less(self, at: int) -> Layout:
        """Return the same readings without a factor that follows from another; the two count as one."""
        other = next(name for name in self.factors[1:] if name != self.factors[at])
        factors = tuple(name for name in self.factors if name != self.factors[at])
        return Layout(
            factors,
            {name: self.levels[name] for name in factors},
            np.delete(self.codes, at, axis=1),
            self.values,
            self.counts.sum(axis=at),
            (self.factors[at], other),
            self.trial,
        )

    def means(self) -> NDArray[np.float64]:
        """Return the mean of each part and appraiser, shape (parts, appraisers or 1); NaN where none."""
        width = len(self.levels.get("appraiser", ("",)))
        parts = len(self.levels["part"])
        cell = self.codes[:, 0] * width
        if "appraiser" in self.factors:
            cell = cell + self.codes[:, self.factors.index("appraiser")]
        counts = np.bincount(cell, minlength=parts * width)
        sums = np.bincount(cell, self.values, minlength=parts * width)
        means = np.full(parts * width, np.nan)
        np.divide(sums, counts, out=means, where=counts > 0)
        return means.reshape(parts, width)


def lay_out(
    data: pd.DataFrame,
    value: str,
    part: str,
    appraiser: str | None,
    trial: str | None,
    factor: str | None = None,
) -> Layout:
    """Sort readings into cells.

    Parameters
    ----------
    data : pandas.DataFrame
        One reading per row; a row without a reading counts as none.
    value, part : str
        Columns of the readings and of the part.
    appraiser : str or None
        Column of the appraiser; None for an automatic gauge.
    trial : str or None
        Column of the trial; used to find readings that were entered twice. There need be no
        column ``trial``; one of another name must be there.
    factor : str or None
        Column of a third crossed factor: fixture, station, day.

    Returns
    -------
    Layout

    Raises
    ------
    CannotJudge
        One part, no repeated reading, appraisers that share no parts, a factor that cannot be separated
        from the appraisers, a reading entered twice, or readings that are all the same.
    ValueError
        A column that is not there.
    """
    data_arguments.column(data, value, "value")
    columns = {"part": part, "appraiser": appraiser, "factor": factor}
    for argument, name in columns.items():
        if name is not None:
            hint = "For an automatic gauge give appraiser=None." if argument == "appraiser" else ""
            data_arguments.column(data, name, argument, hint=hint)
    if trial is not None and trial != "trial":
        data_arguments.column(data, trial, "trial")
    wanted = [name for name in columns.values() if name is not None]
    doubled = trial is not None and trial in data
    names = [value, *wanted, *([trial] if doubled else [])]
    lists = {name: data[name].tolist() for name in names}
    values = _numbers(lists[value])
    here = np.isfinite(values)
    if not here.all():
        keep = here.tolist()
        lists = {name: [*compress(items, keep)] for name, items in lists.items()}
        values = values[here]
    factors, levels, codes = [], {}, []
    for name, column in columns.items():
        if column is None:
            continue
        levels[name], code = _levels(lists[column])
        factors.append(name)
        codes.append(code)
    if values.size == 0:
        raise CannotJudge("There is no reading in the study.")
    if len(levels["part"]) < 2:
        raise CannotJudge("Only one part was measured, so part-to-part spread is unknown.")
    shape = tuple(len(levels[name]) for name in factors)
    cell = np.ravel_multi_index(tuple(codes), shape)
    counts = np.bincount(cell, minlength=math.prod(shape)).reshape(shape)
    trials = _levels(lists[trial])[1] if doubled else np.zeros(values.size, dtype=int)
    # Sums, and so all numbers, then do not depend on the order of the rows.
    order = np.lexsort((values, trials, cell))
    values = values[order]
    layout = Layout(
        tuple(factors),
        levels,
        np.array(codes).T[order],
        values,
        counts,
        trial=trials[order] if doubled else None,
    )
    data_arguments.computable(values)
    _refuse_nameless(layout)
    if doubled:
        _refuse_doubles(layout, [lists[trial][row] for row in order])
    if counts.max() == 1:
        raise CannotJudge(
            "Each part was read once only in each cell, so repeatability is unknown; every part "
            "must be read at least twice under the same conditions."
        )
    if (values == values[0]).all():
        raise CannotJudge(
            f"All {values.size} readings are the same; the gauge's resolution hides whatever spread "
            "there is."
        )
    for name in factors[1:]:
        _refuse_strangers(layout, name)
    return _separable(layout)


def _numbers(values: list[Any]) -> NDArray[np.float64]:
    try:
        return np.array(values, dtype=float)
    except TypeError:  # pandas' own sign for a missing value
        import pandas as pd

        return np.array([math.nan if pd.isna(value) else value for value in values], dtype=float)


def _levels(labels: list[Any]) -> tuple[tuple[str, ...], NDArray[np.int_]]:
    """Return the names of the levels in their sorted order, and the code of each reading."""
    called = {label: str(label) for label in dict.fromkeys(labels)}
    names = sorted(set(called.values()))
    at = {name: place for place, name in enumerate(names)}
    place = {label: at[name] for label, name in called.items()}
    return tuple(names), np.array([*map(place.__getitem__, labels)])


def _refuse_nameless(layout: Layout) -> None:
    for at, name in enumerate(layout.factors):
        for empty in ("nan", "None", "<NA>", ""):
            if empty in layout.levels[name]:
                rows = int((layout.codes[:, at] == layout.levels[name].index(empty)).sum())
                raise CannotJudge(f"{rows} of {layout.values.size} readings name no {name}.")


def _refuse_doubles(layout: Layout, trials: list[Any]) -> None:
    called = {label: str(label) for label in dict.fromkeys(trials)}
    entries = [*zip(layout.cells.tolist(), map(called.__getitem__, trials), strict=True)]
    if len(set(entries)) == len(entries):
        return
    row = entries.index(Counter(entries).most_common(1)[0][0])
    where = [f"part {layout.levels['part'][layout.codes[row, 0]]}"] + [
        f"{name} {layout.levels[name][layout.codes[row, at]]}"
        for at, name in enumerate(layout.factors)
        if at
    ]
    where.append(f"trial {entries[row][1]}")
    text = ", ".join(where)
    raise CannotJudge(
        f"{text[0].upper()}{text[1:]} was entered twice; which reading counts must be decided first."
    )


def _separable(layout: Layout) -> Layout:
    """Merge appraiser and factor where each level of one belongs to one of the other.

    Anything else that keeps main effects from being separated is refused; both are seen by the rank
    of the design with a column for each level.
    """
    live = [at for at in range(len(layout.factors)) if len(layout.levels[layout.factors[at]]) > 1]
    if len(live) < 3:
        return layout
    first, second = live[1:]
    if _rank(layout, live) == 1 + sum(layout.counts.shape[at] - 1 for at in live):
        return layout
    used = layout.counts.sum(axis=0) > 0
    names = layout.factors[first], layout.factors[second]
    if (used.sum(axis=1) == 1).all():
        return layout.less(second)
    if (used.sum(axis=0) == 1).all():
        return layout.less(first)
    together = ", ".join(
        f"{layout.levels[names[0]][row]} with {layout.levels[names[1]][column]}"
        for row, column in np.argwhere(used)[:4]
    )
    raise CannotJudge(
        f"The readings do not separate the spreads of part, {names[0]} and {names[1]}: too few "
        f"of their levels were measured together ({together} ...). Each {names[0]} must measure the same "
        f"parts under more than one {names[1]}, so that all are linked; or give one of the two only."
    )


def _rank(layout: Layout, which: list[int]) -> int:
    cells = np.unique(layout.codes[:, which], axis=0)
    columns = [np.eye(layout.counts.shape[at])[cells[:, i]] for i, at in enumerate(which)]
    return int(np.linalg.matrix_rank(np.hstack([np.ones((len(cells), 1)), *columns])))


def _refuse_strangers(layout: Layout, name: str) -> None:
    """Refuse levels that share no parts even by way of others: they cannot be separated from the parts."""
    if layout.counts.all():
        return
    at = layout.factors.index(name)
    others = tuple(i for i in range(layout.counts.ndim) if i not in (0, at))
    shared = (layout.counts.sum(axis=others) if others else layout.counts) > 0
    joined = {0}
    grown = True
    while grown:
        parts = shared[:, sorted(joined)].any(axis=1)
        now = set(np.flatnonzero(shared[parts].any(axis=0)).tolist())
        grown = not now <= joined
        joined |= now
    missing = [level for i, level in enumerate(layout.levels[name]) if i not in joined]
    if missing:
        word = name.capitalize()
        strange, known = (
            sorted((layout.levels["part"][i] for i in np.flatnonzero(read)), key=natural_order)
            for read in (shared[:, layout.levels[name].index(missing[0])], parts)
        )
        raise CannotJudge(
            f"{word} {missing[0]} measured none of the parts that {name} {layout.levels[name][0]} did ({', '.join(strange[:3])}, … and {', '.join(known[:3])}, …); "
            "without shared parts the spread between them cannot be separated from that of the parts. The same part must "
            f"bear the same name for each {name}."
        )
