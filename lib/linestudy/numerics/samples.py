"""Arrays at the door of a method: checked once, and summed so that an offset costs nothing."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics.arrays import FloatArray
from linestudy.results.data_arguments import one_dimensional


def as_sample(values: ArrayLike, least: int = 2, name: str = "value") -> FloatArray:
    """Return a one-dimensional array of finite floats; nothing is flattened.

    Parameters
    ----------
    values : array_like, shape (n,)
        Measured values in any unit. Missing values (NaN) are refused: whoever
        calls must have accounted for them in the ledger.
    least : int
        Fewest values the method can use.
    name : str
        What one value is, for the message.

    Returns
    -------
    numpy.ndarray of float, shape (n,)
        The values, all finite.

    Raises
    ------
    TypeError
        A table, or something that holds no numbers.
    ValueError
        An array of other than one dimension.
    CannotJudge
        Too few values, or values that are not finite numbers.

    See Also
    --------
    linestudy.results.data_arguments.one_dimensional : The same, for an argument by another name.

    Examples
    --------
    >>> as_sample([1, 2, 3])
    array([1., 2., 3.])
    """
    return one_dimensional(values, name=f"{name}s", least=least, what=name)


def mean_and_sd(values: ArrayLike, axis: int | None = None) -> tuple[Any, Any]:
    """Compute mean and sample standard deviation (divisor n - 1), safe against a large offset.

    Parameters
    ----------
    values : array_like
        Finite values.
    axis : int, optional
        Axis to reduce; all values when absent.

    Returns
    -------
    mean, sd : float or numpy.ndarray
        In the unit of the values. The SD of a single value is NaN.

    Notes
    -----
    Two passes with the correction term of Chan, Golub & LeVeque, *The American
    Statistician* 37 (1983), 242-247, eq. 1.7: the first mean only serves as an
    offset, so its rounding error cancels.
    """
    array = np.asarray(values, dtype=float)
    offset = array.mean(axis=axis, keepdims=True)
    centred = array - offset
    n = array.size if axis is None else array.shape[axis]
    shift = centred.mean(axis=axis, keepdims=True)
    squares = np.square(centred - shift).sum(axis=axis)
    mean = np.squeeze(offset + shift, axis=axis) if axis is not None else (offset + shift).item()
    if n < 2:
        return mean, np.full_like(squares, np.nan) if axis is not None else float("nan")
    sd = np.sqrt(squares / (n - 1))
    return mean, float(sd) if axis is None else sd
