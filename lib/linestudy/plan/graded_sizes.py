"""How many parts a study of ordered grades needs.

Model: a part has a size that nobody reads, normal over the parts of the study and cut into grades; an appraiser sees it
with a normal error of their own and cuts it at the same places. The error is the one that gives the true weighted
kappa against the reference. Parts are chosen so that each grade holds its share; appraisers err independently, and the
worst of them decides, by the estimate or by the lower end of the very interval that the study computes. Chances are
simulated (their standard error is about two points). Misleads where parts are chosen from the middle of their
grades, which nobody misjudges, and where an appraiser grades all parts too high or too low.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import ClassVar

import numpy as np

from linestudy.gauges.judgement.weighted_agreement import weighted_kappa, weights_of
from linestudy.numerics import generator
from linestudy.plan.chances import BASES, DecideOn, per_cent_of
from linestudy.results import CannotJudge, Finding, Interval, arguments
from linestudy.results.tables import Rows

#: Studies simulated for each number of parts.
_STUDIES = 500
_NODES = 48


@dataclass(frozen=True, slots=True)
class GradedChance:
    """What one number of parts can show.

    Attributes
    ----------
    n : int
        Parts.
    chance : float
        Probability that all appraisers pass.
    """

    n: int
    chance: float


@dataclass(frozen=True)
class GradedStudySize(Finding):
    """How many parts show that appraisers grade well enough.

    Attributes
    ----------
    n : int
        Parts needed.
    true_kappa : float
        Weighted kappa against the reference that each appraiser truly has.
    least_kappa : float
        Weighted kappa to be shown.
    shares : tuple of float
        Share of the parts in each grade.
    weights : str
        ``"quadratic"`` or ``"linear"``.
    appraisers : int
        Who all have to pass.
    misgraded : float
        Share of parts that an appraiser with this kappa grades otherwise than the reference.
    power, confidence : float
        Chance asked for; confidence of the two-sided interval.
    decide_on : str
        ``"lower bound"`` or ``"estimate"``.
    chances : tuple of GradedChance
        For several numbers of parts.
    """

    n: int
    true_kappa: float
    least_kappa: float
    shares: tuple[float, ...]
    weights: str
    appraisers: int
    misgraded: float
    power: float
    confidence: float
    decide_on: DecideOn
    chances: tuple[GradedChance, ...]
    cautions: tuple[str, ...] = (
        "Choose parts on both sides of every border between two grades, and hide their numbers.",
        "Chances are simulated, with a standard error of about two points.",
    )
    title: ClassVar[str] = "Size of a study of grades"
    picture: ClassVar[str] = "plan:chance_of_success"

    @property
    def statement(self) -> str:
        how = (
            "by its estimate"
            if self.decide_on == "estimate"
            else f"by the {self.confidence:.0%} interval"
        )
        return (
            f"If each of {self.appraisers} appraisers truly has a weighted kappa of {self.true_kappa:g} (grades "
            f"{self.misgraded:.0%} of the parts otherwise than the reference), {self.n:,} parts in {len(self.shares)} grades show "
            f"{how} in at least {self.power:.0%} of studies that it is at least {self.least_kappa:g}."
        )

    def _rows(self) -> Rows:
        return [
            {"parts": item.n, "chance to show it (%)": per_cent_of(item.chance)}
            for item in self.chances
        ]


def graded_study_size(
    *,
    true_kappa: float = 0.9,
    least_kappa: float = 0.75,
    shares: Sequence[float] = (1 / 3, 1 / 3, 1 / 3),
    weights: str = "quadratic",
    appraisers: int = 3,
    decide_on: DecideOn = "lower bound",
    power: float = 0.8,
    confidence: float = 0.95,
    largest: int = 2_000,
    seed: int | None = None,
) -> GradedStudySize:
    r"""Find how many parts show that every appraiser's weighted kappa is high enough.

    Parameters
    ----------
    true_kappa : float
        Weighted kappa against the reference that an appraiser truly has, between 0 and 1.
    least_kappa : float
        Weighted kappa to be shown, below `true_kappa`.
    shares : sequence of float
        Share of the parts in each grade, from the lowest grade on; at least three, with the sum 1.
    weights : str
        ``"quadratic"`` or ``"linear"``: cost of a grade taken for another, as in the study.
    appraisers : int
        The worst of whom decides.
    decide_on : {"lower bound", "estimate"}
        What is held against `least_kappa`.
    power : float
        Probability of success that is asked for, between 0 and 1.
    confidence : float
        Of the two-sided interval, between 0 and 1.
    largest : int
        Number of parts at which the search gives up.
    seed : int, optional
        Of the simulated studies; the kit's own when absent.

    Returns
    -------
    GradedStudySize
        With the probability of success of several numbers.

    Raises
    ------
    CannotJudge
        The true kappa is not above the least, or more parts would be needed than `largest`.
    ValueError
        An argument outside its range.

    See Also
    --------
    judgement_study_size : Judgements that accept or reject.
    linestudy.gauges.graded_agreement : What is computed from it.

    Notes
    -----
    With a normal size z of a part, cut at :math:`c_1 < c_2 < \dots`, an appraiser cuts :math:`z + \sigma e` there, and
    :math:`\sigma` is brought to the root of :math:`\kappa_w(\sigma) = \kappa`. The number given is the smallest of those
    tried (multiples of five from fifteen on) whose simulated chance reaches `power`; a multiple of it below was short.

    References
    ----------
    Cohen, *Psychological Bulletin* 70 (1968), 213-220.

    Examples
    --------
    >>> graded_study_size(true_kappa=0.95, least_kappa=0.75, appraisers=1, decide_on="estimate").n
    15
    """
    arguments.share("true_kappa", true_kappa)
    arguments.share("least_kappa", least_kappa)
    arguments.one_of("weights", weights, ("quadratic", "linear"))
    arguments.whole("appraisers", appraisers, least=1)
    arguments.one_of("decide_on", decide_on, BASES)
    arguments.share("power", power)
    arguments.share("confidence", confidence)
    arguments.whole("largest", largest, least=15)
    parts = tuple(float(share) for share in shares)
    if len(parts) < 3 or min(parts) <= 0 or abs(sum(parts) - 1) > 1e-6:
        raise ValueError(
            f"shares = {parts}: give a share above 0 for each of three grades or more, with the sum 1."
        )
    if true_kappa <= least_kappa:
        raise CannotJudge("No study shows a kappa to be above a value that it does not lie above.")
    table = _table(parts, weights, true_kappa)
    on_bound = decide_on == "lower bound"
    known: dict[int, float] = {}

    def chance(n: int) -> float:
        if n not in known:
            one = _passing(n, table, parts, weights, least_kappa, confidence, on_bound, seed)
            known[n] = one**appraisers
        return known[n]

    low, high = 10, 15
    while chance(high) < power:
        low, high = high, 2 * high - high % 10
        if high > largest:
            raise CannotJudge(f"More than {largest:,} parts would be needed.")
    while high - low > 5:
        middle = 5 * round((low + high) / 10)
        low, high = (low, middle) if chance(middle) >= power else (middle, high)
    # The usual sizes beside it, as far as a picture can separate them.
    shown = {high, *(n for n in (20, 30, 50, 100) if not 0.8 < n / high < 1.25)}
    return GradedStudySize(
        n=high,
        true_kappa=true_kappa,
        least_kappa=least_kappa,
        shares=parts,
        weights=weights,
        appraisers=appraisers,
        misgraded=float(1 - sum(row[i] * parts[i] for i, row in enumerate(table))),
        power=power,
        confidence=confidence,
        decide_on=decide_on,
        chances=tuple(GradedChance(n, chance(n)) for n in sorted(shown)),
    )


@lru_cache(maxsize=32)
def _table(shares: tuple[float, ...], weights: str, kappa: float) -> tuple[tuple[float, ...], ...]:
    """Compute the shares of each reference grade that an appraiser of this kappa puts into each grade."""
    from scipy.optimize import brentq

    cost = weights_of(weights, len(shares))
    parts = np.array(shares)

    def off(log_sd: float) -> float:
        rows = _graded(shares, float(np.exp(log_sd)))
        both = parts[:, None] * rows
        return float(1 - (both * cost).sum() / (parts @ cost @ both.sum(axis=0)) - kappa)

    found = _graded(shares, float(np.exp(brentq(off, -9.0, 6.0, xtol=1e-10))))
    return tuple(tuple(row) for row in found.tolist())


def _graded(shares: tuple[float, ...], sd: float) -> np.ndarray:
    """Compute the shares of each reference grade in the appraiser's, for an error of so many SD of the parts."""
    from scipy.special import ndtr, ndtri

    from linestudy.numerics.quadrature import legendre

    ends = np.concatenate([[0.0], np.minimum(np.cumsum(shares)[:-1], 1.0), [1.0]])
    cuts = ndtri(ends)
    nodes, weight = legendre(_NODES)
    # Nodes are placed in probability, so that the outer grades need no end.
    inside = ends[:-1, None] + np.diff(ends)[:, None] * (nodes + 1) / 2
    below = ndtr((cuts - ndtri(inside)[:, :, None]) / sd)
    return np.asarray((weight[:, None] / 2 * np.diff(below, axis=2)).sum(axis=1))


def _passing(
    n: int,
    table: tuple[tuple[float, ...], ...],
    shares: tuple[float, ...],
    weights: str,
    least: float,
    confidence: float,
    on_bound: bool,
    seed: int | None,
) -> float:
    """Simulate the share of studies of n parts in which one appraiser passes."""
    rng = generator(seed, "graded study", str(n))
    grades = len(shares)
    # Parts are chosen: each grade holds its share, to the nearest part.
    bounds = np.round(np.cumsum(shares) * n).astype(int)
    reference = np.repeat(np.arange(grades), np.diff(bounds, prepend=0))
    edges = np.cumsum(np.array(table), axis=1)[reference, :-1]
    truth, cost = np.eye(grades)[reference], weights_of(weights, grades)
    passed = 0
    for drawn in rng.random((_STUDIES, n)):
        own = np.eye(grades)[(drawn[:, None] > edges).sum(axis=1)]
        found = weighted_kappa([(own, truth)], cost, confidence)
        if isinstance(found, Interval):
            passed += (found.low if on_bound else found.estimate) >= least
    return passed / _STUDIES
