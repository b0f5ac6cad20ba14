"""Variance components out of mean squares, with intervals two ways.

Pivotal: each mean square times its degrees of freedom over a chi-square draw takes the place
of its expectation; every function of the components, shares and ndc included, then has an
interval from the same draws (Burdick, Borror & Montgomery, *Design and Analysis of Gauge R&R
Studies*, 2005, appendix B.2). Modified large samples, in closed form for any combination of mean
squares: the interval of a large normal sample with each variance constant changed so that it is exact
when one mean square is by itself (Graybill & Wang, *JASA* 75 (1980), 869-873, for sums; Ting, Burdick,
Graybill, Jeyaratnam & Lu, *Journal of Statistical Computation and Simulation* 35 (1990), 135-143, where
some are subtracted; Burdick & Graybill, *Confidence Intervals on Variance Components*, 1992, ch. 3;
formulas from memory, held against simulated coverage in the proof); misleads where a mean square that
is subtracted has very few degrees of freedom. The total is always given that way, for its pivot covers too
little where parts differ less than the gauge (91.5 % at 5 x 2 x 2). The intervals start from the mean squares before any interaction
was pooled: a test that saw no interaction has not shown that there is none, and intervals that
lean on its outcome cover too little. Readings come in steps, and a spread below the step may not be
seen at all: no upper end of repeatability, gauge or total lies below that of rounding, step over the
square root of twelve (Sheppard, *Proceedings of the London Mathematical Society* 29 (1898), 353-380).
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.grr.mean_squares import ERROR, MeanSquares
from linestudy.numerics import generator
from linestudy.numerics.normal_intervals import sd_interval
from linestudy.results import Absent, Interval

PIVOT = "generalized pivot"
NO_SHARE = Absent("modified large samples alone give no interval of a share")
NO_TOLERANCE = Absent("there is no two-sided tolerance")


@dataclass(frozen=True)
class Component:
    """One variance component.

    Attributes
    ----------
    variance : Interval
        [squared unit of the readings] Variance, negative estimates as zero.
    sd : Interval
        [unit of the readings] Standard deviation. Formula: √variance.
    share_of_variance : Interval or Absent
        Share of the total variance. Formula: variance / total variance.
    share_of_sd : Interval or Absent
        Share of the total spread; these do not add up to one. Formula: sd / total sd.
    share_of_tolerance : Interval or Absent
        Share of the tolerance. Formula: sigma_multiplier · sd / tolerance.
    degrees_of_freedom : float or None
        Satterthwaite's for the estimate (*Biometrics Bulletin* 2 (1946), 110-114); None where it is zero.
    """

    variance: Interval
    sd: Interval
    share_of_variance: Interval | Absent
    share_of_sd: Interval | Absent
    share_of_tolerance: Interval | Absent
    degrees_of_freedom: float | None = None


@dataclass(frozen=True)
class Settings:
    """How intervals are formed and what shares refer to; `step` is that of the readings."""

    tolerance: float | None
    sigma_multiplier: float
    confidence: float
    method: str
    draws: int
    seed: int | None
    ndc_factor: float
    step: float = 0.0

    @property
    def hidden(self) -> float:
        """Variance that rounding to the step may hide (step squared over twelve)."""
        return self.step**2 / 12


def sums_of(raw: dict[str, Any], of_draws: bool = False) -> dict[str, Any]:
    """Sum up reproducibility, gauge and total beside the single components.

    Parameters
    ----------
    raw : dict of str to float or numpy.ndarray
        By source; negative values are allowed and count as zero where they are shown alone.
    of_draws : bool
        Pivotal draws: sums are formed before anything is set to zero, for a sum of mean squares
        is a pivot and a sum of parts cut at zero is not (it covers too little from below).

    Returns
    -------
    dict of str to float or numpy.ndarray
        In the order it is read: repeatability, the effects that reproduce, their sum, the
        gauge, part, total.
    """
    larger = np.maximum if of_draws else max
    named = {called(name): value for name, value in raw.items()}
    kept = {name: larger(value, 0.0) for name, value in named.items()}
    summed = named if of_draws else kept
    error = kept[ERROR]
    zero = 0.0 * error
    effects = [name for name in named if name not in ("part", ERROR)]
    reproducibility = sum((summed[name] for name in effects), start=zero)
    gauge = error + reproducibility
    total = gauge + summed["part"]
    nothing = {"appraiser": zero, "interaction": zero}
    return {
        ERROR: error,
        **nothing,
        **{name: kept[name] for name in effects},
        "reproducibility": larger(reproducibility, 0.0),
        "grr": larger(gauge, 0.0),
        "part": kept["part"],
        "total": larger(total, sys.float_info.min),
    }


def called(source: str) -> str:
    """Return the name of a source among the components: the book's word for part and appraiser together."""
    return "interaction" if source == "part:appraiser" else source


@lru_cache(maxsize=4)
def _draws(df: tuple[float, ...], draws: int, seed: int | None) -> NDArray[np.float64]:
    """Draw from chi-square, one row per mean square; studies of one design share them."""
    rng = generator(seed, "crossed intervals")
    result = np.stack([rng.chisquare(number, draws) for number in df])
    result.flags.writeable = False
    return result


def components_of(
    full: MeanSquares, estimate: dict[str, float], settings: Settings
) -> tuple[dict[str, Component], Interval | Absent]:
    """Compute all components and the number of distinct categories, with intervals.

    Parameters
    ----------
    full : MeanSquares
        Before anything was pooled; the intervals start from it.
    estimate : dict of str to float
        Variances by source, negative ones as zero; sources that were pooled are absent.
    settings : Settings

    Returns
    -------
    components : dict of str to Component
    ndc : Interval or Absent
    """
    point = sums_of({name: estimate.get(name, 0.0) for name in full.sources})
    total = point["total"]
    drawn = _drawn(full, settings) if settings.draws else {}
    tails = ((1 - settings.confidence) / 2, (1 + settings.confidence) / 2)

    def around(value: float, ends: tuple[float, float], how: str = PIVOT) -> Interval:
        return Interval(value, min(ends[0], value), max(ends[1], value), settings.confidence, how)

    exact = sd_interval(math.sqrt(full.ms[-1]), full.df[-1], settings.confidence)
    hiding = exact.high**2 < settings.hidden
    shares: dict[str, Interval | Absent] = {}
    for name, value in point.items():
        if not drawn:
            shares[name] = NO_SHARE
        elif name in ("part", "total"):
            continue
        elif name == "grr":
            low, high = _quantiles(_share(drawn["grr"], drawn["total"]), tails)
            least = (value + settings.hidden) / (total + settings.hidden) if hiding else 0.0
            high = max(high, least)
            shares["grr"] = around(value / total, (low, high))
            shares["part"] = around(point["part"] / total, (1 - high, 1 - low))
            shares["total"] = around(1.0, (1.0, 1.0))
        else:
            low, high = _quantiles(_share(drawn[name], drawn["total"]), tails)
            if name == ERROR and hiding:
                high = max(high, settings.hidden / (total + settings.hidden))
            shares[name] = around(value / total, (low, high))
    found = {}
    weights = _combinations(full, tuple(point))
    large_sample = np.maximum(mls_intervals(full, weights, settings.confidence), 0.0).T.tolist()
    freedom = _satterthwaite(list(point.values()), weights, full)
    of_tolerance = settings.sigma_multiplier / settings.tolerance if settings.tolerance else None
    for name, value, ends, df in zip(point, point.values(), large_sample, freedom, strict=True):
        if name == ERROR:
            variance = around(value, (exact.low**2, exact.high**2), exact.method)
        elif settings.method == "mls" or not drawn or name == "total":
            variance = around(value, ends, "modified large sample")
        else:
            variance = around(value, _quantiles(drawn[name], tails))
        if hiding and name in (ERROR, "grr", "total"):
            variance = _reaching(variance, settings.hidden, name == ERROR)
        share, sd = shares[name], variance.mapped(math.sqrt)
        found[name] = Component(
            variance=variance,
            sd=sd,
            share_of_variance=share,
            share_of_sd=share.mapped(math.sqrt) if isinstance(share, Interval) else share,
            share_of_tolerance=sd.times(of_tolerance) if of_tolerance else NO_TOLERANCE,
            degrees_of_freedom=df,
        )
    return found, _categories(shares["part"], point, settings)


def _reaching(variance: Interval, hidden: float, alone: bool) -> Interval:
    """Raise the upper end to what rounding may hide."""
    high = max(variance.high, hidden) if alone else variance.high + hidden
    return Interval(
        variance.estimate,
        variance.low,
        max(high, variance.estimate),
        variance.confidence,
        f"{variance.method}, at least the step's",
    )


def _share(one: Any, total: Any) -> Any:
    """Divide draws; a part whose draw is above that of the total takes all of it."""
    whole = np.maximum(one, total)
    return np.divide(one, whole, out=np.zeros_like(one), where=whole > 0)


def _drawn(full: MeanSquares, settings: Settings) -> dict[str, Any]:
    chi = _draws(tuple(full.df.tolist()), settings.draws, settings.seed)
    raw = full.weights @ (full.ss[:, None] / chi)
    return sums_of(dict(zip(full.sources, raw, strict=True)), of_draws=True)


def _categories(
    share: Interval | Absent, point: dict[str, float], settings: Settings
) -> Interval | Absent:
    """Compute ndc from the parts' share of the variance, with its interval."""
    if isinstance(share, Absent):
        return Absent("modified large samples alone give no interval of the number of categories")
    if point["grr"] == 0:
        return Interval(math.inf, 0.0, math.inf, settings.confidence, "no spread of the gauge seen")

    def ndc(s: float) -> float:
        return settings.ndc_factor * math.sqrt(s / (1 - s)) if s < 1 else math.inf

    return share.mapped(ndc)


def _combinations(full: MeanSquares, wanted: tuple[str, ...]) -> NDArray[np.float64]:
    """Write each component, and each sum of components, as a combination of mean squares.

    Shape (wanted, sources); a component the study does not have is a row of zeros.
    """
    rows = {called(source): row for source, row in zip(full.sources, full.weights, strict=True)}
    part, error = rows["part"], rows[ERROR]
    nothing = 0.0 * part
    reproducibility = sum(
        (row for key, row in rows.items() if key not in ("part", ERROR)), start=nothing
    )
    gauge = reproducibility + error
    rows |= {"reproducibility": reproducibility, "grr": gauge, "total": gauge + part}
    return np.stack([rows.get(name, nothing) for name in wanted])


def _satterthwaite(
    values: list[float], weights: NDArray[np.float64], full: MeanSquares
) -> list[float | None]:
    below = ((weights * full.ms) ** 2 / full.df).sum(axis=1).tolist()
    return [
        value**2 / b if value > 0 and b > 0 else None
        for value, b in zip(values, below, strict=True)
    ]


def in_percent(share: Interval | Absent) -> Interval | Absent | float:
    """Return a share of one in percent, as tables hold it; the whole is a plain number."""
    if isinstance(share, Absent):
        return share
    return 100 * share.estimate if share.low == share.high else share.times(100.0)


def percent(share: Interval | Absent) -> str:
    """Write a share with its interval as sentences show it."""
    if isinstance(share, Absent):
        return "not given"
    if math.isinf(share.high):
        return f"{share.estimate:.1%}"
    return f"{share.estimate:.1%} ({share.low:.1%} to {share.high:.1%})"


def _quantiles(sample: Any, tails: tuple[float, float]) -> tuple[float, float]:
    """Find two order statistics by partition, which is faster than a full sort."""
    ranks = [int(tail * (len(sample) - 1)) for tail in tails]
    parted = np.partition(sample, ranks)
    return float(parted[ranks[0]]), float(parted[ranks[1]])


@lru_cache(maxsize=256)
def _constants(df: float, tail: float) -> tuple[float, float]:
    """Compute G and H of one mean square: how far below and above it its expectation may lie."""
    from scipy.special import chdtri

    return 1 - df / float(chdtri(df, tail)), df / float(chdtri(df, 1 - tail)) - 1


@lru_cache(maxsize=256)
def _of_a_difference(first: float, second: float, tail: float) -> tuple[float, float]:
    """Compute the cross constants that make the interval of a difference of two mean squares nearly exact."""
    from scipy.special import fdtri

    g1, h1 = _constants(first, tail)
    g2, h2 = _constants(second, tail)
    high, low = float(fdtri(first, second, 1 - tail)), float(fdtri(first, second, tail))
    lower = ((high - 1) ** 2 - (g1 * high) ** 2 - h2**2) / high
    upper = ((1 - low) ** 2 - (h1 * low) ** 2 - g2**2) / low
    return lower, upper


@lru_cache(maxsize=256)
def _of_a_sum(first: float, second: float, tail: float) -> float:
    """Compute the cross constant of two mean squares of one sign."""
    both = _constants(first + second, tail)[0] ** 2 * (first + second) ** 2 / (first * second)
    g1, g2 = _constants(first, tail)[0], _constants(second, tail)[0]
    return both - g1**2 * first / second - g2**2 * second / first


def mls_intervals(
    squares: MeanSquares, weights: NDArray[np.float64], confidence: float
) -> NDArray[np.float64]:
    """Compute intervals of weighted sums of expected mean squares.

    Parameters
    ----------
    squares : MeanSquares
    weights : numpy.ndarray of float, shape (sums, sources)
        Of the mean squares, one row for each sum; either sign.
    confidence : float

    Returns
    -------
    numpy.ndarray of float, shape (2, sums)
        Low and high ends in the squared unit; may be below zero.
    """
    tail = (1 - confidence) / 2
    ends = [_mls(row * squares.ms, squares.df, tail) for row in weights]
    return np.array(ends).T


def _mls(terms: NDArray[np.float64], df: NDArray[np.float64], tail: float) -> tuple[float, float]:
    """Compute the ends of the interval of one sum of mean squares, each times its weight."""
    # A mean square of nothing takes part in no correction either.
    use = np.abs(terms) > 1e-12 * np.abs(terms).max()
    signed = [*zip(terms[use].tolist(), df[use].tolist(), strict=True)]
    down = up = 0.0
    for term, free in signed:
        g, h = _constants(free, tail)
        down += term**2 * (g**2 if term > 0 else h**2)
        up += term**2 * (h**2 if term > 0 else g**2)
    added = [pair for pair in signed if pair[0] > 0]
    taken = [pair for pair in signed if pair[0] < 0]
    for one, its_df in added:
        for other, other_df in taken:
            lower, upper = _of_a_difference(its_df, other_df, tail)
            down += one * -other * lower
            up += one * -other * upper
    if taken:
        # Cross terms of one sign are spread over the number of them less one.
        for (one, its_df), (other, other_df) in combinations(added, 2):
            down += one * other * _of_a_sum(its_df, other_df, tail) / (len(added) - 1)
        for (one, its_df), (other, other_df) in combinations(taken, 2):
            up += one * other * _of_a_sum(its_df, other_df, tail) / (len(taken) - 1)
    middle = math.fsum(term for term, _ in signed)
    # Rounding may leave a square just below nothing.
    return middle - math.sqrt(max(down, 0.0)), middle + math.sqrt(max(up, 0.0))
