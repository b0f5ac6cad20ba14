"""Variance components out of mean squares, with intervals two ways.

Pivotal: each mean square times its degrees of freedom over a chi-square draw takes the place
of its expectation; every function of the components, shares and ndc included, then has an
interval from the same draws (Burdick, Borror & Montgomery 2005, appendix B.2). Modified large
samples: closed form for sums and for differences of mean squares (Graybill & Wang 1980; Ting,
Burdick, Graybill, Jeyaratnam & Lu, *Journal of Statistical Computation and Simulation* 35 (1990)).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from linestudy.core import Absent, Interval

#: Sources of the table of variance, in the order it is read.
EFFECTS = ("part", "appraiser", "part:appraiser", "repeatability")


@dataclass(frozen=True)
class Component:
    """One variance component.

    Attributes
    ----------
    variance, sd : Interval
        In the squared unit and the unit of the readings.
    share_of_variance, share_of_sd : Interval
        Of the total; shares of standard deviation do not add up to one.
    share_of_tolerance : Interval or Absent
        Spread over tolerance.
    """

    variance: Interval
    sd: Interval
    share_of_variance: Interval
    share_of_sd: Interval
    share_of_tolerance: Interval | Absent


@dataclass(frozen=True)
class MeanSquares:
    """Sums of squares and degrees of freedom of a crossed study.

    Attributes
    ----------
    parts, appraisers : int
    trials : float
        Readings per cell.
    ss, df : dict
        By source.
    """

    parts: int
    appraisers: int
    trials: float
    ss: dict[str, float]
    df: dict[str, int]

    def with_interaction_pooled(self) -> MeanSquares:
        """The same with the interaction counted as repeatability."""
        ss, df = dict(self.ss), dict(self.df)
        ss["repeatability"] += ss.pop("part:appraiser")
        df["repeatability"] += df.pop("part:appraiser")
        return MeanSquares(self.parts, self.appraisers, self.trials, ss, df)

    @property
    def has_interaction(self) -> bool:
        """Whether the interaction is a source of its own."""
        return self.df.get("part:appraiser", 0) > 0


def _split(squares: MeanSquares, expected: dict[str, Any]) -> dict[str, Any]:
    """Components from expected mean squares; arrays are handled elementwise, negatives kept."""
    error = expected["repeatability"]
    cell = expected.get("part:appraiser", error)
    raw = {"repeatability": error}
    with_appraisers = squares.appraisers > 1
    raw["appraiser"] = (
        (expected["appraiser"] - cell) / (squares.parts * squares.trials)
        if with_appraisers
        else 0.0 * error
    )
    raw["interaction"] = (cell - error) / squares.trials
    raw["part"] = (expected["part"] - cell) / (squares.appraisers * squares.trials)
    return raw


def _sums(raw: dict[str, Any]) -> dict[str, Any]:
    kept = {name: np.maximum(value, 0.0) for name, value in raw.items()}
    reproducibility = kept["appraiser"] + kept["interaction"]
    grr = kept["repeatability"] + reproducibility
    return {
        "repeatability": kept["repeatability"],
        "appraiser": kept["appraiser"],
        "interaction": kept["interaction"],
        "reproducibility": reproducibility,
        "grr": grr,
        "part": kept["part"],
        "total": grr + kept["part"],
    }


def components_of(
    squares: MeanSquares,
    tolerance: float | None,
    spread: float,
    confidence: float,
    method: str,
    draws: int,
    rng: np.random.Generator,
    ndc_factor: float,
) -> tuple[dict[str, Component], Interval, tuple[str, ...]]:
    """All components, the number of distinct categories, and which estimates were negative.

    Parameters
    ----------
    squares : MeanSquares
    tolerance : float or None
    spread, confidence : float
    method : {"pivotal", "mls"}
    draws : int
    rng : numpy.random.Generator
    ndc_factor : float

    Returns
    -------
    components : dict of str to Component
    ndc : Interval
    negative : tuple of str
    """
    sources = [name for name in EFFECTS if squares.df.get(name, 0) > 0]
    mean_squares = {name: squares.ss[name] / squares.df[name] for name in sources}
    raw = _split(squares, {name: np.float64(value) for name, value in mean_squares.items()})
    negative = tuple(name for name, value in raw.items() if value < 0)
    estimate = _sums(raw)
    drawn = _sums(
        _split(
            squares,
            {name: squares.ss[name] / rng.chisquare(squares.df[name], draws) for name in sources},
        )
    )
    tails = ((1 - confidence) / 2, (1 + confidence) / 2)

    def interval(value: float, sample: Any, how: str = "generalized pivot") -> Interval:
        low, high = _quantiles(sample, tails)
        return Interval(
            float(value), min(low, float(value)), max(high, float(value)), confidence, how
        )

    found = {}
    total, total_drawn = estimate["total"], drawn["total"]
    for name, value in estimate.items():
        sample = drawn[name]
        variance = interval(value, sample)
        if method == "mls":
            variance = _mls(name, squares, mean_squares, float(value), confidence) or variance
        share = interval(value / total, sample / total_drawn)
        sd = variance.mapped(math.sqrt)
        found[name] = Component(
            variance=variance,
            sd=sd,
            share_of_variance=share,
            share_of_sd=share.mapped(math.sqrt),
            share_of_tolerance=sd.times(spread / tolerance)
            if tolerance
            else Absent("there is no two-sided tolerance"),
        )
    ratio = drawn["part"] / np.maximum(drawn["grr"], np.finfo(float).tiny)
    if estimate["grr"] > 0:
        categories = interval(
            ndc_factor * math.sqrt(estimate["part"] / estimate["grr"]),
            ndc_factor * np.sqrt(ratio),
        )
    else:
        categories = Interval(math.inf, 0.0, math.inf, confidence, "no spread of the gauge seen")
    return found, categories, negative


def _quantiles(sample: Any, tails: tuple[float, float]) -> tuple[float, float]:
    """Two order statistics by partition, which is faster than a full sort."""
    ranks = [int(tail * (len(sample) - 1)) for tail in tails]
    parted = np.partition(sample, ranks)
    return float(parted[ranks[0]]), float(parted[ranks[1]])


def _mls(
    name: str,
    squares: MeanSquares,
    mean_squares: dict[str, float],
    value: float,
    confidence: float,
) -> Interval | None:
    """Modified large sample interval of a variance, where the component is one sum or difference."""
    p, o, r = squares.parts, squares.appraisers, squares.trials
    cell = "part:appraiser" if squares.has_interaction else "repeatability"
    if name == "repeatability":
        terms = {"repeatability": 1.0}
    elif name == "grr" and o > 1 and squares.has_interaction:
        terms = {
            "appraiser": 1 / (p * r),
            "part:appraiser": (p - 1) / (p * r),
            "repeatability": (r - 1) / r,
        }
    elif name == "grr" and o > 1:
        terms = {"appraiser": 1 / (p * r), "repeatability": (p * r - 1) / (p * r)}
    elif name == "grr":
        terms = {"repeatability": 1.0}
    elif name == "part":
        return _difference("part", cell, o * r, squares, mean_squares, value, confidence)
    elif name == "appraiser" and o > 1:
        return _difference("appraiser", cell, p * r, squares, mean_squares, value, confidence)
    elif name == "interaction" and squares.has_interaction:
        return _difference(cell, "repeatability", r, squares, mean_squares, value, confidence)
    else:
        return None
    from scipy.stats import chi2

    tail = (1 - confidence) / 2
    down = up = 0.0
    for source, factor in terms.items():
        df = squares.df[source]
        part = factor * mean_squares[source]
        down += ((1 - df / chi2.ppf(1 - tail, df)) * part) ** 2
        up += ((df / chi2.ppf(tail, df) - 1) * part) ** 2
    low, high = max(value - math.sqrt(down), 0.0), value + math.sqrt(up)
    return Interval(value, min(low, value), high, confidence, "modified large sample")


def _difference(
    first: str,
    second: str,
    divisor: float,
    squares: MeanSquares,
    mean_squares: dict[str, float],
    value: float,
    confidence: float,
) -> Interval:
    """Interval of (first - second) / divisor after Ting et al. (1990)."""
    from scipy.stats import chi2
    from scipy.stats import f as fisher

    tail = (1 - confidence) / 2
    n1, n2 = squares.df[first], squares.df[second]
    s1, s2 = mean_squares[first] / divisor, mean_squares[second] / divisor
    g1, g2 = (1 - n / chi2.ppf(1 - tail, n) for n in (n1, n2))
    h1, h2 = (n / chi2.ppf(tail, n) - 1 for n in (n1, n2))
    f_high, f_low = fisher.ppf(1 - tail, n1, n2), fisher.ppf(tail, n1, n2)
    g12 = ((f_high - 1) ** 2 - g1**2 * f_high**2 - h2**2) / f_high
    h12 = ((1 - f_low) ** 2 - h1**2 * f_low**2 - g2**2) / f_low
    down = (g1 * s1) ** 2 + (h2 * s2) ** 2 + g12 * s1 * s2
    up = (h1 * s1) ** 2 + (g2 * s2) ** 2 + h12 * s1 * s2
    middle = s1 - s2
    low = max(middle - math.sqrt(max(down, 0.0)), 0.0)
    high = max(middle + math.sqrt(max(up, 0.0)), 0.0)
    return Interval(value, min(low, value), max(high, value), confidence, "modified large sample")
