"""Subgroups of a run as a few numbers each: all that a chart needs of them.

A chart of a week (2.6 million parts) is drawn from these; whoever holds the parts in a data
base makes the same table there and hands it over instead of the parts.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics.arrays import FloatArray
from linestudy.results import CannotJudge, arguments, data_arguments

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Summaries:
    """Summaries of subgroups: one entry for each, in production order.

    Attributes
    ----------
    order : numpy.ndarray of float
        Order number of the first part.
    n : numpy.ndarray of float
        Parts.
    mean : numpy.ndarray of float
        [unit of the values] Mean.
    sd : numpy.ndarray of float
        [unit of the values] Standard deviation; 0 of a single part, with no degrees of freedom.
    low, high : numpy.ndarray of float
        [unit of the values] Smallest and largest value.
    median : numpy.ndarray of float
        [unit of the values] Median; the mean where the source did not give it.
    has_median : bool
        Whether the source gave medians.
    """

    order: FloatArray
    n: FloatArray
    mean: FloatArray
    sd: FloatArray
    low: FloatArray
    high: FloatArray
    median: FloatArray
    has_median: bool = True

    @property
    def size(self) -> int:
        """Return the number of subgroups."""
        return int(self.n.size)

    @property
    def range(self) -> Any:
        """Return the largest minus the smallest value of each subgroup."""
        return self.high - self.low

    @property
    def squares(self) -> Any:
        """Return the sum of squares about each subgroup's own mean."""
        return self.sd**2 * (self.n - 1)

    def where(self, keep: Any) -> Summaries:
        """Return the subgroups that `keep` (a mask) chooses."""
        return Summaries(
            self.order[keep],
            self.n[keep],
            self.mean[keep],
            self.sd[keep],
            self.low[keep],
            self.high[keep],
            self.median[keep],
            self.has_median,
        )


def summarise(
    values: ArrayLike, subgroup: ArrayLike | None = None, order: ArrayLike | None = None
) -> Summaries:
    """Summarise the subgroups of a run.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    subgroup : array_like, shape (n,), optional
        Label of each value; values whose label is missing are left out. Without labels
        every value is a subgroup of one.
    order : array_like of float, shape (n,), optional
        Order number of each value; 1, 2, … when absent.

    Returns
    -------
    Summaries
        Order, size, mean, standard deviation, extremes and median of each.

    Raises
    ------
    CannotJudge
        Fewer than two values, values that are missing, no value in any subgroup, or a label that comes back
        after another subgroup began.
    ValueError, TypeError
        Values of more than one dimension, or lengths that differ.

    See Also
    --------
    summaries_from_table : Summaries made elsewhere.
    control_chart_of_summaries : The chart of them.

    Notes
    -----
    Mean and standard deviation by definition, two passes over each subgroup, so that a large offset
    costs nothing.

    References
    ----------
    Chan, Golub & LeVeque, *The American Statistician* 37 (1983), 242-247, eq. 1.7.

    Examples
    --------
    >>> summarise([1.0, 3.0, 2.0, 4.0], [0, 0, 1, 1]).mean.tolist()
    [2.0, 3.0]
    """
    y = data_arguments.one_dimensional(values, least=2)
    arguments.same_length(values=y, subgroup=subgroup, order=order)
    position = np.arange(1.0, y.size + 1) if order is None else np.asarray(order, dtype=float)
    if subgroup is None:
        one = np.ones(y.size)
        return Summaries(position, one, y, np.zeros(y.size), y, y, y)
    codes = _codes(subgroup)
    inside = np.flatnonzero(codes >= 0)
    if inside.size == 0:
        raise CannotJudge("No part belongs to a subgroup.")
    y, position, codes = y[inside], position[inside], codes[inside]
    starts = np.concatenate([[0], np.flatnonzero(codes[1:] != codes[:-1]) + 1])
    if np.unique(codes[starts]).size < starts.size:
        raise CannotJudge(
            "A subgroup label comes back after another subgroup began; a subgroup must be one "
            "stretch of the run."
        )
    n = np.diff(np.append(starts, y.size)).astype(float)
    index = np.repeat(np.arange(n.size), n.astype(int))
    offset = float(y.mean())
    centred = y - offset
    mean = np.bincount(index, centred) / n
    deviation = centred - mean[index]
    # The correction of Chan, Golub & LeVeque (1983, eq. 1.7) keeps a large offset harmless.
    shift = np.bincount(index, deviation) / n
    squares = np.bincount(index, (deviation - shift[index]) ** 2)
    low, high = np.minimum.reduceat(y, starts), np.maximum.reduceat(y, starts)
    median = _medians(y, starts, n.astype(int), index)
    sd = np.sqrt(squares / np.maximum(n - 1, 1))
    # Equal values leave rounding dust in the sum of squares; the range knows they are equal.
    sd = np.where(high == low, 0.0, sd)
    return Summaries(position[starts], n, offset + mean + shift, sd, low, high, median)


def _medians(y: Any, starts: Any, n: Any, index: Any) -> Any:
    if n.max() == n.min():
        return np.median(y.reshape(n.size, -1), axis=1)
    ordered = y[np.lexsort((y, index))]
    return (ordered[starts + (n - 1) // 2] + ordered[starts + n // 2]) / 2


def summaries_from_table(data: pd.DataFrame) -> Summaries:
    """Take summaries that were made elsewhere, for instance in a data base.

    Parameters
    ----------
    data : pandas.DataFrame
        One row per subgroup in production order: ``n``, ``mean``, ``sd``, ``min``, ``max`` and,
        where known, ``order`` (1, 2, … otherwise) and ``median``. The line log's subgroup table
        is one.

    Returns
    -------
    Summaries
        The same columns as arrays.

    Raises
    ------
    CannotJudge
        A column is empty, or holds what cannot be (n below 1, min above max).
    ValueError, TypeError
        No table, or one that lacks a column.

    See Also
    --------
    summarise : Summaries from the values.

    Notes
    -----
    By definition: nothing is computed here but checked.

    Examples
    --------
    >>> import pandas as pd
    >>> rows = pd.DataFrame({"order": [1, 6], "n": [5, 5], "mean": [2.0, 2.1], "sd": [0.1, 0.1],
    ...     "min": [1.9, 2.0], "max": [2.1, 2.2]})
    >>> summaries_from_table(rows).size
    2
    """
    names = ("order", "n", "mean", "sd", "min", "max")
    if "order" not in data_arguments.table(data, "data"):
        data = data.assign(order=np.arange(1.0, len(data) + 1))
    for name in names:
        data_arguments.column(data, name, "data")
    sd = data["sd"].where(data["n"] > 1, 0.0)
    columns = [
        data_arguments.one_dimensional(
            sd if name == "sd" else data[name], name=name, least=1, what=f"{name} of a subgroup"
        )
        for name in names
    ]
    order, n, mean, sd_array, low, high = columns
    if (n < 1).any() or (low > high).any() or (sd_array < 0).any():
        raise CannotJudge(
            "A subgroup has fewer than one part, or its smallest exceeds its largest."
        )
    given = "median" in data
    median = data_arguments.one_dimensional(data["median"], name="median") if given else mean
    return Summaries(order, n, mean, sd_array, low, high, median, given)


def _codes(subgroup: Any) -> Any:
    import pandas as pd

    return np.asarray(pd.factorize(pd.array(subgroup))[0])
