"""The Anderson-Darling statistic of many samples at once (*JASA* 49 (1954), eq. 1)."""

from __future__ import annotations

from typing import Any

import numpy as np


def statistic_of_shares(lower: Any, upper: Any) -> Any:
    """Anderson-Darling statistics of many sorted samples.

    Parameters
    ----------
    lower, upper : numpy.ndarray, shape (b, n)
        Shares below and above each value by the distribution, values growing along a row.

    Returns
    -------
    numpy.ndarray, shape (b,)

    Examples
    --------
    >>> import numpy as np
    >>> u = np.array([[0.1, 0.4, 0.8]])
    >>> statistic_of_shares(u, 1 - u).round(3).tolist()
    [0.279]
    """
    n = lower.shape[1]
    tiny = 1e-300
    # One logarithm of the product instead of two; kept away from nought.
    product = np.maximum(lower, 1e-150) * np.maximum(upper[:, ::-1], 1e-150)
    weights = (2 * np.arange(1, n + 1) - 1) / n
    return -n - np.log(np.maximum(product, tiny)) @ weights
