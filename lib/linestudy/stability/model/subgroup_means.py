"""Movement of the level where of subgroups only means and spreads are known, as in the sums of a line log.

Model under test: values within subgroups are independent and of one spread, and all subgroups have one mean. Looked at are the
variance between subgroups against that within (F), means of neighbouring subgroups against single ones (F), and the largest excursion of
the cumulated sum (Kolmogorov). Misleads where values within subgroups correlate: that cannot be told from movement here.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.stability.model.combination import combined


def between_subgroups(means: Any, sizes: Any, squares: float) -> tuple[float, float]:
    """Estimate the share of the variance between subgroups (not negative), and test by F that it is zero."""
    from scipy.special import fdtrc

    n, k = int(sizes.sum()), sizes.size
    within = squares / (n - k)
    above = float((sizes * (means - (sizes * means).sum() / n) ** 2).sum()) / (k - 1)
    usual = (n - (sizes.astype(float) ** 2).sum() / n) / (k - 1)
    component = max((above - within) / usual, 0.0)
    return component / (component + within), float(fdtrc(k - 1, n - k, above / within))


def level_of_means(means: Any, sizes: Any, squares: float) -> tuple[float, float]:
    """Test one mean throughout where only means of subgroups are known.

    Parameters
    ----------
    means, sizes : numpy.ndarray, shape (subgroups,)
        In order.
    squares : float
        Sum of squares within all of them.

    Returns
    -------
    p : float
        Of all tests together; correlation inside subgroups cannot be distinguished from movement here.
    share : float
        Of the variance, that moves.
    """
    from scipy.special import fdtrc, kolmogorov

    between, p = between_subgroups(means, sizes, squares)
    k, tests = means.size, [p]
    z = (means - means.mean()) / max(float(means.std()), 1e-300)
    for many in (2, 5, 10, 25):
        if k // many < 5:
            break
        code = np.minimum(np.arange(k) // many, k // many - 1)
        counts = np.bincount(code).astype(float)
        level = np.bincount(code, z) / counts
        inside = float(((z - level[code]) ** 2).sum()) / (k - counts.size)
        above = float((counts * level**2).sum()) / (counts.size - 1)
        tests.append(float(fdtrc(counts.size - 1, k - counts.size, above / inside)))
    tests.append(float(kolmogorov(float(np.abs(np.cumsum(z)).max()) / k**0.5)))
    return combined(tests), between
