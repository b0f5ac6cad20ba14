"""Lagged products of one file of a line log, in memory.

The same sums as the question `questions.lagged`, which a data base answers by a join of the file with
itself for every lag. Measured on a day of 374,400 parts of six characteristics, on one core: one lag takes
DuckDB 0.11 s, all nine laid out by order number take 0.009 s (with two stations and values missing 0.16 s
against 0.17 s for all nine); the whole day's other sums take 0.06 s. Where order numbers leave more gaps
than parts, or are no whole numbers, pairs are looked up instead. A test holds the two ways equal.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linestudy.linelog.questions import LAGS

if TYPE_CHECKING:
    from linestudy.linelog.columns import LogColumns
    from linestudy.linelog.questions import Scale

#: Places per part beyond which order numbers are looked up rather than laid out.
_SPARSE = 8


def lagged_products(
    columns: LogColumns, scale: tuple[Scale, ...]
) -> dict[str, list[dict[str, Any]]]:
    """Pairs, sums of products and of either member, by lag.

    Parameters
    ----------
    columns : LogColumns
        ``order``, a column for each characteristic and, if known, ``station``.
    scale : tuple of Scale

    Returns
    -------
    dict
        Lag (as text) to rows of ``n0, p0, a0, b0, n1, …``; sums are None where there is no pair. One
        row, or one for each pair of stations, named ``before`` and ``now``.
    """
    order = columns.order
    tagged = "station" in columns.names
    names, codes = columns.coded("station") if tagged else ([None], None)
    lines = _Lines(order)
    found: dict[str, list[dict[str, Any]]] = {str(lag): [] for lag in LAGS}
    # Memory once for the values of each characteristic in turn; a line of them may be this very piece.
    work = np.zeros(order.size)
    # Which pairs of stations follow each other at a lag, values or not.
    rows_of = [None if codes is None else np.flatnonzero(codes == k) for k in range(len(names))]
    there = [lines.laid_out(work, rows, True) for rows in rows_of]
    for lag in LAGS:
        for (one, before), (two, now) in itertools.product(enumerate(names), repeat=2):
            if lines.sums(there[one], there[two], lag)[0]:
                found[str(lag)].append({"before": before, "now": now} if tagged else {})
    places = {
        key: [(names.index(r.get("before")), names.index(r.get("now"))) for r in rows]
        for key, rows in found.items()
    }
    for i, item in enumerate(scale):
        values = np.subtract(columns.values(item.id), item.offset, out=work)
        held = [lines.laid_out(values, rows, columns.whole(item.id)) for rows in rows_of]
        for lag in LAGS:
            for row, (one, two) in zip(found[str(lag)], places[str(lag)], strict=True):
                n, *sums = lines.sums(held[one], held[two], lag)
                row[f"n{i}"] = n
                row |= {
                    f"{key}{i}": value if n else None
                    for key, value in zip("pab", sums, strict=True)
                }
    if not tagged:
        empty = {f"{name}{i}": None for i in range(len(scale)) for name in "pab"}
        nothing = empty | {f"n{i}": 0 for i in range(len(scale))}
        found = {key: rows or [nothing] for key, rows in found.items()}
    return found


#: Values whose products are summed by the matrix library in one go; with more it would use other cores.
_BLOCK = 8192


def _products_sum(x: NDArray[np.float64], y: NDArray[np.float64]) -> float:
    """Sum of products of two columns; on one core, for an engine is at work on the other."""
    whole = x.size // _BLOCK * _BLOCK
    blocks = np.vecdot(x[:whole].reshape(-1, _BLOCK), y[:whole].reshape(-1, _BLOCK))
    return float(blocks.sum() + np.vecdot(x[whole:], y[whole:]))


@dataclass(frozen=True)
class _Line:
    """Values of one station: at their places, nought elsewhere, and where there is one."""

    value: NDArray[np.float64]
    #: None where there is one everywhere.
    there: NDArray[np.float64] | None

    @cached_property
    def total(self) -> float:
        """Sum of all values."""
        return float(self.value.sum())


class _Lines:
    """Order numbers of a file, and how values are laid out by them."""

    def __init__(self, order: NDArray[np.float64]) -> None:
        self._given = self._order = order
        # Rows of stations live as long as this does, so that each may be known by its identity.
        self._rising: dict[int, bool] = {}
        self._known: dict[int, tuple[Any, Any]] = {}
        place = order - (float(order.min()) if order.size else 0.0)
        last = float(place.max()) if order.size else 0.0
        self._laid = last < _SPARSE * max(order.size, 1) and bool((np.floor(place) == place).all())
        if self._laid:
            self._place, self._size = place.astype(np.int64), int(last) + 1
        else:
            self._place = np.argsort(order, kind="stable")
            self._order = order[self._place]

    def laid_out(
        self, values: NDArray[np.float64], rows: NDArray[np.int64] | None, whole: bool
    ) -> _Line:
        """Values of some rows, or of all, in the order of their numbers; a gap is a place with nothing in it.

        `whole` says that there is known to be a value in each of them.
        """
        here = values if rows is None else values[rows]
        full = here.size == (self._size if self._laid else values.size)
        without_gaps = full and self._rising_in(rows)
        if not self._laid:
            held = values
            if rows is not None:
                held = np.full(values.size, np.nan)
                held[rows] = here
            line = held[self._place]
        elif without_gaps:
            line = here if whole or rows is not None else here.copy()
        else:
            line = np.full(self._size, np.nan)
            line[self._place if rows is None else self._place[rows]] = here
        if whole and full and (without_gaps or not self._laid):
            return _Line(line, None)
        there = np.isfinite(line)
        if there.all():
            return _Line(line, None)
        # Nothing counts as nothing in a product; how many pairs there are is counted by itself.
        line[~there] = 0.0
        return _Line(line, there.astype(float))

    def _rising_in(self, rows: NDArray[np.int64] | None) -> bool:
        """Whether order numbers rise from row to row."""
        key = 0 if rows is None else id(rows)
        if key not in self._rising:
            order = self._given if rows is None else self._given[rows]
            self._rising[key] = bool((order[1:] > order[:-1]).all())
        return self._rising[key]

    def sums(self, before: _Line, now: _Line, lag: int) -> tuple[int, float, float, float]:
        """Pairs, sum of products, sums of the earlier and of the later members."""
        if self._laid:
            a, b = slice(None, -lag), slice(lag, None)
        else:
            a, b = self._pairs(lag)
        x, y = before.value[a], now.value[b]
        if before.there is None and now.there is None:
            if not self._laid:
                return x.size, _products_sum(x, y), float(x.sum()), float(y.sum())
            # All but the few at either end, which are not summed anew for every lag.
            less = float(before.value[-lag:].sum()), float(now.value[:lag].sum())
            return x.size, _products_sum(x, y), before.total - less[0], now.total - less[1]
        one = np.ones(x.size) if before.there is None else before.there[a]
        two = np.ones(y.size) if now.there is None else now.there[b]
        return (
            int(_products_sum(one, two)),
            _products_sum(x, y),
            _products_sum(x, two),
            _products_sum(one, y),
        )

    def _pairs(self, lag: int) -> tuple[Any, Any]:
        """Places of parts whose numbers differ by the lag."""
        if lag not in self._known:
            order = self._order
            at = np.minimum(np.searchsorted(order, order + lag), max(order.size - 1, 0))
            (found,) = np.nonzero(order[at] == order + lag)
            self._known[lag] = found, at[found]
        return self._known[lag]
