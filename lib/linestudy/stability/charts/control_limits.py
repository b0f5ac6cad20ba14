"""Limits of a chart and how many points chance puts beyond them.

Where limits come from the very points they judge, a point of a subgroup of n among N parts
differs from the centre with variance ``sigma**2 (1/n - 1/N)``; a later one with
``sigma**2 (1/n + 1/N)``. With the pooled spread the ratio follows Student's t exactly; a
subgroup's share of the pooled sum of squares a beta distribution, a later subgroup's ratio to it an
F distribution. So the expected number of false signals holds for few subgroups too, not
only for known limits. Ranges are treated alike, with
Patnaik's scaled chi for the sigma of the other ranges. Moving ranges overlap and have no closed form: their two corrections were fitted to
simulated charts (four million points at each of 5 … 200 points) and are held against
simulation again in the proof.

The spread within subgroups is estimated by each way that is in use: the pooled standard deviation uses every
value in full; mean standard deviation (over c4) and mean range (over d2) are what charts were drawn from by
hand, and are known to fewer degrees of freedom; for single values the mean moving range of two is left
(ISO 7870-2:2013; Burr 1969 for unequal sizes; Patnaik 1950 for degrees of freedom; Cryer & Ryan 1990 for
moving ranges). Misleads where neighbours are nearly the same part: all of them then flatter alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.results import CannotJudge, data_arguments
from linestudy.stability.charts.constants import (
    c4,
    d2,
    d3,
    median_sd,
    range_cdf,
    range_limits,
    sd_limits,
)
from linestudy.stability.summaries import Summaries, summarise

#: Variance of the mean moving range of two, times n, in sigma squared (Cryer & Ryan, *Journal of
#: Quality Technology* 22 (1990), 187-192), which gives the degrees of freedom of sigma from it.
_MOVING_RANGE = 0.8264


@dataclass(frozen=True)
class Spread:
    """A standard deviation within subgroups and the degrees of freedom it is known to.

    Attributes
    ----------
    sd : float
        In the unit of the values.
    df : float
        Degrees of freedom.
    moving : bool
        Whether it comes from moving ranges.
    """

    sd: float
    df: float
    moving: bool = False


def pooled(groups: Summaries) -> Spread:
    """Pool the standard deviations of the subgroups.

    Parameters
    ----------
    groups : Summaries

    Returns
    -------
    Spread

    Raises
    ------
    CannotJudge
        No subgroup of two, or no difference within any.
    """
    df = float((groups.n - 1).sum())
    squares = float(groups.squares.sum())
    _check(df, squares)
    return Spread(math.sqrt(squares / df), df)


def from_ranges(groups: Summaries) -> Spread:
    """Estimate the standard deviation from the ranges over d2, each weighted by how well it is known (Burr 1969).

    Parameters
    ----------
    groups : Summaries

    Returns
    -------
    Spread

    Raises
    ------
    CannotJudge
        No subgroup of two, or no difference within any.
    """
    several = groups.where(groups.n > 1)
    return _averaged(several, several.range, d2, lambda n: d3(n) / d2(n))


def from_sds(groups: Summaries) -> Spread:
    """Estimate the standard deviation from those of the subgroups over c4, each weighted by how well it is known (Burr 1969).

    Parameters
    ----------
    groups : Summaries

    Returns
    -------
    Spread

    Raises
    ------
    CannotJudge
        No subgroup of two, or no difference within any.
    """
    several = groups.where(groups.n > 1)
    own = np.sqrt(several.squares / (several.n - 1))
    return _averaged(several, own, c4, lambda n: math.sqrt(1 - c4(n) ** 2) / c4(n))


def _averaged(groups: Summaries, own: Any, expected: Any, relative_error: Any) -> Spread:
    """Average each subgroup's measure of spread over its expectation, weighted by its precision.

    The degrees of freedom are those of a scaled chi with the same relative error (Patnaik 1950).
    """
    _check(float(groups.size), float(own.sum()) if groups.size else 0.0)
    sizes, index = np.unique(groups.n.astype(int), return_inverse=True)
    unbiased = own / np.array([expected(int(n)) for n in sizes])[index]
    weight = np.array([relative_error(int(n)) ** -2 for n in sizes])[index]
    total = float(weight.sum())
    return Spread(float((weight * unbiased).sum()) / total, 1 / (-2 + 2 * math.sqrt(1 + 2 / total)))


def from_moving_ranges(points: Any, phase: Any = None) -> Spread:
    """Estimate the standard deviation of single points from their moving ranges of two.

    Parameters
    ----------
    points : array_like of float, shape (n,)
    phase : array_like of int, shape (n,), optional
        Moves from one phase to the next are left out.

    Returns
    -------
    Spread

    Raises
    ------
    CannotJudge
        Fewer than two points in every phase, or no difference from one to the next.
    """
    moves = np.abs(np.diff(points))
    if phase is not None:
        moves = moves[np.diff(phase) == 0]
    if moves.size == 0 or moves.sum() == 0:
        raise CannotJudge(
            "Values never differ from one to the next; resolution hides their spread."
        )
    return Spread(float(moves.mean()) / d2(2), moves.size / (2 * _MOVING_RANGE), True)


def _check(count: float, spread: float) -> None:
    if count <= 0:
        raise CannotJudge("No subgroup has two parts, so there is no spread within subgroups.")
    if spread <= 0:
        raise CannotJudge("Values within subgroups never differ; resolution hides their spread.")


def by_size(sizes: Any, function: Any) -> Any:
    """Evaluate a function of the subgroup size once per size."""
    distinct, index = np.unique(sizes.astype(int), return_inverse=True)
    return np.array([function(int(n)) for n in distinct])[index]


def false_locations(se2: Any, own: Any, total: Any, spread: Spread, sigmas: float) -> float:
    """Compute the expected number of locations beyond their limits by chance.

    Parameters
    ----------
    se2 : numpy.ndarray
        Variance of each location in sigma squared (1/n for a mean).
    own : numpy.ndarray of bool
        Whether the point helped to set its limits.
    total : numpy.ndarray
        Variance of the centre in sigma squared (1/N).
    spread : Spread
        That the limits were made of.
    sigmas : float

    Returns
    -------
    float
    """
    from scipy.special import ndtr, stdtr

    variance = np.where(own, np.maximum(se2 - total, 1e-12), se2 + total)
    reach = -sigmas * np.sqrt(se2 / variance)
    if not spread.moving:
        return float(2 * stdtr(spread.df, reach).sum())
    # A point far out widens the moving ranges beside it and with them its own limits.
    inside = 2 * ndtr(reach) * min(1 + 4 / max(own.sum(), 1), 1.4)
    return float(np.where(own, inside, 2 * stdtr(spread.df, reach)).sum())


def sd_half(groups: Summaries, within: Spread, sigmas: float) -> tuple[Any, Any]:
    """Compute limits of the standard deviations of subgroups of two or more."""
    low = by_size(groups.n, lambda n: sd_limits(n, sigmas=sigmas)[0]) * within.sd
    high = by_size(groups.n, lambda n: sd_limits(n, sigmas=sigmas)[2]) * within.sd
    return low, high


def false_sds(groups: Summaries, own: Any, within: Spread, sigmas: float) -> float:
    """Compute the expected number of standard deviations beyond their limits by chance; `own` as for the locations."""
    from scipy.special import betainc, fdtr

    k = groups.n - 1
    false = 0.0
    for limit, above in zip(sd_half(groups, within, sigmas), (False, True), strict=True):
        ratio = (limit / within.sd) ** 2
        share = np.clip(ratio * k / within.df, 0.0, 1.0)
        # One subgroup alone makes up the whole spread: its ratio is fixed, not random.
        other = np.maximum(within.df - k, 1e-9)
        below = np.where(own, betainc(k / 2, other / 2, share), fdtr(k, within.df, ratio))
        false += float(np.where(above, 1 - below, below).sum())
    return false


def range_half(groups: Summaries, within: Spread, sigmas: float) -> tuple[Any, Any]:
    """Compute limits of the ranges of subgroups of two or more."""
    low = by_size(groups.n, lambda n: range_limits(n, sigmas=sigmas)[0])
    high = by_size(groups.n, lambda n: range_limits(n, sigmas=sigmas)[2])
    return low * within.sd, high * within.sd


def false_ranges(groups: Summaries, own: Any, sigmas: float) -> float:
    """Compute the expected number of ranges beyond their limits by chance.

    A range that helped to set sigma pulls its limit along; with its share of sigma taken to
    the left side, it is held against a sigma from the other ranges alone, whose distribution is
    Patnaik's scaled chi.
    """
    from scipy.stats import chi2

    sizes, counts = np.unique(groups.n[own].astype(int), return_counts=True)
    total = sum(int(c) * (d2(int(n)) / d3(int(n))) ** 2 for n, c in zip(sizes, counts, strict=True))
    middles = (np.arange(60) + 0.5) / 60

    def rate(n: int, helped: bool) -> float:
        weight = (d2(n) / d3(n)) ** 2 if helped else 0.0
        share = weight / total
        if share >= 1:
            return 0.0
        # Patnaik: mean range over d2 is a scaled chi with these degrees of freedom.
        cv2 = 1 / (total - weight)
        df = 1 / (-2 + 2 * math.sqrt(1 + 2 * cv2))
        sigma = np.sqrt(chi2.ppf(middles, df) / df * (1 + cv2))
        bottom, centre, top = range_limits(n, sigmas=sigmas)
        out = 0.0
        for limit, above in ((bottom, False), (top, True)):
            rest = 1 - limit * share / centre
            if rest <= 0:
                continue
            inside = float(np.mean(range_cdf(limit * (1 - share) / rest * sigma, n)))
            out += 1 - inside if above else inside
        return out

    false = by_size(groups.n, lambda n: rate(n, True)) * own
    if not own.all():
        false = false + by_size(groups.n, lambda n: rate(n, False)) * ~own
    return float(false.sum())


def median_variance(sizes: Any) -> Any:
    """Compute the variance of the median of each subgroup, in sigma squared."""
    return by_size(sizes, lambda n: median_sd(n) ** 2)


def moving_range_half(within: Spread, sigmas: float) -> float:
    """Compute the upper limit of moving ranges of two."""
    return (d2(2) + sigmas * d3(2)) * within.sd


def false_moving_ranges(count: int, sigmas: float) -> float:
    """Compute the expected number of moving ranges of two beyond a limit that these `count` set, by chance."""
    from scipy.special import ndtr

    known = 2 * float(ndtr(-(d2(2) + sigmas * d3(2)) / math.sqrt(2)))
    return count * known * max(1 - 6.2 / (count + 1.5), 0.05)


#: Ways that need subgroups of two or more.
OF_SUBGROUPS = {"pooled SD": pooled, "mean SD": from_sds, "mean range": from_ranges}
#: The way for single values.
OF_SINGLES = "moving range"


def within_subgroup_sds(values: ArrayLike, subgroup: ArrayLike | None = None) -> dict[str, Spread]:
    r"""Estimate the standard deviation within subgroups by every way that the subgroups allow.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    subgroup : array_like, shape (n,), optional
        Label of each value; values whose label is missing are left out. Without labels every value
        is by itself.

    Returns
    -------
    dict of str to Spread
        ``"pooled SD"``, ``"mean SD"``, ``"mean range"``, or ``"moving range"`` for single values; each
        with ``sd`` in the unit of the values and ``df``.

    Raises
    ------
    CannotJudge
        Values that never differ within subgroups.

    ValueError, TypeError
        Values of more than one dimension, or labels that do not fit them.

    See Also
    --------
    control_chart : The chart whose limits come from one of them.

    Notes
    -----
    The pooled standard deviation uses every value in full; mean standard deviation and mean range,

    .. math:: \bar s / c_4, \qquad \bar R / d_2,

    are what charts were drawn from by hand and are known to fewer degrees of freedom; for single values the mean
    moving range of two is left. Misleads where neighbours are nearly the same part: all of them are then smaller
    than the spread of the process.

    References
    ----------
    ISO 7870-2:2013. Burr, *Journal of Quality Technology* 1 (1969), 163-167 (unequal sizes). Patnaik,
    *Biometrika* 37 (1950), 78-87 (degrees of freedom).

    Examples
    --------
    >>> found = within_subgroup_sds([1.0, 3.0, 2.0, 4.0], [0, 0, 1, 1])
    >>> round(found["mean range"].sd, 3)
    1.772
    """
    y = data_arguments.one_dimensional(values, least=2)
    groups = summarise(y, subgroup)
    if np.max(groups.n) < 2:
        return {OF_SINGLES: from_moving_ranges(y)}
    return {name: way(groups) for name, way in OF_SUBGROUPS.items()}
