"""What is printed of one characteristic, in words: once for text, table, picture, workbook and console.

The numbers are those of the verdict's facts, which the decision was made from; what the facts do not
hold (the index of all values together, part and drawing) comes from the same recorded findings.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from linestudy.dossier.content.reasons import LEAST_EXPECTED, in_few_words, smaller_ndc
from linestudy.results import Absent, Interval, show_ppm
from linestudy.results.rounding import alike, decimals_for
from linestudy.verdict import CharacteristicVerdict, resolve
from linestudy.verdict.facts import BEFORE_SORTING, CharacteristicFacts, ProcessFacts
from linestudy.verdict.gather import readings_of
from linestudy.verdict.rulings import NONE, SUPPORTS, Ruling

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation
    from linestudy.study.model import Characteristic

#: What is shown where a number does not apply.
BLANK = "–"


@dataclass(frozen=True)
class Sheet:
    """One characteristic as every form of the document prints it.

    Attributes
    ----------
    item : linestudy.study.model.Characteristic
    verdict : CharacteristicVerdict
    number, name, limits, unit : str
    n, mean, sd, smallest, largest : str
    Pp, Ppk, bound, stream : str
        Potential index of all values; the index that decides, its lower bound and its stream.
    confidence : str
        Of the bound and of all intervals, as ``"95 %"``.
    ppm : str
        Expected outside the limits.
    grr, ndc : str
    control : str
        Points out of control, and how many false alarms are expected.
    in_control : str
        ``"yes"`` or ``"no"``.
    distribution : str
    decision, reason : str
        The decision, and why in a few words.
    """

    item: Characteristic
    verdict: CharacteristicVerdict
    number: str
    name: str
    limits: str
    unit: str
    n: str
    mean: str
    sd: str
    smallest: str
    largest: str
    Pp: str
    Ppk: str
    bound: str
    confidence: str
    stream: str
    ppm: str
    grr: str
    ndc: str
    control: str
    in_control: str
    distribution: str
    decision: str
    reason: str

    @property
    def index(self) -> str:
        """Name of the index that decides: Ppk of a process, Pmk of a machine."""
        found = self.verdict.facts.index
        return "Ppk" if isinstance(found, Absent) else found.name.split(",")[0]

    @property
    def special(self) -> bool:
        """Whether it is a special characteristic."""
        return self.item.special


def in_percent(share: float) -> str:
    """Write a confidence level as a percentage.

    Parameters
    ----------
    share : float

    Returns
    -------
    str
        As ``"95 %"``.
    """
    return f"{100 * share:.6g} %"


def sheets(evaluation: Evaluation) -> tuple[Sheet, ...]:
    """Describe every characteristic of a study in words, in its order.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    tuple of Sheet
    """
    return tuple(_sheet(evaluation, item) for item in evaluation.study.characteristics)


def _sheet(evaluation: Evaluation, item: Characteristic) -> Sheet:
    verdict: Any = evaluation.findings.get(item.id, "verdict")
    facts = verdict.facts
    process, index, gauge = _known_of_readings(evaluation, item, facts), facts.index, facts.gauge
    criteria = resolve(evaluation.study.criteria, item)
    places = places_of(evaluation, item, process.sd)
    known = process.n > 0

    def value(number: float) -> str:
        return f"{number:,.{places}f}" if known and math.isfinite(number) else BLANK

    ends = [process.smallest, process.largest]
    smallest, largest = (
        alike(ends, places) if known and all(map(math.isfinite, ends)) else (BLANK,) * 2
    )

    ndc = smaller_ndc(facts)
    given = not isinstance(index, Absent)
    stability = _ruling(verdict, "stability")
    timed = facts.process.n > 0 and facts.kind == "process" and facts.circumstances.in_time
    return Sheet(
        item=item,
        verdict=verdict,
        number=item.number or "",
        name=item.name,
        limits=facts.limits,
        unit=facts.unit,
        n=f"{process.n:,}"
        if known
        else f"{facts.judgement.parts:,}"
        if facts.judgement.parts
        else BLANK,
        mean=value(process.mean),
        sd=value(process.sd),
        smallest=smallest,
        largest=largest,
        Pp=_potential(evaluation, item, facts),
        Ppk=f"{index.estimate:.2f}" if given else BLANK,
        bound=f"{index.bound:.2f}" if given else BLANK,
        confidence=in_percent(evaluation.study.confidence),
        stream=(index.stream or "all") if given and facts.kind == "process" else BLANK,
        ppm=_ppm(evaluation, item, facts) if given and facts.kind == "process" else BLANK,
        grr=f"{100 * gauge.share.estimate:.1f}" if isinstance(gauge.share, Interval) else BLANK,
        ndc=BLANK if ndc is None else "> 1,000" if ndc > 1000 else f"{math.floor(ndc)}",
        control=f"{len(process.points)} ({process.expected_points:.1f})" if timed else BLANK,
        in_control=_yes_no(stability) if timed else BLANK,
        distribution=_distribution(evaluation, item, facts),
        decision=verdict.decision,
        reason=in_few_words(verdict, criteria),
    )


def _known_of_readings(
    evaluation: Evaluation, item: Characteristic, facts: CharacteristicFacts
) -> ProcessFacts:
    """Return the verdict's facts of the readings; where nothing was decided, their plain numbers."""
    if facts.process.n:
        return facts.process
    readings = readings_of(evaluation.study, evaluation.records, item)
    if readings is None:
        return facts.process
    values = readings.values
    mean, sd = exact_mean_and_sd(values)
    return replace(
        facts.process,
        n=values.size,
        mean=mean,
        sd=sd if values.size > 1 else math.nan,
        smallest=float(values.min()),
        largest=float(values.max()),
    )


def exact_mean_and_sd(values: Any) -> tuple[float, float]:
    """Compute mean and standard deviation independently of the order of summing.

    Parameters
    ----------
    values : numpy.ndarray of float, shape (n,)

    Returns
    -------
    mean, sd : float
    """
    listed = values.tolist()
    mean = math.fsum(listed) / len(listed)
    if len(listed) < 2:
        return mean, 0.0
    return mean, math.sqrt(math.fsum((v - mean) ** 2 for v in listed) / (len(listed) - 1))


def places_of(evaluation: Evaluation, item: Characteristic, sd: float) -> int:
    """Choose the decimals with which values of a characteristic are printed.

    Parameters
    ----------
    evaluation : Evaluation
    item : Characteristic
    sd : float
        Of its values.

    Returns
    -------
    int
        Two digits of the standard deviation, but nothing finer than a tenth of the gauge's step.
    """
    steps = [
        gauge.resolution
        for gauge in evaluation.study.gauges
        if gauge.resolution and _reads(evaluation, gauge.id, item.id)
    ]
    by_sd = decimals_for(sd) if math.isfinite(sd) and sd > 0 else 3
    if not steps:
        return min(by_sd, 6)
    finest = max(0, math.ceil(-math.log10(max(steps)) - 1e-9) + 1)
    return min(by_sd, finest)


def _reads(evaluation: Evaluation, gauge: str, key: str) -> bool:
    return any(
        data.gauge == gauge
        and data.role in ("run", "nested", "machine")
        and (key in data.columns or data.long)
        for data in evaluation.study.data
    )


def _potential(evaluation: Evaluation, item: Characteristic, facts: Any) -> str:
    """Write Pp of all values; blank for sorted parts, whose index is not shown."""
    found: Any = evaluation.findings.get(item.id, "capability")
    value = getattr(found, "Pp", None)
    if isinstance(facts.index, Absent) or not isinstance(value, Interval):
        return BLANK
    return f"{value.estimate:.2f}"


def _before_sorting(evaluation: Evaluation, item: Characteristic, facts: Any) -> Any:
    """Return the study of the process before sorting, where the index shown is that process's."""
    if isinstance(facts.index, Absent) or facts.index.name != BEFORE_SORTING:
        return None
    return evaluation.findings.get(item.id, "capability", "before_sorting")


def _distribution(evaluation: Evaluation, item: Characteristic, facts: Any) -> str:
    if isinstance(facts.index, Absent) or facts.kind != "process":
        return BLANK
    found = _before_sorting(evaluation, item, facts)
    return facts.index.family or getattr(found, "family", "") or "normal"


def _ppm(evaluation: Evaluation, item: Characteristic, facts: Any) -> str:
    # A tail that ends within the limits is an estimate, and no promise of none.
    share = 1e6 * facts.process.expected_outside / max(facts.process.n, 1)
    rejected = getattr(_before_sorting(evaluation, item, facts), "rejected", None)
    if isinstance(rejected, Interval):
        share = 1e6 * rejected.estimate
    text = show_ppm(max(share, LEAST_EXPECTED))
    return text.replace("less than", "<")


def _ruling(verdict: CharacteristicVerdict, name: str) -> Ruling | None:
    return next((item for item in verdict.rulings if item.rule == name), None)


def _yes_no(ruling: Ruling | None) -> str:
    if ruling is None or ruling.effect == NONE:
        return BLANK
    return "yes" if ruling.effect == SUPPORTS else "no"
