"""Sums over quarter hours, classes of values and counts by tag of one file of a line log, in memory.

They are what `queries.quarter_hours`, `queries.histogram` and `queries.counts` ask; a test holds the answers equal to 1e-9. An
engine reads every column anew for each sum. Here rows are put stream by stream, where one quarter hour, coil and stop
follow each other, and each piece of a column is summed up to the fourth power, put into classes and searched for its extremes
while it lies near the processor. Of a day of 864,000 parts of six characteristics with one reading in a thousand missing this takes
a third of the time that DuckDB takes for the same answers. Where a clock has gaps the engine is asked.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linestudy.linelog.queries import QUARTER, QUARTER_PARTS, TAGS

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pyarrow as pa

    from linestudy.linelog.memory.lagged import LaggedProducts
    from linestudy.linelog.memory.unpacked import LogColumns
    from linestudy.linelog.queries import Scale

#: Values that are gone through in one go: a few columns of them stay near the processor.
_PIECE = 16_384
#: Classes from the lowest to the highest in a piece beyond which they are sorted instead of laid out.
_WIDE = 1 << 18
#: Numbers of cells must be whole numbers of 64 bits.
_MOST = 2.0**62
#: What is counted by.
_COUNTED = ("verdict", "coil", "station")


def sums_in_memory(
    columns: LogColumns,
    scale: tuple[Scale, ...],
    line_rate: float | None = None,
    marks: tuple[float, ...] = (),
    lags: LaggedProducts | None = None,
) -> dict[str, pa.Table] | None:
    """Sum a file over its quarter hours, and count its values by class and its rows by tag.

    Parameters
    ----------
    columns : LogColumns
        ``order``, tags and a column for each characteristic.
    scale : tuple of Scale
        Offset and class width of each.
    line_rate : float, optional
        Strokes a minute.
    marks : tuple of float
        Order numbers of events, between which a phase lies.
    lags : LaggedProducts, optional
        What is summed by lag, to which each characteristic is added while its values are laid out.

    Returns
    -------
    dict of str to pyarrow.Table, or None
        ``quarter_hours``, ``histogram`` and, where the file has tags, ``counts``; None where a part's quarter hour is not known.
    """
    runs = _runs_of(columns, line_rate, marks)
    if runs is None:
        return None
    summed, classes = runs.answer(columns.order), []
    laid = np.empty(columns.order.size)
    for i, item in enumerate(scale):
        whole = columns.whole(item.id)
        values, missing = columns.numbers(item.id)
        missing = runs.places_of(missing)
        classes.append(_one(values, missing, whole, item, i, runs, summed, laid))
        if lags is not None:
            lags.add(i, laid, missing, runs.streams)
    found = {"quarter_hours": _table(summed), "histogram": _classes(classes)}
    counted = _counts(columns)
    return found if counted is None else found | {"counts": counted}


@dataclass(frozen=True)
class _Runs:
    """Rows in an order in which those of one cell follow each other, and where each stretch of them begins.

    Attributes
    ----------
    rows : numpy.ndarray of int, shape (n,), or None
        Place of each row in the file; None where they are as in the file.
    begins : numpy.ndarray of int, shape (stretches,)
        A stretch ends at a cell's last row or with its piece.
    cell : numpy.ndarray of int, shape (stretches,)
        Cell of each stretch.
    place : numpy.ndarray of float, shape (n,)
        Order numbers from the first of the file.
    keys : dict
        What the cells differ in, in the order of the cells.
    streams : list of slice
        Where the rows of each station are.
    """

    rows: Any
    begins: NDArray[np.int64]
    cell: NDArray[np.int64]
    place: NDArray[np.float64]
    keys: dict[str, Any]
    streams: list[slice]

    @cached_property
    def _where(self) -> NDArray[np.int64]:
        """Place of each row of the file in this order."""
        found = np.empty(self.place.size, dtype=np.int64)
        found[self.rows] = np.arange(self.place.size)
        return found

    def places_of(self, rows: NDArray[np.int64]) -> NDArray[np.int64]:
        """Find where rows of the file are in this order, rising."""
        return rows if self.rows is None or not rows.size else np.sort(self._where[rows])

    @property
    def cells(self) -> int:
        return int(self.cell.max()) + 1

    def pieces(self) -> Any:
        """Give each piece of rows: its ends, and its stretches among all and from its own beginning."""
        n = self.place.size
        for begin in range(0, n, _PIECE):
            end = min(begin + _PIECE, n)
            own = slice(*np.searchsorted(self.begins, (begin, end)))
            yield begin, end, own, self.begins[own] - begin

    def total(self, parts: Any) -> Any:
        """Add up what stretches of one cell sum to."""
        return np.bincount(self.cell, parts, minlength=self.cells)

    def answer(self, order: Any) -> dict[str, Any]:
        """Begin the answer: keys, rows, first order number and sums of order numbers."""
        n = self.place.size
        sizes = np.diff(np.append(self.begins, n))
        first = np.full(self.cells, np.inf)
        own = order if self.rows is None else order[self.rows]
        np.minimum.at(first, self.cell, np.minimum.reduceat(own, self.begins))
        square = self.place * self.place
        return {
            **self.keys,
            "rows": self.total(sizes).astype(np.int64),
            "first": first,
            "x": self.total(np.add.reduceat(self.place, self.begins)),
            "xx": self.total(np.add.reduceat(square, self.begins)),
        }


def _runs_of(
    columns: LogColumns, line_rate: float | None, marks: tuple[float, ...]
) -> _Runs | None:
    order = columns.order
    if not order.size or not np.isfinite(order.sum()):
        return None
    quarter = _quarters(columns, line_rate)
    if quarter is None:
        return None
    least = int(quarter.min())
    levels: list[tuple[str, Sequence[Any], Any]] = [
        ("quarter", range(least, int(quarter.max()) + 1), quarter - least)
    ]
    if marks:
        phase = np.searchsorted(np.sort(np.asarray(marks, dtype=float)), order, side="right")
        levels.append(("phase", range(len(marks) + 1), phase))
    levels += [(name, *columns.coded(name)) for name in TAGS if name in columns.names]
    if np.prod([float(len(names)) for _, names, _ in levels]) > _MOST:
        return None
    key = _numbered(levels)
    name, stations, station = levels[-1]
    rows, streams = None, [slice(0, order.size)]
    if name == "station" and len(stations) > 1:
        # Whole numbers of 16 bits are sorted in the time it takes to read them.
        small = station.astype(np.uint16) if len(stations) < 1 << 16 else station
        rows = np.argsort(small, kind="stable")
        key = key[rows]
        ends = np.cumsum(np.bincount(station, minlength=len(stations)))
        streams = [slice(int(a), int(b)) for a, b in pairwise([0, *ends])]
    changes = np.flatnonzero(key[1:] != key[:-1]) + 1
    begins = np.union1d(changes, np.arange(0, key.size, _PIECE))
    cells, cell = np.unique(key[begins], return_inverse=True)
    keys: dict[str, Any] = {}
    for name, names, _ in reversed(levels):
        keys[name] = [names[k] for k in cells % len(names)]
        cells = cells // len(names)
    keys.setdefault("phase", [0] * cells.size)
    place = order - order.min()
    named = {name: keys[name] for name in ("quarter", "phase", *TAGS) if name in keys}
    laid = place if rows is None else place[rows]
    return _Runs(rows, begins, cell, laid, named, streams)


def _numbered(levels: list[tuple[str, Sequence[Any], Any]]) -> Any:
    """Number each combination of levels, in their order, in 32 bits where these are enough."""
    many = np.prod([float(len(names)) for _, names, _ in levels])
    key = levels[0][2].astype(np.int32 if many < np.iinfo(np.int32).max else np.int64)
    for _, names, own in levels[1:]:
        key *= len(names)
        key += own.astype(key.dtype, copy=False)
    return key


def _quarters(columns: LogColumns, line_rate: float | None) -> NDArray[np.int64] | None:
    """Number the quarter hour of each row: by the line's rate, by the clock, or by 10,000 parts; None without an entry."""
    import pyarrow as pa

    if line_rate:
        return np.floor(columns.order / (QUARTER / 60 * line_rate)).astype(np.int64)
    if "time" not in columns.names:
        return np.floor(columns.order / QUARTER_PARTS).astype(np.int64)
    clock = columns.table.column("time")
    if clock.null_count or not pa.types.is_timestamp(clock.type):
        return None
    per_second = {"s": 1, "ms": 10**3, "us": 10**6, "ns": 10**9}[clock.type.unit]
    ticks = clock.combine_chunks().cast(pa.int64()).to_numpy()
    # An engine cuts a clock to whole seconds first, towards nought.
    return np.asarray((ticks // per_second) // QUARTER) if ticks.min(initial=0) >= 0 else None


def _one(
    values: Any,
    missing: NDArray[np.int64],
    whole: bool,
    item: Scale,
    i: int,
    runs: _Runs,
    summed: dict[str, Any],
    laid: NDArray[np.float64],
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Add the sums of one characteristic to the answer, lay its values out less the offset, and count its classes."""
    parts = {name: np.empty(runs.begins.size) for name in ("y", "xy", "yy", "yyy", "yyyy")}
    low, high = np.empty(runs.begins.size), np.empty(runs.begins.size)
    counted: list[tuple[int, Any]] = []
    value, work = np.empty(_PIECE), np.empty(_PIECE)
    for begin, end, own, at in runs.pieces():
        v, w, d = value[: end - begin], work[: end - begin], laid[begin:end]
        if runs.rows is None:
            np.copyto(v, values[begin:end])
        else:
            np.take(values, runs.rows[begin:end], out=v, mode="clip")
        none = missing[slice(*np.searchsorted(missing, (begin, end)))] - begin
        # What stands where there is no reading is not known.
        v[none] = item.offset
        np.subtract(v, item.offset, out=d)
        np.divide(d, item.width, out=w)
        np.add(w, 0.5, out=w)
        np.floor(w, out=w)
        counted.append(_count(np.delete(w, none) if none.size else w))
        v[none] = np.inf
        np.minimum.reduceat(v, at, out=low[own])
        v[none] = -np.inf
        np.maximum.reduceat(v, at, out=high[own])
        np.add.reduceat(d, at, out=parts["y"][own])
        np.multiply(d, runs.place[begin:end], out=w)
        np.add.reduceat(w, at, out=parts["xy"][own])
        np.multiply(d, d, out=w)
        np.add.reduceat(w, at, out=parts["yy"][own])
        np.multiply(w, d, out=v)
        np.add.reduceat(v, at, out=parts["yyy"][own])
        np.multiply(w, w, out=v)
        np.add.reduceat(v, at, out=parts["yyyy"][own])
    sums = {name: runs.total(part) for name, part in parts.items()}
    if not whole:
        sums |= _of_those_there(missing, runs, summed)
    ends = {"low": np.full(runs.cells, np.inf), "high": np.full(runs.cells, -np.inf)}
    np.minimum.at(ends["low"], runs.cell, low)
    np.maximum.at(ends["high"], runs.cell, high)
    empty = None if whole else sums["n"] == 0
    for name, one in (sums | ends).items():
        summed[f"{name}{i}"] = one if name == "n" or empty is None else np.ma.array(one, mask=empty)
    return _joined_classes(counted)


_NONE: NDArray[np.int64] = np.empty(0, dtype=np.int64)


def _of_those_there(missing: Any, runs: _Runs, summed: dict[str, Any]) -> dict[str, Any]:
    """Count readings and sum their order numbers: all rows', less those of the few without one."""
    cell = runs.cell[np.searchsorted(runs.begins, missing, side="right") - 1]
    place = runs.place[missing]

    def less(name: str, weights: Any) -> Any:
        return summed[name] - np.bincount(cell, weights, minlength=runs.cells)

    n = summed["rows"] - np.bincount(cell, minlength=runs.cells)
    return {"n": n, "x": less("x", place), "xx": less("xx", place * place)}


def _count(floors: Any) -> tuple[int, Any]:
    """Count whole numbers: the lowest and counts from it on, or, where they spread far, numbers and counts."""
    if not floors.size:
        return 0, _NONE
    low, high = float(floors.min()), float(floors.max())
    if high - low < _WIDE:
        return int(low), np.bincount((floors - low).astype(np.int32))
    return 0, np.unique(floors.astype(np.int64), return_counts=True)


def _joined_classes(counted: list[tuple[int, Any]]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Add up the classes of all pieces."""
    numbers, counts = [], []
    for low, found in counted:
        if isinstance(found, tuple):
            number, count = found
        else:
            at = np.flatnonzero(found)
            number, count = at + low, found[at]
        numbers.append(number)
        counts.append(count)
    named, where = np.unique(np.concatenate([_NONE, *numbers]), return_inverse=True)
    total = np.bincount(where, np.concatenate([_NONE, *counts]), minlength=named.size)
    return named, total.astype(np.int64)


def _classes(found: list[tuple[Any, Any]]) -> pa.Table:
    import pyarrow as pa

    items = np.repeat(np.arange(len(found)), [number.size for number, _ in found])
    return pa.table(
        {
            "item": items.astype(np.int64),
            "class": np.concatenate([_NONE, *(number for number, _ in found)]),
            "count": np.concatenate([_NONE, *(count for _, count in found)]),
        }
    )


def _counts(columns: LogColumns) -> pa.Table | None:
    """Count rows by verdict, coil and station; None where the file has none of these."""
    import pyarrow as pa

    tags: list[tuple[str, Sequence[Any], Any]] = [
        (name, *columns.coded(name)) for name in _COUNTED if name in columns.names
    ]
    if not tags:
        return None
    key = _numbered(tags)
    if np.prod([float(len(names)) for _, names, _ in tags]) < _WIDE:
        # Counted by place: sorting 864,000 numbers takes twenty times as long.
        rows = np.bincount(key)
        kinds = np.flatnonzero(rows)
        rows = rows[kinds]
    else:
        kinds, rows = np.unique(key, return_counts=True)
    found: dict[str, Any] = {}
    for name, names, _ in reversed(tags):
        found[name] = pa.array([names[k] for k in kinds % len(names)], pa.string())
        kinds = kinds // len(names)
    return pa.table({**dict(reversed(found.items())), "rows": rows})


def _table(summed: dict[str, Any]) -> pa.Table:
    """Make the answer's table; what no reading sums to is missing in it."""
    import pyarrow as pa

    columns = {}
    for name, column in summed.items():
        if name in TAGS:
            columns[name] = pa.array(column, pa.string())
        elif isinstance(column, np.ma.MaskedArray):
            columns[name] = pa.array(column.data, mask=np.ma.getmaskarray(column))
        else:
            columns[name] = pa.array(column, pa.int64() if isinstance(column, list) else None)
    return pa.table(columns)
