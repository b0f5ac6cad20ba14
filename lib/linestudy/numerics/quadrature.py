"""Gauss-Legendre rules, computed once."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray


@cache
def legendre(count: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give nodes and weights of the rule on the interval from -1 to 1.

    Parameters
    ----------
    count : int
        Number of nodes; polynomials up to degree ``2 * count - 1`` are integrated exactly.

    Returns
    -------
    nodes, weights : numpy.ndarray of float, shape (count,)
        Not to be written to.

    Examples
    --------
    >>> nodes, weights = legendre(3)
    >>> round(float(weights @ nodes**4), 12)
    0.4
    """
    from scipy.special import roots_legendre

    nodes, weights = (np.asarray(values, dtype=float) for values in roots_legendre(count))
    nodes.flags.writeable = weights.flags.writeable = False
    return nodes, weights
