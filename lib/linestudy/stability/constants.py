"""Constants of control charts, for any subgroup size: the shared ones, under their chart names."""

from __future__ import annotations

import math

from linestudy.core.normal_constants import c4, d2, d2_star, d3, range_df

__all__ = ["c4", "d2", "d2_star", "d3", "range_df", "sd_limits"]


def sd_limits(n: int, sigmas: float = 3.0) -> tuple[float, float, float]:
    """Centre and limits of a chart of standard deviations, as multiples of sigma.

    Parameters
    ----------
    n : int
        Subgroup size, at least 2.
    sigmas : float
        Distance of the limits in standard errors.

    Returns
    -------
    lower, centre, upper : float
        The lower limit is not below zero.

    Notes
    -----
    ASTM MNL 7: centre ``c4``, limits ``c4 ± 3 sqrt(1 - c4**2)``.

    Examples
    --------
    >>> [round(x, 3) for x in sd_limits(5)]
    [0.0, 0.94, 1.964]
    """
    centre = c4(n)
    half = sigmas * math.sqrt(1 - centre**2)
    return max(centre - half, 0.0), centre, centre + half
