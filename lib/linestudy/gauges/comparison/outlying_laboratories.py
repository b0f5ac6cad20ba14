"""Cochran's and Grubbs' tests: does the laboratory that stands out belong to the others?

Model: variances of equally many normal readings, or normal means. Levels by the inequality of Bonferroni on the exact
distribution of one laboratory, which gives the printed critical values (ISO 5725-2; Grubbs 1969) to their last digit.
Misleads where two stand out: each hides the other.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def cochran_p(variances: NDArray[np.float64], df: float) -> float:
    """Bound the p of Cochran's test that the largest variance belongs to the others.

    Parameters
    ----------
    variances : numpy.ndarray of float, shape (p,)
    df : float
        Degrees of freedom of each.

    Returns
    -------
    float
        By Bonferroni on the F distribution of one laboratory against the others.

    Examples
    --------
    >>> import numpy as np
    >>> # Largest of ten variances of two readings: 5 % at C = 0.602 (ISO 5725-2, table; from memory).
    >>> round(cochran_p(np.array([0.602] + [0.398 / 9] * 9), 1), 3)
    0.05
    """
    from scipy.special import fdtrc

    p, total = variances.size, float(variances.sum())
    share = float(variances.max()) / total if total > 0 else 0.0
    if share >= 1:
        return 0.0
    return min(1.0, p * float(fdtrc(df, (p - 1) * df, (p - 1) * share / (1 - share))))


def grubbs_p(h: NDArray[np.float64]) -> float:
    """Bound the p of Grubbs' two-sided test that the farthest mean belongs to the others.

    Parameters
    ----------
    h : numpy.ndarray of float, shape (p,)
        Mandel's h: distances from the mean in standard deviations.

    Returns
    -------
    float
        By Bonferroni on Student's t of one laboratory against the others.

    Examples
    --------
    >>> import numpy as np
    >>> # Ten means: 5 % at 2.290 (Grubbs 1969, two-sided; from memory).
    >>> round(grubbs_p(np.array([2.290] + [-2.290 / 9] * 9)), 3)
    0.05
    """
    from scipy.special import stdtr

    p, far = h.size, float(np.abs(h).max())
    most = (p - 1) / p**0.5
    if far >= most * (1 - 1e-12):
        return 0.0
    t = (p * (p - 2) * far**2 / ((p - 1) ** 2 - p * far**2)) ** 0.5
    return min(1.0, 2 * p * float(stdtr(p - 2, -t)))
