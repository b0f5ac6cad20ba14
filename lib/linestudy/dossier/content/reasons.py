"""Why a characteristic does not simply meet its requirement, in the few words of the decision sheet."""

from __future__ import annotations

import math
import re
from typing import Any

from linestudy.results import Absent, Interval, counted, show_ppm
from linestudy.results.rounding import p_text
from linestudy.verdict import CharacteristicVerdict, Criteria
from linestudy.verdict.criteria import two_places
from linestudy.verdict.facts import CharacteristicFacts, IndexFacts
from linestudy.verdict.rulings import APPROVAL, FAILS, MEETS, Ruling

#: Below this an expected number is written as less than what is shown.
LEAST_EXPECTED = 1e-9


def smaller_ndc(facts: Any, *, on_bound: bool = False) -> float | None:
    """Return the smaller ndc of those by the study's parts and by the run, as the rule takes it.

    Parameters
    ----------
    facts : CharacteristicFacts
    on_bound : bool
        Whether the lower bound of that by the parts is decided on.

    Returns
    -------
    float or None
    """
    if not isinstance(facts.gauge.ndc, Interval):
        return None
    values = [facts.gauge.ndc.low if on_bound else facts.gauge.ndc.estimate]
    if facts.gauge.least_ndc is not None:
        values.append(facts.gauge.least_ndc)
    if facts.gauge.ndc_by_run is not None:
        values.append(facts.gauge.ndc_by_run)
    return float(min(values))


def in_few_words(verdict: CharacteristicVerdict, criteria: Criteria) -> str:
    """Say in a few words why a characteristic does not simply meet its requirement.

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


#: What a test of statistical control saw, by the first word of its name.
_MOVED = {
    "level": "the level moves",
    "one": "one stream leaves the others",
    "spread": "the spread moves",
    "farthest": "one subgroup lies far off",
    "correlation": "neighbouring parts go together",
}


def _of_sample(ruling: Ruling, facts: CharacteristicFacts, criteria: Criteria) -> str:
    """Say what the sample does not show, in the order in which the rule looks."""
    process = facts.process
    if process.n < criteria["least_readings"].number:
        return f"n = {process.n:,} < {criteria['least_readings'].number:g}"
    if facts.circumstances.streams_unseen:
        return "not every stream is judged"
    if process.lots and re.search(r" of ([\d,]+|one) lots?\b", ruling.reason):
        return f"{counted(process.lots, 'lot')} only"
    if 0 < process.subgroups < criteria["least_subgroups"].number:
        return f"{process.subgroups} subgroups < {criteria['least_subgroups'].number:g}"
    if process.coils == 1:
        return "one coil only"
    if "effective sample size" in ruling.reason:
        return "run too short for what moves the process"
    return "no reset within the run" if process.regrinds == 0 else "run too short, no coils named"


def _few(ruling: Ruling, verdict: CharacteristicVerdict, criteria: Criteria) -> str:
    facts = verdict.facts
    index, gauge, process, judged = facts.index, facts.gauge, facts.process, facts.judgement
    limit = ruling.criterion.value if ruling.criterion else None
    if ruling.rule == "index" and isinstance(index, Absent):
        return _why_no_index(ruling.reason)
    if ruling.rule == "gauge spread" and facts.kind == "process" and not facts.record.rows:
        return _NO_READINGS
    if ruling.rule == "index" and not isinstance(index, Absent):
        return _of_index(ruling, index, criteria)
    if ruling.rule == "gauge spread" and isinstance(gauge.share, Interval):
        asked = criteria["grr_accept" if ruling.effect == APPROVAL else "grr_review"]
        if gauge.declared and gauge.share.estimate <= asked.number:
            return "spread of specimens is declared, not shown"
        on_bound = criteria.measurement_on_bound
        share = max(
            gauge.share.high if on_bound else gauge.share.estimate, gauge.least_share or 0.0
        )
        return f"{'upper bound of ' if on_bound else ''}%GRR {above_percent(share, asked.number)}"
    if ruling.rule == "gauge spread" and not gauge.separable:
        return "destructive test, %GRR not separable"
    if ruling.rule == "categories":
        on_bound = criteria.measurement_on_bound
        ndc = smaller_ndc(facts, on_bound=on_bound)
        least = criteria["ndc_min"].number
        return f"{'lower bound of ' if on_bound else ''}ndc {math.floor(ndc or 0)} < {least:g}"
    if ruling.rule == "stability":
        points = len(process.points)
        out = f"; {counted(points, 'point')} out of control" if points else ""
        what = process.strongest.partition(",")[0]
        moved = f"{_MOVED.get(what.partition(' ')[0], what)}, " if what else ""
        return f"not in statistical control ({moved}{p_text(process.steady_p)}{out})"
    if ruling.rule == "sample" and isinstance(limit, float):
        return _of_sample(ruling, facts, criteria)
    if ruling.rule == "observed against expected":
        expected = show_ppm(max(process.expected_outside, LEAST_EXPECTED)).replace("less than", "<")
        return f"{process.outside:,} outside the limits, {expected} expected"
    rates = {
        "effectiveness": (judged.effectiveness, "<", "effectiveness_min", "effectiveness_review"),
        "miss rate": (judged.miss, ">", "miss_max", "miss_review"),
        "false alarm rate": (judged.false_alarm, ">", "false_alarm_max", "false_alarm_review"),
    }
    if ruling.rule in rates:
        value, sign, accept, fair = rates[ruling.rule]
        if isinstance(value, Interval):
            asked = criteria[fair if ruling.effect == FAILS else accept]
            end, compare = (
                (value.high, above_percent) if sign == ">" else (value.low, below_percent)
            )
            if criteria.measurement_on_bound:
                which = "upper" if sign == ">" else "lower"
                return f"{which} bound of {ruling.rule} {compare(end, asked.number)}"
            return f"{ruling.rule} {compare(value.estimate, asked.number)}"
        return "no judgements yet" if not judged.parts else f"{ruling.rule} not known"
    if ruling.rule == "kappa" and isinstance(judged.kappa, Interval):
        on_bound = criteria.measurement_on_bound
        kappa = judged.kappa.low if on_bound else judged.kappa.estimate
        name = "lower bound of kappa" if on_bound else "kappa"
        return f"{name} {below(kappa, criteria['kappa_min'].number)}"
    if ruling.rule == "parts judged":
        few = re.match(r"Only (.+), at least (\d+) are asked for", ruling.reason)
        return f"only {few[1]} ({few[2]} are asked for)" if few else _NAMED[ruling.rule]
    if ruling.rule == "bias" and not gauge.bias:
        return "bias not known"
    if ruling.rule == "gauge spread" and not gauge.failed:
        return "no crossed gauge study"
    return _NAMED.get(ruling.rule, ruling.rule)


def _of_index(ruling: Ruling, index: IndexFacts, criteria: Criteria) -> str:
    """Compare the index with what is required; where it is not shown to fail, say what else applies."""
    on_bound = criteria.capability_on_bound
    number = index.bound if on_bound else index.estimate
    accept, review = criteria["capability_accept"].number, criteria["capability_review"].number
    name = index.name.removesuffix(", worst stream")
    name = f"lower bound of {name}" if on_bound else name
    if number > accept:
        return f"{name} held with {index.confidence:.0%} confidence only"
    where = f" in stream {index.stream}" if index.stream else ""
    text = f"{name} {below(number, review if ruling.effect == FAILS else accept)}{where}"
    if ruling.effect == APPROVAL and number < review and index.highest >= review:
        text += f"{index.by}, up to {index.highest:.2f} by others that fit"
    return text


#: Most decimals used to distinguish a number from what is asked.
_MOST_DECIMALS = 6


def _distinct_from(number: float, asked: float, places: int) -> str:
    """Write a number with enough decimals to differ visibly from the requirement."""
    while places < _MOST_DECIMALS and float(f"{number:.{places}f}") == round(asked, _MOST_DECIMALS):
        places += 1
    return f"{number:.{places}f}"


def below(number: float, asked: float) -> str:
    """Write an index below its requirement so that the difference is visible.

    Parameters
    ----------
    number, asked : float

    Returns
    -------
    str

    Examples
    --------
    >>> below(0.9, 1.0), below(1.6696, 1.67)
    ('0.90 < 1.00', '1.6696 < 1.67')
    """
    return f"{_distinct_from(number, asked, 2)} < {two_places(asked)}"


def above_percent(share: float, asked: float) -> str:
    """Write a percentage above its limit so that the difference is visible.

    Parameters
    ----------
    share, asked : float

    Returns
    -------
    str

    Examples
    --------
    >>> above_percent(0.103, 0.1), above_percent(0.10003, 0.1)
    ('10.3 % > 10 %', '10.003 % > 10 %')
    """
    return f"{_distinct_from(100 * share, 100 * asked, 1)} % > {100 * asked:g} %"


def below_percent(share: float, asked: float) -> str:
    """Write a percentage below its requirement so that the difference is visible.

    Parameters
    ----------
    share, asked : float

    Returns
    -------
    str

    Examples
    --------
    >>> below_percent(0.8999, 0.9)
    '89.99 % < 90 %'
    """
    return f"{_distinct_from(100 * share, 100 * asked, 1)} % < {100 * asked:g} %"


def _why_no_index(reason: str) -> str:
    """Say why there is no index, where the reason is short enough for the decision sheet."""
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
    "bins against log": "bins and log do not count the same parts",
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
    "who judged": "fewer than two appraisers named",
    "repeatability of appraisers": "one appraiser repeats worse than the others",
    "another gauge": "two gauges read the same parts differently",
    "parts near the limit": "no judged part is shown to lie near the limit",
    "studies over time": "studies of the gauge over time lie too far apart",
    "missing judgements": "judgements missing",
    "size of the gauge study": "gauge study too small",
    "certificates": "a certificate had expired",
    "counter and clock": "order numbers missing or repeated, parts to be accounted for",
    "earlier revision": "less is asked than in the earlier revision",
    "exclusions": "readings left out",
    "rows chosen": "judgements left out",
    "missing readings": "readings of the gauge study missing",
    "names of parts and people": "names of parts or appraisers, or numbers of parts, to be explained",
    "short run against run": "the short run is worse than the run",
    "readings as measured": "readings are not as measured ones are",
    "gauge study as measured": "readings of the gauge study are not as measured ones are",
}
