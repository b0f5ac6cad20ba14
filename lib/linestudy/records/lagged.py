"""Lagged products of one file of a line log, in memory.

The same sums as the expression `log_expressions.lagged`, which a data base answers by a join of the
file with itself for every lag; laid out by order number, each is one dot product, at a fiftieth of
the time. A file holds a day, so its columns fit in memory one at a time; where order numbers leave
more gaps than parts, or are no whole numbers, pairs are looked up instead.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linestudy.records.log_expressions import LAGS

if TYPE_CHECKING:
    from pathlib import Path

    from linestudy.records.log_expressions import Scale

#: Places per part beyond which order numbers are looked up rather than laid out.
_SPARSE = 8


def lagged_products(path: Path, scale: tuple[Scale, ...]) -> dict[str, dict[str, Any]]:
    """Pairs, sums of products and of either member, by lag.

    Parameters
    ----------
    path : pathlib.Path
        Parquet file with ``order`` and a column for each characteristic.
    scale : tuple of Scale

    Returns
    -------
    dict
        Lag (as text) to ``n0, p0, a0, b0, n1, …``; sums are None where there is no pair.
    """
    import pyarrow.parquet as pq

    order = _column(path, "order", pq)
    place = order - (float(order.min()) if order.size else 0.0)
    laid = order.size > 0 and place.max() < _SPARSE * order.size and bool((place % 1 == 0).all())
    found: dict[str, dict[str, Any]] = {str(lag): {} for lag in LAGS}
    for i, item in enumerate(scale):
        values = _column(path, item.id, pq) - item.offset
        if laid:
            line = np.full(int(place.max()) + 1, np.nan)
            line[place.astype(np.int64)] = values
            there = np.isfinite(line)
            # Nothing counts as nothing in a product; how many pairs there are is counted apart.
            line[~there] = 0.0
            here = there.astype(float)
        for lag in LAGS:
            found[str(lag)] |= (
                _sums(i, line[:-lag], line[lag:], here[:-lag], here[lag:])
                if laid
                else _sums(i, *_looked_up(order, values, lag))
            )
    return found


def _column(path: Path, name: str, pq: Any) -> NDArray[np.float64]:
    column = pq.read_table(path, columns=[name], partitioning=None).column(name)
    return np.asarray(column.to_numpy(), dtype=float)


def _looked_up(
    order: NDArray[np.float64], values: NDArray[np.float64], lag: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    kept = np.isfinite(values)
    order, values = order[kept], values[kept]
    ranked = np.argsort(order, kind="stable")
    order, values = order[ranked], values[ranked]
    at = np.minimum(np.searchsorted(order, order + lag), max(order.size - 1, 0))
    there = order[at] == order + lag
    return values[there], values[at[there]]


def _sums(
    i: int,
    before: NDArray[np.float64],
    now: NDArray[np.float64],
    has_before: NDArray[np.float64] | None = None,
    has_now: NDArray[np.float64] | None = None,
) -> dict[str, Any]:
    one = np.ones(before.size) if has_before is None else has_before
    two = one if has_now is None else has_now
    n = int(one @ two)
    if n == 0:
        return {f"n{i}": 0, f"p{i}": None, f"a{i}": None, f"b{i}": None}
    return {
        f"n{i}": n,
        f"p{i}": float(before @ now),
        f"a{i}": float(before @ two),
        f"b{i}": float(one @ now),
    }
