"""Straight line between two gauges by the median of all pairwise slopes.

Model: both gauges measure the same quantity, their readings lie about one straight line, and both have
errors whose spreads are in the same ratio over the whole range as the slope says; nothing is
assumed about the shape of the errors, and a few odd parts move the line little. The slope is the median of
the slopes of all pairs of parts, shifted for the slopes below minus one so that the line does not
depend on which gauge is called first. Misleads where readings have few different values (ties) and where the
relation is bent: the cusum test is for that.

Source: Passing & Bablok, *Journal of Clinical Chemistry and Clinical Biochemistry* 21 (1983), 709-720.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.gauges.masters.reading_step import apparent_step
from linestudy.numerics import generator
from linestudy.results import CannotJudge, Interval, arguments, data_arguments

#: Steps up to this share of the usual distance from the line change nothing; how often coarser ones are spread.
_FINE, _SPREADS = 0.1, 5


def passing_bablok(
    first: ArrayLike, second: ArrayLike, *, confidence: float = 0.95
) -> tuple[dict[str, Interval], float]:
    r"""Fit the line of first on second through the median of all pairwise slopes.

    Parameters
    ----------
    first, second : array_like of float, shape (n,)
        Readings of the same parts in the same order, in one unit.
    confidence : float
        Of the intervals, between 0 and 1.

    Returns
    -------
    line : dict of str to Interval
        ``slope`` and ``intercept`` (in the unit of the readings).
    linearity_p : float
        Cusum test that one straight line will do.

    Raises
    ------
    CannotJudge
        Fewer than five parts, or a gauge that reads all parts the same.
    ValueError
        Readings of different number.

    See Also
    --------
    method_comparison : Limits of agreement and Deming regression beside it.

    Notes
    -----
    Model: a straight line with errors on both sides, whatever their shape. The slope is the median of

    .. math:: S_{ij} = \frac{y_i - y_j}{x_i - x_j}

    shifted by the number of slopes below -1. Misleads where readings have few different values, and
    where the relation is bent.

    References
    ----------
    Passing & Bablok, *Journal of Clinical Chemistry and Clinical Biochemistry* 21 (1983), 709-720.

    Examples
    --------
    >>> line, p = passing_bablok([1.1, 2.0, 3.2, 3.9, 5.1, 6.0], [1, 2, 3, 4, 5, 6])
    >>> print(line["slope"])
    0.98 (0.90 to 1.20)
    """
    y = data_arguments.readings(first, name="first", least=5, what="pair")
    x = data_arguments.readings(second, name="second", least=5, what="pair")
    arguments.same_length(first=y, second=x)
    arguments.share("confidence", confidence)
    if np.ptp(x) == 0 or np.ptp(y) == 0:
        raise CannotJudge(f"One gauge reads all {x.size} parts the same.")
    n = x.size
    slopes, shift = _slopes(x, y)
    count = slopes.size
    slope = _ranked(slopes, shift + (count - 1) / 2)
    from scipy.special import ndtri

    width = float(ndtri((1 + confidence) / 2)) * math.sqrt(n * (n - 1) * (2 * n + 5) / 18)
    first_rank = round((count - width) / 2)
    low = _ranked(slopes, first_rank - 1 + shift)
    high = _ranked(slopes, count - first_rank + shift)
    if not all(map(math.isfinite, (slope, low, high))):
        raise CannotJudge(
            "Too many parts read the same on one gauge for a line through pairwise slopes."
        )
    intercept, upper, lower = (float(np.median(y - s * x)) for s in (slope, low, high))
    how = "ranks of pairwise slopes"
    line = {
        "slope": Interval(slope, min(low, slope), max(high, slope), confidence, how),
        "intercept": Interval(
            intercept, min(lower, intercept), max(upper, intercept), confidence, how
        ),
    }
    return line, bent_p(x, y, _by_ranks)


def _slopes(x: NDArray[np.float64], y: NDArray[np.float64]) -> tuple[NDArray[np.float64], int]:
    """Return all slopes between two parts in their order, and how many lie below -1."""
    i, j = np.triu_indices(x.size, 1)
    dx, dy = x[j] - x[i], y[j] - y[i]
    use = (dx != 0) | (dy != 0)
    dx, dy = dx[use], dy[use]
    slopes = np.full(dx.size, math.inf)
    np.divide(dy, dx, out=slopes, where=dx != 0)
    slopes[dx == 0] *= np.sign(dy[dx == 0])
    # Readings come in decimals, whose differences are off by rounding.
    slopes = np.sort(slopes[np.abs(slopes + 1) > 1e-9])
    return slopes, int((slopes < -1).sum())


#: From readings of second and first to their distances from a line, and where along it they lie.
AboutLine = Callable[
    [NDArray[np.float64], NDArray[np.float64]], tuple[NDArray[np.float64], NDArray[np.float64]]
]


def _by_ranks(
    x: NDArray[np.float64], y: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    slopes, shift = _slopes(x, y)
    slope = _ranked(slopes, shift + (slopes.size - 1) / 2)
    rest = y - slope * x
    return rest - float(np.median(rest)), (y + x / slope) if slope != 0 else x


def bent_p(x: NDArray[np.float64], y: NDArray[np.float64], about: AboutLine) -> float:
    """Test a line by the cusum; readings in coarse steps by the median over readings spread over their steps.

    Parts on one grid lie along the line in groups, in which the order of parts above and below follows from the grid:
    straight lines were called bent in 12 to 68 % of simulated studies. Spread evenly over their steps, readings are again as
    they were before rounding, with a little more error.

    Parameters
    ----------
    x, y : numpy.ndarray of float, shape (n,)
        Readings of the second and of the first gauge.
    about : callable
        How the line is fitted.

    Returns
    -------
    float
    """
    rest, along = about(x, y)
    steps = apparent_step(y), apparent_step(x)
    if max(steps) <= _FINE * float(np.median(np.abs(rest))):
        return _cusum(rest, along)
    # Sums, and so all numbers, then do not depend on the order of the rows.
    order = np.lexsort((x, y))
    draw = generator(None, "readings spread over their steps")
    found = []
    for _ in range(_SPREADS):
        own_y, own_x = (
            values[order] + step * draw.uniform(-0.5, 0.5, values.size)
            for values, step in zip((y, x), steps, strict=True)
        )
        found.append(_cusum(*about(own_x, own_y)))
    return float(np.median(found))


def _ranked(slopes: NDArray[np.float64], rank: float) -> float:
    """Return the value at a rank counted from 0; half ranks are the mean of their neighbours."""
    last = slopes.size - 1
    below, above = (min(max(int(r), 0), last) for r in (math.floor(rank), math.ceil(rank)))
    return float((slopes[below] + slopes[above]) / 2)


def _cusum(rest: NDArray[np.float64], along: NDArray[np.float64]) -> float:
    """Test by Kolmogorov's distribution runs of parts above and below the line, ordered along it."""
    from scipy.special import kolmogorov

    scale = float(np.abs(rest).max())
    above, below = rest > 1e-12 * scale, rest < -1e-12 * scale
    up, down = int(above.sum()), int(below.sum())
    if up == 0 or down == 0:
        return 1.0
    score = np.zeros(rest.size)
    score[above] = math.sqrt(down / up)
    score[below] = -math.sqrt(up / down)
    total = np.cumsum(score[np.argsort(along, kind="stable")])
    return float(kolmogorov(float(np.abs(total).max()) / math.sqrt(down + 1)))
