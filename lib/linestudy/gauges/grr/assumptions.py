"""Does a crossed study hold what its analysis assumes: one repeatability, and nothing that moves with the trial.

Three questions of the readings less the mean of their cell. *Appraisers*: do all repeat equally well
(Bartlett's test, allowing for heavy tails that all share). *Trials*: do the means of the trials differ, as
they do where the gauge warms up, drifts or is read off an earlier sheet; repeatability holds that
movement. *Size*: does the spread grow with the size of the part (rank correlation of each cell's spread
with its mean); then one repeatability is too small for large parts and too large for small ones.

Where appraisers do not repeat alike, tests of what appraisers do of their own (part by appraiser, trials by appraiser) take degrees of
freedom that allow for it (Box, *Annals of Mathematical Statistics* 25 (1954), 290-302 and 484-498).

When they mislead: trials that were not taken one after another say nothing of time; with parts that
hardly differ in size no growth can be seen; one appraiser with stray readings counts as less able.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.grr.design import Layout
from linestudy.numerics.heavy_tails import variance_df
from linestudy.numerics.normal_intervals import sd_interval
from linestudy.results import Interval

#: Above this p of Bartlett's test appraisers are taken to repeat alike where they are compared with one another.
ALIKE = 0.25


@dataclass(frozen=True, slots=True)
class EqualRepeatability:
    """Test that all appraisers repeat equally well (Bartlett).

    Attributes
    ----------
    statistic : float
        Bartlett's, corrected.
    df : int
        Its degrees of freedom, appraisers less one.
    p : float
        Chi-square.
    sd : dict of str to Interval
        [unit of the readings] Standard deviation within cells, by appraiser.
    """

    statistic: float
    df: int
    p: float
    sd: dict[str, Interval]


def equal_repeatability(layout: Layout, confidence: float) -> EqualRepeatability | None:
    """Test by Bartlett's test that all appraisers have one variance within cells.

    Model: readings within a cell scatter about the cell's mean, each appraiser with a variance of
    their own; the test asks whether these are one (Bartlett, *Proceedings of the Royal Society A* 160
    (1937), 268-282). Heavy tails of repeated readings, which all appraisers share, make the variances
    differ more than normal readings would; statistic and intervals allow for the kurtosis seen (Layard,
    *Journal of the American Statistical Association* 68 (1973), 195-198). Misleads where one appraiser
    alone has stray readings: they count as spread of that appraiser.

    Parameters
    ----------
    layout : Layout
    confidence : float
        Of each appraiser's standard deviation.

    Returns
    -------
    EqualRepeatability or None
        None without two appraisers who repeated and differed from themselves.
    """
    people = layout.levels.get("appraiser", ())
    if len(people) < 2:
        return None
    squares, freedom = _of_appraisers(layout)
    if min(freedom) < 1 or min(squares) <= 0:
        return None
    from scipy.special import chdtrc

    groups, total = len(people), sum(freedom)
    statistic = total * math.log(math.fsum(squares) / total) - math.fsum(
        df * math.log(ss / df) for ss, df in zip(squares, freedom, strict=True)
    )
    statistic /= 1 + (sum(1 / df for df in freedom) - 1 / total) / (3 * (groups - 1))
    # Tails are judged with every appraiser's spread made one; else a difference would pass for tails.
    rest, who = layout.rest(), layout.codes[:, layout.factors.index("appraiser")]
    own = np.sqrt(np.array(squares) / np.array(freedom))
    tails = variance_df(rest / own[who], layout.cells, layout.counts.ravel()) / total
    # Of equal variances the last digits may leave less than nought.
    statistic = max(statistic * tails, 0.0)
    return EqualRepeatability(
        statistic,
        groups - 1,
        float(chdtrc(groups - 1, statistic)),
        {
            name: sd_interval(math.sqrt(ss / df), df * tails, confidence)
            for name, ss, df in zip(people, squares, freedom, strict=True)
        },
    )


def _of_appraisers(layout: Layout) -> tuple[list[float], list[float]]:
    """Compute each appraiser's sum of squares within cells, and its degrees of freedom."""
    at = layout.factors.index("appraiser")
    people = len(layout.levels["appraiser"])
    squares = np.bincount(layout.codes[:, at], layout.rest() ** 2, minlength=people)
    axes = tuple(i for i in range(layout.counts.ndim) if i != at)
    freedom = np.add.reduce(np.maximum(layout.counts - 1, 0), axis=axes)
    return squares.tolist(), freedom.tolist()


def shares_of_freedom(layout: Layout, equal: EqualRepeatability | None) -> tuple[float, float]:
    """Compute what unequal repeatabilities leave of the degrees of freedom of appraisers by something, and of the error.

    Parameters
    ----------
    layout : Layout
    equal : EqualRepeatability or None
        Its test; where that gives p of a quarter and more, all count.

    Returns
    -------
    tuple of float
        Share of the degrees of freedom of what appraisers do of their own, and of those of the error (Box 1954).
    """
    if equal is None or equal.p >= ALIKE:
        return 1.0, 1.0
    squares, freedom = (np.array(one, dtype=float) for one in _of_appraisers(layout))
    variance, a = squares / freedom, freedom.size
    trace = float(variance.sum()) * (1 - 1 / a)
    again = float((variance**2).sum()) * (1 - 2 / a) + float(variance.sum()) ** 2 / a**2
    error = float(squares.sum()) ** 2 / float((squares**2 / freedom).sum())
    return trace**2 / again / (a - 1), error / float(freedom.sum())


@dataclass(frozen=True, slots=True)
class TrialEffect:
    """Whether the means of the trials differ.

    Attributes
    ----------
    statistic : float
        F of the trials against the rest of the spread within cells.
    p : float
        Of that test.
    range : float
        [unit of the readings] Largest less smallest mean of a trial, each as deviation from its cells.
    in_order : float
        Share of the cells with three readings and more whose trials rise from one to the next, or of those whose
        trials fall, whichever is larger; 0 where fewer than five cells hold as many.
    by_appraiser_p : float or None
        Of the test that the trials of each appraiser move as those of all do, which allows for appraisers who do not repeat
        alike; None without two appraisers, or degrees of freedom for it.
    mover : str or None
        Appraiser whose trials move most of their own.
    """

    statistic: float
    p: float
    range: float
    in_order: float = 0.0
    by_appraiser_p: float | None = None
    mover: str | None = None


def trial_effect(layout: Layout, equal: EqualRepeatability | None = None) -> TrialEffect | None:
    """Test that no trial reads higher or lower than the others.

    Model: a reading less the mean of its cell is the effect of its trial, the same in all cells, plus
    normal error (analysis of variance; least squares where trials are missing).

    Parameters
    ----------
    layout : Layout
    equal : EqualRepeatability or None
        Whether appraisers repeat alike.

    Returns
    -------
    TrialEffect or None
        None where the study names no trials, or they leave no degree of freedom.
    """
    if layout.trial is None:
        return None
    from scipy.special import fdtrc

    _, trial = np.unique(layout.trial, return_inverse=True)
    trials = int(trial.max()) + 1
    counts = layout.counts.ravel()
    within = int(np.maximum(counts - 1, 0).sum())
    if trials < 2 or within - (trials - 1) < 1:
        return None
    rest = layout.rest()
    effects, fitted, rank = _within_cells(layout, trial, trials, rest)
    free = within - rank
    left = float(((rest - fitted) ** 2).sum())
    if rank < 1 or free < 1 or left <= 0:
        return None
    f = float(fitted @ fitted) / rank / (left / free)
    p = float(fdtrc(rank, free, f))
    shares = shares_of_freedom(layout, equal)
    own_p, mover = _of_each(layout, trial, trials, rest - fitted, within, rank, shares)
    return TrialEffect(f, p, float(np.ptp(effects)), _in_order(layout, trial), own_p, mover)


def _within_cells(
    layout: Layout, code: NDArray[np.int_], levels: int, rest: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], int]:
    """Fit one effect for each code to readings less their cell's mean: effects, fitted values, rank."""
    counts = layout.counts.ravel()
    columns = np.eye(levels)[code]
    sums = np.zeros((counts.size, levels))
    np.add.at(sums, layout.cells, columns)
    columns = columns - (sums / np.maximum(counts, 1)[:, None])[layout.cells]
    found, _, rank, _ = np.linalg.lstsq(columns, rest, rcond=1e-10)
    effects: NDArray[np.float64] = np.asarray(found, dtype=np.float64)
    fitted: NDArray[np.float64] = np.asarray(columns @ effects, dtype=np.float64)
    return effects, fitted, int(rank)


def _of_each(
    layout: Layout,
    trial: NDArray[np.int_],
    trials: int,
    rest: NDArray[np.float64],
    within: int,
    rank: int,
    shares: tuple[float, float],
) -> tuple[float | None, str | None]:
    """Test what trials do of each appraiser's own, beside what they do for all; who moves most."""
    from scipy.special import fdtrc

    names = layout.levels.get("appraiser", ())
    if len(names) < 2:
        return None, None
    who = layout.codes[:, layout.factors.index("appraiser")]
    _, fitted, both = _within_cells(layout, who * trials + trial, len(names) * trials, rest)
    more, free = both - rank, within - both
    left = float(((rest - fitted) ** 2).sum())
    if more < 1 or free < 1 or left <= 0:
        return None, None
    f = float(fitted @ fitted) / more / (left / free)
    p = float(fdtrc(more * shares[0], free * shares[1], f))
    squares = np.bincount(who, fitted**2, minlength=len(names))
    return p, names[int(squares.argmax())]


def _in_order(layout: Layout, trial: NDArray[np.int_]) -> float:
    """Compute the share of the cells whose readings rise, or fall, with the trial."""
    counts = layout.counts.ravel()
    at = np.lexsort((trial, layout.cells))
    cell, steps = layout.cells[at], np.diff(layout.values[at])
    within = cell[1:] == cell[:-1]
    use = counts >= 3
    if use.sum() < 5:
        return 0.0
    pairs = np.maximum(counts - 1, 0)
    shares = [
        float((np.bincount(cell[1:][within & so], minlength=counts.size) == pairs)[use].mean())
        for so in (steps >= 0, steps <= 0)
    ]
    return max(shares)


@dataclass(frozen=True, slots=True)
class SizeEffect:
    """Whether repeated readings scatter more on larger parts.

    Attributes
    ----------
    rank_correlation : float
        Spearman's, of the standard deviation within cells with their mean.
    p : float
        Two-sided.
    """

    rank_correlation: float
    p: float


def size_effect(layout: Layout) -> SizeEffect | None:
    """Test that the spread within cells does not follow the size of the parts (Spearman).

    Parameters
    ----------
    layout : Layout

    Returns
    -------
    SizeEffect or None
        None with fewer than five cells of repeated readings, or where all scatter alike.
    """
    counts = layout.counts.ravel()
    use = counts > 1
    if use.sum() < 5:
        return None
    from scipy.stats import spearmanr

    squares = np.bincount(layout.cells, layout.rest() ** 2, minlength=counts.size)
    sums = np.bincount(layout.cells, layout.values - layout.values[0], minlength=counts.size)
    spread = np.sqrt(squares[use] / (counts[use] - 1))
    # Numbers that differ by rounding only are ties; else the ranks would depend on the last bit.
    spread = np.round(spread / spread.max(), 9) if spread.max() > 0 else spread
    means = np.round(sums[use] / counts[use], 12)
    if np.ptp(spread) == 0 or np.ptp(means) == 0:
        return None
    found = spearmanr(means, spread)
    return SizeEffect(float(found.statistic), float(found.pvalue))
