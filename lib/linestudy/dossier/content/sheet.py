"""What is printed of one characteristic, in words: once for text, table, picture, workbook and console.

The numbers are those of the verdict's facts, which the decision was made from; what the facts do not
hold (the index of all values together, part and drawing) comes from the same recorded findings.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from linestudy.results import Absent, Interval, counted, show_ppm
from linestudy.results.rounding import alike, decimals_for
from linestudy.verdict import CharacteristicVerdict, Criteria, resolve
from linestudy.verdict.facts import CharacteristicFacts, ProcessFacts
from linestudy.verdict.gather import readings_of
from linestudy.verdict.rulings import APPROVAL, FAILS, MEETS, NONE, SUPPORTS, Ruling

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation
    from linestudy.study.model import Characteristic

#: What is shown where a number does not apply.
BLANK = "–"
#: Below this an expected number is written as less than what is shown.
_LEAST = 1e-9


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
    def special(self) -> bool:
        """Whether it is a special characteristic."""
        return self.item.special


def in_percent(share: float) -> str:
    """A confidence as text.

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
    """Every characteristic of a study in words, in its order.

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
        return f"{number:.{places}f}" if known and math.isfinite(number) else BLANK

    ends = [process.smallest, process.largest]
    smallest, largest = (
        alike(ends, places) if known and all(map(math.isfinite, ends)) else (BLANK,) * 2
    )

    ndc = _ndc(facts)
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
        ppm=_ppm(facts) if given and facts.kind == "process" else BLANK,
        grr=f"{100 * gauge.share.estimate:.1f}" if isinstance(gauge.share, Interval) else BLANK,
        ndc=BLANK if ndc is None else "> 1,000" if ndc > 1000 else f"{math.floor(ndc)}",
        control=f"{len(process.points)} ({process.expected_points:.1f})" if timed else BLANK,
        in_control=_yes_no(stability) if timed else BLANK,
        distribution=(index.family or "normal") if given and facts.kind == "process" else BLANK,
        decision=verdict.decision,
        reason=in_few_words(verdict, criteria),
    )


def _known_of_readings(
    evaluation: Evaluation, item: Characteristic, facts: CharacteristicFacts
) -> ProcessFacts:
    """What the verdict knows of the readings; where nothing could be decided, their plain numbers."""
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
    """Mean and standard deviation that do not hang on the order of summing.

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
    """Decimals that values of a characteristic are printed with.

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


def _ndc(facts: Any) -> float | None:
    """The smaller of the categories by the study's parts and by the run, as the rule takes it."""
    if not isinstance(facts.gauge.ndc, Interval):
        return None
    values = [facts.gauge.ndc.estimate]
    if facts.gauge.ndc_by_run is not None:
        values.append(facts.gauge.ndc_by_run)
    return float(min(values))


def _potential(evaluation: Evaluation, item: Characteristic, facts: Any) -> str:
    """Pp of all values; no index of sorted parts is shown."""
    found: Any = evaluation.findings.get(item.id, "capability")
    value = getattr(found, "Pp", None)
    if isinstance(facts.index, Absent) or not isinstance(value, Interval):
        return BLANK
    return f"{value.estimate:.2f}"


def _ppm(facts: Any) -> str:
    # A tail that ends within the limits is an estimate, and no promise of none.
    share = 1e6 * facts.process.expected_outside / max(facts.process.n, 1)
    text = show_ppm(max(share, _LEAST))
    return text.replace("less than", "<")


def _ruling(verdict: CharacteristicVerdict, name: str) -> Ruling | None:
    return next((item for item in verdict.rulings if item.rule == name), None)


def _yes_no(ruling: Ruling | None) -> str:
    if ruling is None or ruling.effect == NONE:
        return BLANK
    return "yes" if ruling.effect == SUPPORTS else "no"


def in_few_words(verdict: CharacteristicVerdict, criteria: Criteria) -> str:
    """Why a characteristic does not simply meet its requirement.

    Parameters
    ----------
    verdict : CharacteristicVerdict
    criteria : Criteria

    Returns
    -------
    str
        Empty where it meets it.
    """
    if verdict.decision == MEETS:
        return ""
    decisive = [item for item in verdict.rulings if item.effect == verdict.decision]
    return "; ".join(dict.fromkeys(_few(item, verdict, criteria) for item in decisive))


def _few(ruling: Ruling, verdict: CharacteristicVerdict, criteria: Criteria) -> str:
    facts = verdict.facts
    index, gauge, process, judged = facts.index, facts.gauge, facts.process, facts.judgement
    limit = ruling.criterion.value if ruling.criterion else None
    if ruling.rule == "index" and isinstance(index, Absent):
        return _why_no_index(ruling.reason)
    if ruling.rule == "gauge spread" and facts.kind == "process" and not facts.record.rows:
        return _NO_READINGS
    if ruling.rule == "index" and not isinstance(index, Absent):
        number = index.bound if criteria.capability_on_bound else index.estimate
        name = index.name.removesuffix(", worst stream")
        name = f"lower bound of {name}" if criteria.capability_on_bound else name
        asked = criteria["capability_review" if ruling.effect == FAILS else "capability_accept"]
        where = f" in stream {index.stream}" if index.stream else ""
        return f"{name} {number:.2f} < {asked.number:g}{where}"
    if ruling.rule == "gauge spread" and isinstance(gauge.share, Interval):
        asked = criteria["grr_accept" if ruling.effect == APPROVAL else "grr_review"]
        if gauge.declared and gauge.share.estimate <= asked.number:
            return "spread of specimens is declared, not shown"
        share = max(gauge.share.estimate, gauge.least_share or 0.0)
        return f"%GRR {100 * share:.1f} % > {100 * asked.number:g} %"
    if ruling.rule == "gauge spread" and not gauge.separable:
        return "destructive test, %GRR not separable"
    if ruling.rule == "categories":
        ndc = _ndc(facts)
        return f"ndc {math.floor(ndc or 0)} < {criteria['ndc_min'].number:g}"
    if ruling.rule == "stability":
        points = len(process.points)
        out = f", {counted(points, 'point')} out of control" if points else ""
        return f"not in statistical control{out}"
    if ruling.rule == "sample" and isinstance(limit, float):
        if process.n < criteria["least_readings"].number:
            return f"n = {process.n:,} < {criteria['least_readings'].number:g}"
        if 0 < process.subgroups < criteria["least_subgroups"].number:
            return f"{process.subgroups} subgroups < {criteria['least_subgroups'].number:g}"
        return "one coil only" if process.coils == 1 else "no regrind within the run"
    if ruling.rule == "observed against expected":
        expected = show_ppm(max(process.expected_outside, _LEAST)).replace("less than", "<")
        return f"{process.outside:,} outside the limits, {expected} expected"
    rates = {
        "effectiveness": (judged.effectiveness, "<", "effectiveness_min", "effectiveness_review"),
        "miss rate": (judged.miss, ">", "miss_max", "miss_review"),
        "false alarm rate": (judged.false_alarm, ">", "false_alarm_max", "false_alarm_review"),
    }
    if ruling.rule in rates:
        value, sign, accept, review = rates[ruling.rule]
        if isinstance(value, Interval):
            asked = criteria[review if ruling.effect == FAILS else accept]
            return f"{ruling.rule} {100 * value.estimate:.1f} % {sign} {100 * asked.number:g} %"
        return "no judgements yet" if not judged.parts else f"{ruling.rule} not known"
    if ruling.rule == "bias" and not gauge.bias:
        return "bias not known"
    if ruling.rule == "gauge spread" and ruling.effect == APPROVAL:
        return "no crossed gauge study"
    return _NAMED.get(ruling.rule, ruling.rule)


def _why_no_index(reason: str) -> str:
    """Why there is no index, where the reason is short enough for the decision sheet."""
    clause = reason.removeprefix("No index can be given: ").split(". ")[0].rstrip(".")
    if clause.startswith("no readings of the process"):
        return _NO_READINGS
    short = f"no index: {clause[:1].lower()}{clause[1:]}"
    return short if len(short) <= _SHORT else _NAMED["index"]


#: Most characters of a reason on the decision sheet.
_SHORT = 100
_NO_READINGS = "no readings of the process yet"
#: What a rule's objection is called in a few words, where no number says it.
_NAMED = {
    "index": "no index can be given",
    "limits": "no limits to hold the readings against",
    "gauge spread": "measurement system not shown to be adequate",
    "bias": "bias not shown to be small enough",
    "drift": "drift not shown to be small enough",
    "uncertainty": "measurement uncertainty too large",
    "Cg and Cgk": "Cg or Cgk too small",
    "resolution": "resolution too coarse",
    "repeatability of two studies": "gauge studies contradict each other",
    "sample": "sample too small",
    "distribution": "no distribution fits",
    "sorting": "parts were sorted or left out",
    "criteria": "a criterion is weaker than usual",
    "kappa": "kappa too low",
    "repeats": "each part judged once only",
    "parts judged": "too few good or bad parts judged",
    "missing judgements": "judgements missing",
    "size of the gauge study": "gauge study too small",
    "certificates": "a certificate had expired",
}
