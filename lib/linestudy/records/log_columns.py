"""One file of a line log in memory, and what is sooner counted there than asked of a data base.

Moments, classes of values and what stands first and last in a period are one pass over a column that is at
hand; a data base multiplies, sorts or hashes for them. They are the answers that the expressions of
the same names in `log_expressions` give, which an engine is asked where it stands elsewhere (Spark).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linestudy.records.log_expressions import PERIOD_PARTS
from linestudy.results import InputError

if TYPE_CHECKING:
    from pathlib import Path

    import pyarrow as pa

    from linestudy.records.log_expressions import Scale

#: Classes per value beyond which they are sorted rather than counted in a row of boxes.
_SPARSE = 8


@dataclass(frozen=True)
class LogColumns:
    """The columns of one file of a line log.

    Attributes
    ----------
    table : pyarrow.Table
        ``order``, tags and a column for each characteristic; one piece of memory each.
    """

    table: pa.Table

    @property
    def names(self) -> list[str]:
        """Names of the columns."""
        return list(self.table.column_names)

    @cached_property
    def order(self) -> NDArray[np.float64]:
        """Order numbers, shape (parts,)."""
        return self.values("order")

    def values(self, name: str) -> NDArray[np.float64]:
        """A column of numbers, NaN where there is none; it may not be written to."""
        return np.asarray(self.table.column(name).to_numpy(), dtype=float)

    def present(self, name: str) -> NDArray[np.float64]:
        """The numbers of a column that are there; they may not be written to."""
        values = self.values(name)
        return values if self.whole(name) else values[~np.isnan(values)]

    def whole(self, name: str) -> bool:
        """Whether every part has an entry."""
        return int(self.table.column(name).null_count) == 0

    def coded(self, name: str) -> tuple[list[str | None], NDArray[np.int64]]:
        """Different entries of a column of text in order, and the number of each part's.

        Parts without an entry come last, as one that is None.
        """
        column = self.table.column(name).combine_chunks().dictionary_encode()
        found = column.dictionary.to_pylist()
        codes = column.indices.fill_null(len(found)).to_numpy()
        ranked = sorted(range(len(found)), key=lambda at: found[at])
        rank = np.empty(len(found) + 1, dtype=np.int64)
        rank[ranked] = np.arange(len(found))
        rank[-1] = len(found)
        rest: list[str | None] = [None] if column.null_count else []
        return [*(found[at] for at in ranked), *rest], rank[codes]

    def periods(self) -> NDArray[np.int64]:
        """Hour of each part since 1970 by the clock (the least of all numbers where it is not known), or which
        10,000 of order numbers it is of where there is no clock.
        """
        if "time" in self.names:
            time = self.table.column("time").to_numpy()
            return np.asarray(time.astype("datetime64[h]").astype(np.int64))
        return np.floor(self.order / PERIOD_PARTS).astype(np.int64)


def read_columns(path: Path) -> LogColumns:
    """Read a file of a line log, on one core: another one is at work on the file before.

    Parameters
    ----------
    path : pathlib.Path

    Returns
    -------
    LogColumns

    Raises
    ------
    InputError
        It is damaged.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        with pq.ParquetFile(path, page_checksum_verification=True) as file:
            return LogColumns(file.read(use_threads=False).combine_chunks())
    except (pa.ArrowException, OSError) as error:
        raise InputError(
            f"{path.parent.name}/{path.name}",
            f"is damaged ({type(error).__name__})",
            "delete it and write the log again; only that day is read",
        ) from None


def taken(columns: LogColumns, size: int, every: int) -> pa.Table:
    """Parts that stand in a subgroup, and its number, counted from the first part of the file.

    Parameters
    ----------
    columns : LogColumns
    size, every : int
        Parts of a subgroup, and from the first of one to the first of the next.

    Returns
    -------
    pyarrow.Table
        The columns, and ``subgroup``.
    """
    import pyarrow as pa

    order = columns.order
    place = order - (order.min() if order.size else 0.0)
    number = np.floor(place / every)
    number *= -every
    place += number
    (inside,) = np.nonzero(place < size)
    found = columns.table.take(pa.array(inside))
    numbers = np.rint(number[inside] / -every).astype(np.int64)
    return found.append_column("subgroup", pa.array(numbers))


def moments(columns: LogColumns, scale: tuple[Scale, ...]) -> dict[str, Any]:
    """Count, first order number, sums of the first four powers and extremes of each characteristic.

    Parameters
    ----------
    columns : LogColumns
    scale : tuple of Scale

    Returns
    -------
    dict
        ``rows, origin`` and ``n0, s1_0, s2_0, s3_0, s4_0, low0, high0, …``, the last six None without a value.
    """
    order = columns.order
    found: dict[str, Any] = {
        "rows": order.size,
        "origin": float(order.min()) if order.size else None,
    }
    difference, square = np.empty((2, order.size))
    for i, item in enumerate(scale):
        values = columns.present(item.id)
        keys = [f"s{power}_{i}" for power in (1, 2, 3, 4)] + [f"low{i}", f"high{i}"]
        found[f"n{i}"] = values.size
        if not values.size:
            found |= dict.fromkeys(keys)
            continue
        y = np.subtract(values, item.offset, out=difference[: values.size])
        yy = np.multiply(y, y, out=square[: values.size])
        sums = float(y.sum()), float(yy.sum()), products_sum(yy, y), products_sum(yy, yy)
        extremes = float(values.min()), float(values.max())
        found |= dict(zip(keys, (*sums, *extremes), strict=True))
    return found


#: Values whose products are summed by the matrix library in one go; with more it would use other cores.
_BLOCK = 8192


def products_sum(x: NDArray[np.float64], y: NDArray[np.float64]) -> float:
    """Sum of products of two columns; on one core, for an engine is at work on the other."""
    whole = x.size // _BLOCK * _BLOCK
    blocks = np.vecdot(x[:whole].reshape(-1, _BLOCK), y[:whole].reshape(-1, _BLOCK))
    return float(blocks.sum() + np.vecdot(x[whole:], y[whole:]))


def histogram(columns: LogColumns, scale: tuple[Scale, ...]) -> pa.Table:
    """Class number (value nearest ``offset + class * width``) and count, of every characteristic.

    Parameters
    ----------
    columns : LogColumns
    scale : tuple of Scale

    Returns
    -------
    pyarrow.Table
        ``item`` (place of the characteristic in `scale`), ``class`` and ``count``.
    """
    import pyarrow as pa

    found = []
    # Memory once for all characteristics: asking for more takes longer than what is done in it.
    work = np.empty(columns.order.size)
    number = np.empty(work.size, dtype=np.int64)
    for i, item in enumerate(scale):
        values = columns.present(item.id)
        place, classes = work[: values.size], number[: values.size]
        np.subtract(values, item.offset, out=place)
        place /= item.width
        place += 0.5
        np.floor(place, out=place)
        np.copyto(classes, place, casting="unsafe")
        found.append((i, *_counted(classes)))
    return pa.table(
        {
            "item": np.repeat([i for i, _, _ in found], [held.size for _, held, _ in found]),
            "class": np.concatenate([held for _, held, _ in found]),
            "count": np.concatenate([count for _, _, count in found]),
        }
    )


def _counted(classes: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Different numbers, ascending, and how often each is there; the numbers are used up."""
    if not classes.size:
        return classes, classes
    low, high = int(classes.min()), int(classes.max())
    if high - low > _SPARSE * (classes.size + 1000):
        return np.unique(classes, return_counts=True)
    classes -= low
    boxes = np.bincount(classes)
    (held,) = np.nonzero(boxes)
    return held + low, boxes[held]


def periods(columns: LogColumns, scale: tuple[Scale, ...]) -> pa.Table:
    """First and last value, count and sum of each characteristic in each period, in order of production.

    Parameters
    ----------
    columns : LogColumns
    scale : tuple of Scale

    Returns
    -------
    pyarrow.Table
        ``period, rows, from_order`` and ``n0, s0, first0, last0, …``; null where a period has no value.
    """
    import pyarrow as pa

    key, order = columns.periods(), columns.order
    by = None if _rising(order) and _rising(key) else np.lexsort((order, key))
    if by is not None:
        key, order = key[by], order[by]
    starts, ends = _runs(key)
    keys, work = key[starts], np.empty(key.size)
    found: dict[str, Any] = {
        "period": pa.array(_named(keys, "time" in columns.names), pa.string()),
        "rows": ends - starts,
        "from_order": order[starts],
    }
    for i, item in enumerate(scale):
        values = columns.values(item.id)
        values = values if by is None else values[by]
        at, begin, end = np.arange(keys.size), starts, ends
        if not columns.whole(item.id):
            there = ~np.isnan(values)
            values, of = values[there], key[there]
            begin, end = _runs(of)
            at = np.searchsorted(keys, of[begin])
        n = np.zeros(keys.size, dtype=np.int64)
        n[at] = end - begin
        sums, first, last = np.zeros((3, keys.size))
        if at.size:
            place = np.subtract(values, item.offset, out=work[: values.size])
            sums[at] = np.add.reduceat(place, begin)
            first[at], last[at] = values[begin], values[end - 1]
        found[f"n{i}"] = n
        found |= {
            f"{name}{i}": pa.array(column, mask=n == 0)
            for name, column in (("s", sums), ("first", first), ("last", last))
        }
    return pa.table(found).sort_by("from_order")


def _rising(values: NDArray[Any]) -> bool:
    return bool((values[1:] >= values[:-1]).all())


def _runs(key: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Where stretches of equal numbers begin and end."""
    cuts = np.flatnonzero(key[1:] != key[:-1]) + 1
    return (
        np.concatenate(([0], cuts))[: key.size],
        np.concatenate((cuts, [key.size]))[: key.size],
    )


def _named(keys: NDArray[np.int64], hours: bool) -> list[str | None]:
    """Periods as they are written."""
    if not hours:
        return [str(key) for key in keys.tolist()]
    times = keys.astype("datetime64[h]").astype("datetime64[s]")
    return [
        None if unknown else str(time).replace("T", " ")
        for time, unknown in zip(times, np.isnat(times), strict=True)
    ]
