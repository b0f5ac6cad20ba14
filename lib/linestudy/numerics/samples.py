"""Arrays at the door of a method: checked once, and summed so that an offset costs nothing."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.results.errors import CannotJudge

FloatArray = NDArray[np.float64]


def as_sample(values: ArrayLike, least: int = 2, name: str = "value") -> FloatArray:
    """Return a one-dimensional array of finite floats.

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

    Raises
    ------
    CannotJudge
        Too few values, or values that are not finite numbers.
    """
    try:
        array = np.asarray(values, dtype=float).ravel()
    except (TypeError, ValueError):
        raise CannotJudge(f"Not every {name} is a number.") from None
    if array.size < least:
        have = {0: f"There is no {name}", 1: f"There is one {name}"}.get(
            array.size, f"There are {array.size} {name}s"
        )
        raise CannotJudge(f"{have} where at least {least} are needed.")
    if not np.isfinite(array).all():
        raise CannotJudge(f"Some {name}s are missing or infinite; set them aside first.")
    return array


def mean_and_sd(values: ArrayLike, axis: int | None = None) -> tuple[Any, Any]:
    """Mean and sample standard deviation (divisor n - 1), safe against a large offset.

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
