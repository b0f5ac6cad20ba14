"""What the last columns of a design add to those before them, for many sets of cross products at once.

A Cholesky reduction with the columns in question last gives the sum of squares they free as a sum of squares,
not as a difference of two large ones, and shows which of them are sums of the columns before (Golub & Van
Loan, *Matrix Computations*, 4th ed., 4.2). Misleads where columns differ by less than the square
root of the machine's precision: they then count as the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

#: A column of which the others leave less than this part of its square is one of theirs.
_ALIASED = 1e-10


@dataclass(frozen=True)
class LastColumns:
    """What the last columns of a design add to those before them, in a stack of reductions.

    Attributes
    ----------
    rows : numpy.ndarray, shape (b, q, q)
        Triangular rows of the last columns.
    toward : numpy.ndarray, shape (b, q)
        Values, turned the same way.
    known : numpy.ndarray of bool, shape (b, q)
        Whether the columns before leave something of each.
    left : numpy.ndarray, shape (b,)
        Sum of squares that the whole design leaves.
    scale : numpy.ndarray, shape (b, q)
        What a coefficient of the scaled columns is multiplied by.
    """

    rows: Any
    toward: Any
    known: Any
    left: Any
    scale: Any

    @property
    def explained(self) -> Any:
        """Sum of squares that these columns alone explain."""
        return np.square(self.toward).sum(axis=1)

    @property
    def determinant(self) -> Any:
        """Of the correlation that is left among these columns; 0 where one is a sum of others."""
        own = np.diagonal(self.rows, axis1=1, axis2=2) ** 2
        return np.where(self.known, own, 0.0).prod(axis=1)

    def coefficients(self) -> Any:
        """Compute the least-squares coefficients of these columns, shape (b, q); NaN where not all are estimable."""
        q = self.toward.shape[1]
        found = np.zeros(self.toward.shape)
        for j in reversed(range(q)):
            rest = self.toward[:, j] - (self.rows[:, j, j + 1 :] * found[:, j + 1 :]).sum(axis=1)
            found[:, j] = rest / np.where(self.known[:, j], self.rows[:, j, j], np.nan)
        return np.where(self.known.all(axis=1)[:, None], found * self.scale, np.nan)


def reduce_to_last(moments: Any, columns: list[int], last: int) -> LastColumns:
    """Reduce cross products in this order of columns, the values behind them, by Cholesky."""
    k = moments.shape[-1] - 1
    order = [*columns, k]
    # Columns differ by orders of magnitude; scaled, one threshold says what is left of each.
    scale = np.sqrt(np.maximum(np.diagonal(moments, axis1=1, axis2=2)[:, columns], 1e-300))
    a = moments[:, order][:, :, order]
    a[:, :-1] /= scale[:, :, None]
    a[:, :, :-1] /= scale[:, None, :]
    count, first = len(columns), len(columns) - last
    rows, known = np.zeros((len(a), last, last)), np.zeros((len(a), last), dtype=bool)
    toward = np.zeros((len(a), last))
    for j in range(count):
        pivot = a[:, j, j]
        there = pivot > _ALIASED
        row = a[:, j, j:] / np.sqrt(np.where(there, pivot, np.inf))[:, None]
        a[:, j + 1 :, j + 1 :] -= row[:, 1:, None] * row[:, None, 1:]
        if j >= first:
            rows[:, j - first, j - first :] = row[:, :-1]
            known[:, j - first], toward[:, j - first] = there, row[:, -1]
    return LastColumns(rows, toward, known, np.maximum(a[:, -1, -1], 0.0), 1 / scale[:, first:])
