"""Which gauge study shows that a gauge is good enough.

Model: a crossed study as it will be analysed: random parts, appraisers and interaction, normal and
independent; an automatic gauge has no appraisers. Mean squares are drawn from their chi-square distributions, and what the
verdict decides on is taken from them as the study takes it: the upper end of the two-sided interval by pivots,
or the estimate with an interaction pooled that is not seen. Misleads where the appraisers who will measure are not a
sample of those who will use the gauge: with two or three of them the spread between appraisers is hardly known, and no
number of parts mends that.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from linestudy.gauges.grr.analysis import POOL_ABOVE
from linestudy.gauges.grr.mean_squares import MeanSquares, balanced, pool
from linestudy.numerics import generator
from linestudy.plan.chances import BASES, DecideOn, per_cent_of
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
#: The same for an automatic gauge.
AUTOMATIC = ((5, 1, 3), (10, 1, 3), (10, 1, 5), (10, 1, 10), (25, 1, 2), (25, 1, 4), (50, 1, 2))
STUDIES = 1_000
#: Pivotal draws of each bound; a study takes more, and its bound moves by less than a hundredth of itself.
_DRAWS = 2_000


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
        Share of simulated studies that pass.
    bound : float
        Median of the upper ends of the interval of the share of the tolerance.
    on_estimate : float
        Share of simulated studies whose estimate alone passes.
    """

    parts: int
    appraisers: int
    trials: int
    readings: int
    chance: float
    bound: float
    on_estimate: float

    @property
    def label(self) -> str:
        """How a picture names it."""
        people = f" × {self.appraisers} appraisers" if self.appraisers > 1 else ""
        return f"{self.parts} parts{people} × {self.trials} trials = {self.readings}"

    def __str__(self) -> str:
        if self.appraisers == 1:
            return f"{self.parts} parts, {self.trials} trials"
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
        Of the two-sided interval, whose upper end decides.
    designs : tuple of Design
        What each design can show.
    power : float
        Probability of success that is asked for.
    decide_on : str
        ``"lower bound"`` (the unfavourable end of the interval) or ``"estimate"``.
    """

    true_share: float
    required: float
    confidence: float
    designs: tuple[Design, ...]
    power: float
    decide_on: DecideOn
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
            f"The smallest of these designs that shows {aim}, {self._by()} in {self.power:.0%} of studies, "
            f"is {least}."
        )

    def _by(self) -> str:
        if self.decide_on == "estimate":
            return "by its estimate,"
        return f"by the upper end of the {self.confidence:.0%} interval,"

    def _rows(self) -> Rows:
        return [
            {
                "parts": item.parts,
                "appraisers": item.appraisers,
                "trials": item.trials,
                "readings": item.readings,
                "chance to show it (%)": per_cent_of(item.chance),
                "median upper bound of %GRR": round(100 * item.bound, 1),
                "chance by the estimate (%)": per_cent_of(item.on_estimate),
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
    designs: tuple[tuple[int, int, int], ...] | None = None,
    automatic: bool = False,
    decide_on: DecideOn = "lower bound",
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
    designs : tuple of (int, int, int), optional
        Parts, appraisers, trials; at least two parts and trials, one appraiser for an automatic gauge. Usual ones
        when absent.
    automatic : bool
        Whether usual designs are those of an automatic gauge, without appraisers.
    decide_on : {"lower bound", "estimate"}
        What the verdict decides on (``decide_measurement_on`` in study.toml): the unfavourable end of the
        interval, or the estimate.
    power : float
        Probability of success that is asked for, between 0 and 1.
    confidence : float
        Of the two-sided interval, between 0 and 1.
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
    from their chi-square distributions. On the bound a study passes where the upper end of the two-sided interval of
    GRR, by generalized pivots, lies at or below `required`: the same end that the verdict reads. On the estimate
    a gauge that takes up just `required` passes in about half of all studies. Misleads where the appraisers who will measure are not a sample of those who will use the gauge: with two or three of them the spread between
    appraisers is hardly known, and no number of parts mends that.

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
    arguments.one_of("decide_on", decide_on, BASES)
    if true_share >= required:
        raise CannotJudge("No study shows a gauge to be better than it is.")
    rng = generator(seed, "gauge study size")
    if designs is None:
        designs = AUTOMATIC if automatic else DESIGNS
    found = []
    for parts, appraisers, trials in designs:
        for name, levels, least in (
            ("parts", parts, 2),
            ("appraisers", appraisers, 1),
            ("trials", trials, 2),
        ):
            arguments.whole(f"{name} of a design", levels, least=least)
        design = (parts, appraisers, trials)
        estimates, tops = _drawn_studies(design, true_share, reproducibility, confidence, runs, rng)
        by_estimate, by_bound = (float((ends <= required).mean()) for ends in (estimates, tops))
        passed = by_estimate if decide_on == "estimate" else by_bound
        readings = parts * appraisers * trials
        found.append(Design(*design, readings, passed, float(np.median(tops)), by_estimate))
    error = math.sqrt(0.25 / runs)
    return GaugeStudySize(
        true_share=true_share,
        required=required,
        confidence=confidence,
        designs=tuple(found),
        power=power,
        decide_on=decide_on,
        cautions=(
            f"Chances are drawn {runs:,} times and known to about {2 * error:.0%}.",
            *_of_people(found),
        ),
    )


def _of_people(designs: list[Design]) -> tuple[str, ...]:
    if any(item.appraisers > 1 for item in designs):
        return ("Appraisers must be a sample of those who will use the gauge.",)
    return (
        "Parts must be taken out and put in again between readings, or only the camera's noise is seen.",
    )


def _drawn_studies(
    design: tuple[int, int, int],
    share: float,
    reproducibility: float,
    confidence: float,
    studies: int,
    rng: np.random.Generator,
) -> tuple[Any, Any]:
    """Simulate each study's estimate of the gauge's share of tolerance, and the upper end of its interval."""
    parts, appraisers, trials = design
    several = appraisers > 1
    shape = design if several else (parts, trials)
    plan = balanced(np.zeros((1, *shape)), ("part", "appraiser") if several else ("part",))[0]
    gauge = share**2
    between = reproducibility * gauge if several else 0.0
    # Parts spread as the tolerance allows; the bound of the gauge does not lean on it.
    variance = {
        "part": 1.0,
        "appraiser": between,
        "part:appraiser": 0.0,
        "repeatability": gauge - between,
    }
    true = plan.expected @ np.array([variance[source] for source in plan.sources])
    weights = plan.weights[[i for i, s in enumerate(plan.sources) if s != "part"]].sum(axis=0)
    squares = true * rng.chisquare(plan.df, (studies, plan.df.size))
    pivots = weights[:, None] / rng.chisquare(plan.df, (_DRAWS, plan.df.size)).T
    estimates = np.array([_estimate(plan, row) for row in squares])
    rank = int((1 + confidence) / 2 * (_DRAWS - 1))
    tops = np.partition(squares @ pivots, rank, axis=1)[:, rank]
    return np.sqrt(estimates), np.sqrt(np.maximum(tops, estimates))


def _estimate(plan: MeanSquares, squares: Any) -> float:
    """Estimate the gauge's variance as a study does: what is not seen is pooled, what is negative counts as zero."""
    _, _, used = pool(MeanSquares(plan.sources, squares, plan.df, plan.expected), POOL_ABOVE)
    found = dict(zip(used.sources, used.variances, strict=True))
    return float(sum(max(value, 0.0) for source, value in found.items() if source != "part"))
