"""Which gauge study shows that a gauge is good enough.

Model: a crossed study as it will be analysed: random parts, appraisers and interaction, normal and
independent. Its mean squares are drawn from their chi-square distributions, the one-sided upper bound
of the gauge's spread is taken by modified large samples (Burdick, Borror & Montgomery, 2005, ch. 3), and
the share of drawn studies whose bound stays below what is allowed is the chance to show it. Misleads
where the appraisers who will measure are not a sample of those who will use the gauge: with two or
three of them the spread between appraisers is hardly known, and no number of parts mends that.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from linestudy.gauges.grr.intervals import mls_intervals
from linestudy.gauges.grr.mean_squares import MeanSquares, balanced
from linestudy.numerics import generator
from linestudy.results import CannotJudge, Finding, arguments
from linestudy.results.tables import Rows
from linestudy.running.deprecation import old_keywords, renamed

#: Designs that are compared unless others are asked for: (parts, appraisers, trials).
DESIGNS = (
    (5, 2, 2),
    (5, 3, 3),
    (10, 2, 3),
    (10, 3, 2),
    (10, 3, 3),
    (10, 6, 2),
    (20, 3, 2),
    (30, 3, 2),
)
STUDIES = 1_000


@dataclass(frozen=True, slots=True)
class Design:
    """One design of a crossed study and what it can show.

    Attributes
    ----------
    parts, appraisers, trials : int
        Levels of each factor.
    readings : int
        Their product.
    chance : float
        Share of simulated studies that show the gauge to be good enough.
    bound : float
        Median of the upper bounds of the share of the tolerance.
    """

    parts: int
    appraisers: int
    trials: int
    readings: int
    chance: float
    bound: float

    def __str__(self) -> str:
        return f"{self.parts} parts, {self.appraisers} appraisers, {self.trials} trials"


@dataclass(frozen=True)
class GaugeStudySize(Finding):
    """What designs of a crossed gauge study can show.

    Attributes
    ----------
    true_share : float
        True share of the tolerance that the gauge takes up (%GRR of tolerance over 100).
    required : float
        Share that it must be shown to be below.
    confidence : float
        Of the one-sided upper bound.
    designs : tuple of Design
        What each design can show.
    power : float
        Probability of success that is asked for.
    """

    true_share: float
    required: float
    confidence: float
    designs: tuple[Design, ...]
    power: float
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Size of a gauge study"
    picture: ClassVar[str] = "plan:chance_of_designs"

    @property
    def statement(self) -> str:
        good = [item for item in self.designs if item.chance >= self.power]
        aim = f"that a gauge with %GRR {self.true_share:.0%} of tolerance stays below {self.required:.0%}"
        if not good:
            best = max(self.designs, key=lambda item: item.chance)
            return (
                f"None of these designs shows {aim} in {self.power:.0%} of studies; "
                f"{best} does in {best.chance:.0%}."
            )
        least = min(good, key=lambda item: item.readings)
        return (
            f"The smallest of these designs that shows {aim}, at {self.confidence:.0%} confidence in "
            f"{self.power:.0%} of studies, is {least}."
        )

    def _rows(self) -> Rows:
        return [
            {
                "parts": item.parts,
                "appraisers": item.appraisers,
                "trials": item.trials,
                "readings": item.readings,
                "chance to show it (%)": 100 * item.chance,
                "median upper bound of %GRR": 100 * item.bound,
            }
            for item in self.designs
        ]


@old_keywords(
    renamed("studies", "runs", since="0.3.0", removal="0.4.0"),
)
def gauge_study_size(
    *,
    true_share: float = 0.10,
    required: float = 0.30,
    reproducibility: float = 0.3,
    designs: tuple[tuple[int, int, int], ...] = DESIGNS,
    power: float = 0.8,
    confidence: float = 0.95,
    runs: int = STUDIES,
    seed: int | None = None,
) -> GaugeStudySize:
    """Find the probability that a crossed study shows a gauge to be good enough, for several designs.

    Parameters
    ----------
    true_share : float
        True gauge spread as a share of the tolerance (0.10 for a %GRR of 10 %).
    required : float
        Share that it must be shown to be below.
    reproducibility : float
        Part of the gauge's variance that lies between appraisers, from 0 to below 1.
    designs : tuple of (int, int, int)
        Parts, appraisers, trials; at least two of each.
    power : float
        Probability of success that is asked for, between 0 and 1.
    confidence : float
        Of the one-sided upper bound, between 0 and 1.
    runs : int
        Studies simulated for each design.
    seed : int, optional
        Of the simulation; the kit's own when absent, so that a second call gives the same numbers.

    Returns
    -------
    GaugeStudySize
        With the probability and the median upper bound of each design.

    Raises
    ------
    CannotJudge
        The gauge is no better than what is required.
    ValueError
        An argument outside its range, or a design with fewer than two of anything.

    See Also
    --------
    crossed_sheet : A sheet for the design chosen.

    Notes
    -----
    Model: random parts, appraisers and interaction, normal and independent. Mean squares are drawn
    from their chi-square distributions; the upper bound is that of modified large samples. Misleads
    where the appraisers who will measure are not a sample of those who will use the gauge: with two
    or three of them the spread between appraisers is hardly known, and no number of parts mends that.

    References
    ----------
    Burdick, Borror & Montgomery (2005), *Design and Analysis of Gauge R&R Studies*, ch. 3.

    Examples
    --------
    >>> found = gauge_study_size(true_share=0.1, required=0.3, runs=200, seed=1)
    >>> found.designs[0].chance < found.designs[5].chance
    True
    """
    arguments.number("true_share", true_share, above=0)
    arguments.number("required", required, above=0)
    arguments.number("reproducibility", reproducibility, least=0, below=1)
    arguments.share("power", power)
    arguments.share("confidence", confidence)
    arguments.whole("runs", runs, least=1)
    if true_share >= required:
        raise CannotJudge("No study shows a gauge to be better than it is.")
    rng = generator(seed, "gauge study size")
    found = []
    for parts, appraisers, trials in designs:
        for name, levels in (("parts", parts), ("appraisers", appraisers), ("trials", trials)):
            arguments.whole(f"{name} of a design", levels, least=2)
        design = (parts, appraisers, trials)
        bounds = _upper_bounds(design, true_share, reproducibility, confidence, runs, rng)
        chance, bound = float((bounds < required).mean()), float(np.median(bounds))
        found.append(Design(*design, parts * appraisers * trials, chance, bound))
    error = math.sqrt(0.25 / runs)
    return GaugeStudySize(
        true_share=true_share,
        required=required,
        confidence=confidence,
        designs=tuple(found),
        power=power,
        cautions=(
            f"Chances are drawn {runs:,} times and known to about {2 * error:.0%}.",
            "Appraisers must be a sample of those who will use the gauge.",
        ),
    )


def _upper_bounds(
    design: tuple[int, int, int],
    share: float,
    reproducibility: float,
    confidence: float,
    studies: int,
    rng: np.random.Generator,
) -> Any:
    """Upper bound of the gauge's share of tolerance in each drawn study."""
    plan = balanced(np.zeros((1, *design)), ("part", "appraiser"))[0]
    gauge = share**2
    # Parts spread as the tolerance allows; the bound of the gauge does not lean on it.
    variance = {
        "part": 1.0,
        "appraiser": reproducibility * gauge,
        "part:appraiser": 0.0,
        "repeatability": (1 - reproducibility) * gauge,
    }
    true = plan.expected @ np.array([variance[source] for source in plan.sources])
    weights = plan.weights[[i for i, s in enumerate(plan.sources) if s != "part"]].sum(axis=0)
    drawn = true * rng.chisquare(plan.df, (studies, plan.df.size))
    tops = [
        mls_intervals(
            MeanSquares(plan.sources, row, plan.df, plan.expected),
            weights[None],
            2 * confidence - 1,
        )[1, 0]
        for row in drawn
    ]
    return np.sqrt(np.maximum(tops, 0.0))
