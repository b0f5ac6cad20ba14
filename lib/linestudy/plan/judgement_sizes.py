"""How many parts a study of judgements needs.

Model: each appraiser judges each part wrongly with one probability, and judges a part as before when it comes
again, so that the part is what counts; appraisers err independently of each other. The worst appraiser decides,
by the estimate or by the unfavourable end of the exact two-sided interval (Clopper and Pearson). Misleads where
parts are chosen far from the limit, which nobody misjudges: the rates then say nothing of parts that matter.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar, Literal

import numpy as np

from linestudy.plan.chances import BASES, DecideOn, per_cent_of
from linestudy.results import CannotJudge, Finding, arguments
from linestudy.results.tables import Rows

#: What is counted, and of which parts.
RATES = {
    "miss": "bad parts",
    "false alarm": "good parts",
    "effectiveness": "parts, good and bad",
}
Rate = Literal["miss", "false alarm", "effectiveness"]


@dataclass(frozen=True, slots=True)
class JudgementChance:
    """What one number of parts can show.

    Attributes
    ----------
    n : int
        Parts of the kind that counts.
    most_wrong : int
        Most parts that an appraiser may judge wrongly, -1 where not even none would do.
    chance : float
        Probability that all appraisers pass.
    """

    n: int
    most_wrong: int
    chance: float


@dataclass(frozen=True)
class JudgementStudySize(Finding):
    """How many parts show that judgements are good enough.

    Attributes
    ----------
    n : int
        Parts needed of the kind that counts.
    rate : str
        Which rate.
    true_wrong : float
        Share of these parts that an appraiser truly misjudges.
    allowed_wrong : float
        Share that is allowed.
    appraisers : int
        Who all have to pass.
    power, confidence : float
        Chance asked for; confidence of the two-sided interval.
    decide_on : str
        ``"lower bound"`` (the unfavourable end) or ``"estimate"``.
    chances : tuple of JudgementChance
        For several numbers of parts.
    """

    n: int
    rate: str
    true_wrong: float
    allowed_wrong: float
    appraisers: int
    power: float
    confidence: float
    decide_on: DecideOn
    chances: tuple[JudgementChance, ...]
    cautions: tuple[str, ...] = (
        "Choose parts near the limit too, and hide their numbers; trials of the same part count little.",
    )
    title: ClassVar[str] = "Size of a study of judgements"
    picture: ClassVar[str] = "plan:chance_of_success"

    @property
    def statement(self) -> str:
        how = (
            "by its estimate"
            if self.decide_on == "estimate"
            else f"by the {self.confidence:.0%} interval"
        )
        wrong = f"{self.true_wrong:.1%} of" if self.true_wrong else "none of the"
        return (
            f"If each of {self.appraisers} appraisers misjudges {wrong} {RATES[self.rate]}, "
            f"{self.n:,} of them show {how} in at least {self.power:.0%} of studies that the share misjudged is at most {self.allowed_wrong:.1%}."
        )

    def _rows(self) -> Rows:
        return [
            {
                RATES[self.rate]: item.n,
                "most misjudged by one appraiser": item.most_wrong
                if item.most_wrong >= 0
                else "none is too many",
                "chance to show it (%)": per_cent_of(item.chance),
            }
            for item in self.chances
        ]


def judgement_study_size(
    *,
    rate: Rate = "miss",
    true_wrong: float = 0.005,
    allowed_wrong: float = 0.02,
    appraisers: int = 3,
    decide_on: DecideOn = "lower bound",
    power: float = 0.8,
    confidence: float = 0.95,
    largest: int = 20_000,
) -> JudgementStudySize:
    r"""Find how many parts show that every appraiser misjudges few enough.

    Parameters
    ----------
    rate : {"miss", "false alarm", "effectiveness"}
        Misses are counted among bad parts, false alarms among good ones; for effectiveness the share judged
        wrongly is one less the effectiveness.
    true_wrong : float
        Share of parts that an appraiser truly misjudges, from 0 to below 1.
    allowed_wrong : float
        Share that is allowed (``miss_max``, ``false_alarm_max``, one less ``effectiveness_min``).
    appraisers : int
        The worst of whom decides.
    decide_on : {"lower bound", "estimate"}
        What the verdict decides on (``decide_measurement_on`` in study.toml).
    power : float
        Probability of success that is asked for, between 0 and 1.
    confidence : float
        Of the two-sided interval, between 0 and 1.
    largest : int
        Number of parts at which the search gives up.

    Returns
    -------
    JudgementStudySize
        With the probability of success of several numbers.

    Raises
    ------
    CannotJudge
        The true share is not below what is allowed, or more parts would be needed than `largest`.
    ValueError
        An argument outside its range.

    See Also
    --------
    judgement_sheet : A sheet for the study.
    linestudy.gauges.judgement_agreement : What is computed from it.

    Notes
    -----
    With :math:`c_n` the largest number of misjudged parts of n that passes, the chance is
    :math:`P\{B(n, p) \le c_n\}^k` for k appraisers. It does not grow with every single part, because counts are whole;
    the number given is the first from which on every larger one passes often enough (as far as twice that number).
    Where repeated judgements of a part differ, the study's interval is a little narrower than this plan's.

    References
    ----------
    Clopper & Pearson, *Biometrika* 26 (1934), 404-413.

    Examples
    --------
    >>> judgement_study_size(true_wrong=0.0, allowed_wrong=0.02).n
    183
    """
    arguments.one_of("rate", rate, tuple(RATES))
    arguments.number("true_wrong", true_wrong, least=0, below=1)
    arguments.number("allowed_wrong", allowed_wrong, above=0, below=1)
    arguments.whole("appraisers", appraisers, least=1)
    arguments.one_of("decide_on", decide_on, BASES)
    arguments.share("power", power)
    arguments.share("confidence", confidence)
    arguments.whole("largest", largest, least=2)
    if true_wrong >= allowed_wrong:
        raise CannotJudge("No study shows a share to be below a value that it does not lie below.")
    tail = (1 - confidence) / 2 if decide_on == "lower bound" else None

    def at(parts: int) -> JudgementChance:
        return _chance(parts, true_wrong, allowed_wrong, appraisers, tail)

    needed = _first_for_good(at, power, largest)
    sizes = sorted({25, 50, 100, 200, 400, needed})
    return JudgementStudySize(
        needed,
        rate,
        true_wrong,
        allowed_wrong,
        appraisers,
        power,
        confidence,
        decide_on,
        tuple(at(size) for size in sizes),
    )


def _first_for_good(at: Callable[[int], JudgementChance], power: float, largest: int) -> int:
    """Find the number from which on every one up to its double passes often enough."""
    top = 8
    while at(top).chance < power or at(2 * top).chance < power:
        top *= 2
        if top > largest:
            raise CannotJudge(f"More than {largest:,} parts would be needed.")
    short = [parts for parts in range(2, 2 * top) if at(parts).chance < power]
    return max(short, default=1) + 1


def _chance(
    parts: int, true_wrong: float, allowed: float, appraisers: int, tail: float | None
) -> JudgementChance:
    from scipy.special import bdtr

    most = _most_wrong(parts, allowed, tail)
    passed = float(bdtr(most, parts, true_wrong)) if most >= 0 else 0.0
    return JudgementChance(parts, most, passed**appraisers)


def _most_wrong(parts: int, allowed: float, tail: float | None) -> int:
    """Find the largest count that passes; on the bound, whose exact upper limit is at most what is allowed."""
    if tail is None:
        # As the verdict has it: a share of counts may equal its limit.
        return math.floor(allowed * parts * (1 + 1e-6))
    from scipy.special import bdtr

    # Clopper and Pearson's upper limit is at most `allowed` where so few are seen with at most this chance.
    counts = np.arange(parts)
    passing = np.flatnonzero(bdtr(counts, parts, allowed) <= tail)
    return int(passing[-1]) if passing.size else -1
