"""Rules on the measurement system: adequate, conditional, not adequate, not shown.

Conditional and not shown require the customer's approval; not adequate means that the readings carry
no claim. Bias and drift are held by equivalence: not "no bias was detected", which five readings
always manage, but "the bias lies inside the allowed share", which only enough readings can show
(Schuirmann, *Journal of Pharmacokinetics and Biopharmaceutics* 15 (1987), 657-680: the 90 % interval
inside the margin is a test at 5 %).
"""

from __future__ import annotations

import math

from linestudy.results import Absent, Interval
from linestudy.results.rounding import signed
from linestudy.verdict.criteria import Criteria
from linestudy.verdict.measurement_facts import share_of_what
from linestudy.verdict.rules.crossing import (
    GROUP,
    MEASURED,
    another_gauge,
    appraisers,
    missing,
    over_time,
    study_size,
    two_studies,
)
from linestudy.verdict.rules.rule import Seen, rule, says
from linestudy.verdict.rulings import APPROVAL, FAILS, SUPPORTS, UNKNOWN, Ruling

_ON = " (decided on the confidence bound)"
#: Said of bias and drift that are known where no width is.
_NO_WIDTH = "There is neither a tolerance nor a run of which it could be a share: customer approval required."


def _high(value: Interval, criteria: Criteria) -> float:
    return value.high if criteria.measurement_on_bound else value.estimate


def _on(criteria: Criteria) -> str:
    return _ON if criteria.measurement_on_bound else ""


@rule(
    "gauge spread",
    group=GROUP,
    kinds=MEASURED,
    reads=(
        "kind",
        "gauge.name",
        "gauge.share",
        "gauge.share_of",
        "gauge.multiplier",
        "gauge.declared",
        "gauge.separable",
        "gauge.failed",
        "gauge.cg",
        "gauge.q_mp",
        "gauge.certified",
        "gauge.least_share",
    ),
    criteria=("grr_accept", "grr_review", "grr_of", "grr_multiplier", "cg_min"),
    source="AIAG MSA, 4th ed. (2010), ch. II section D",
    silent="",
)
def spread(seen: Seen, criteria: Criteria) -> Ruling:
    """Judge GRR by its criteria; Cg alone, a budget or a certificate take its place where customers agree."""
    name, share = seen["gauge.name"], seen["gauge.share"]
    if isinstance(share, Absent):
        if not seen["gauge.separable"]:
            return says(
                APPROVAL,
                f"{name}: destructive test, %GRR cannot be separated from the variation of the parts; customer "
                "approval of the test as it is required.",
            )
        instead = None if seen["gauge.failed"] else _instead(seen, criteria)
        if instead is not None:
            return instead
        return says(UNKNOWN, f"%GRR of {name} not known: {share.reason}.")
    value = _high(share, criteria)
    accept, review = criteria["grr_accept"], criteria["grr_review"]
    of = share_of_what(seen["gauge.share_of"], seen["gauge.multiplier"])
    found = f"{name}: %GRR {value:.1%} of {of}{_on(criteria)}"
    least = seen["gauge.least_share"]
    if least is not None and least > value:
        # A spread that the step hides counts as the step's own (VDA 5: the larger of both).
        found = f"{name}: %GRR {least:.1%} of {of}, the repeatability hidden by the resolution"
        value = least
    if value <= accept.number and seen["gauge.declared"]:
        return says(
            APPROVAL,
            f"{found}, with a declared spread of specimens taken off that no study shows: customer approval required.",
            accept,
        )
    if value <= accept.number:
        return says(SUPPORTS, f"{found} (criterion: at most {accept.percent}): adequate.", accept)
    if value <= review.number:
        return says(
            APPROVAL,
            f"{found}, between {accept.percent} and {review.percent}: conditional; customer approval required.",
            review,
        )
    # Readings of such a gauge carry no claim on the process; a study of the gauge alone has its answer.
    return says(
        FAILS if seen["kind"] == "gauge" else UNKNOWN,
        f"{found}, more than {review.percent}: measurement system not adequate.",
        review,
    )


def _instead(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge by what else is known of a gauge without a crossed study."""
    for key, what in (
        ("gauge.cg", "Cg on one master"),
        ("gauge.q_mp", "a budget of uncertainty"),
        ("gauge.certified", "its calibration certificate"),
    ):
        if seen[key] is not None:
            return says(
                APPROVAL,
                f"{seen['gauge.name']}: no crossed study; adequacy rests on {what} alone, without parts and "
                "appraisers: customer approval required.",
                criteria["grr_accept"],
            )
    return None


@rule(
    "categories",
    group=GROUP,
    kinds=MEASURED,
    reads=("gauge.name", "gauge.ndc", "gauge.ndc_by_run", "gauge.least_ndc"),
    criteria=("ndc_min",),
    source="AIAG MSA, 4th ed. (2010), ch. II section D",
    silent="No crossed study gives an ndc.",
)
def categories(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge ndc by the study's parts and by the run's spread; the smaller counts."""
    by_parts, by_run = seen["gauge.ndc"], seen["gauge.ndc_by_run"]
    if isinstance(by_parts, Absent):
        return None
    least = criteria["ndc_min"]
    value = by_parts.low if criteria.measurement_on_bound else by_parts.estimate
    if not math.isfinite(value):
        # A gauge without any spread distinguishes all parts; an open bound promises nothing.
        value = math.inf if value > 0 else 0.0
    whose = "by the parts of the study"
    least_ndc = seen["gauge.least_ndc"]
    if least_ndc is not None and least_ndc < value:
        value, whose = least_ndc, "by the parts of the study and the resolution"
    if by_run is not None and by_run < value:
        value, whose = by_run, "by the variation of the run"
    if math.isinf(value):
        return says(SUPPORTS, f"{seen['gauge.name']}: no spread seen, ndc not defined.", least)
    text = f"{seen['gauge.name']}: ndc = {math.floor(value)} ({whose}){_on(criteria)}"
    if math.floor(value) >= least.number:
        return says(SUPPORTS, f"{text}; criterion: at least {least.number:g}: adequate.", least)
    return says(APPROVAL, f"{text} < {least.number:g}: customer approval required.", least)


@rule(
    "bias",
    group=GROUP,
    kinds=MEASURED,
    reads=(
        "gauge.name",
        "gauge.bias",
        "gauge.width",
        "gauge.separable",
        "gauge.masters_stated",
        "gauge.masters_short",
        "gauge.bias_refused",
        "unit",
    ),
    criteria=("bias_share",),
    source="equivalence at 90 % (Schuirmann 1987); share: common practice, no source",
    silent="The test destroys the part, so no master can be read with it.",
)
def bias(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge bias and linearity at the limits, where they matter."""
    share, width, found = criteria["bias_share"], seen["gauge.width"], seen["gauge.bias"]
    if not found:
        if not seen["gauge.separable"]:
            return None
        why = seen["gauge.bias_refused"] or "No masters were measured"
        text = f"{seen['gauge.name']}: bias not known. {why}; customer approval required."
        return says(APPROVAL, text, share)
    where, worst = max(found.items(), key=lambda item: max(abs(item[1].low), abs(item[1].high)))
    reach = max(abs(worst.low), abs(worst.high))
    text = f"{seen['gauge.name']}: bias at {where} {signed(worst, seen['unit'])} ({worst.confidence:.0%} interval)"
    if width is None or width <= 0:
        return says(APPROVAL, f"{text}. {_NO_WIDTH}", share)
    allowed = share.number * width
    text += f", up to {reach / width:.1%} of tolerance"
    if reach <= allowed and not seen["gauge.masters_stated"]:
        return says(
            APPROVAL,
            f"{text}; allowed {share.percent}, but the uncertainty of the masters' values is not stated, so the bias "
            "is not shown to be within it: state it, or customer approval required.",
            share,
        )
    if reach <= allowed and seen["gauge.masters_short"]:
        return says(
            APPROVAL,
            f"{text}; allowed {share.percent}, but no master was read near {seen['gauge.masters_short']}: the bias there is not "
            "known, customer approval required.",
            share,
        )
    if reach <= allowed:
        return says(SUPPORTS, f"{text}; allowed {share.percent}.", share)
    if abs(worst.estimate) <= allowed:
        return says(
            APPROVAL,
            f"{text}; not shown to be within {share.percent}: customer approval required.",
            share,
        )
    return says(
        APPROVAL,
        f"{text}, more than {share.percent}: correct it, or customer approval required.",
        share,
    )


@rule(
    "drift",
    group=GROUP,
    kinds=MEASURED,
    reads=(
        "gauge.name",
        "gauge.drift",
        "gauge.drift_level",
        "gauge.drift_refused",
        "gauge.drift_gap",
        "gauge.width",
        "unit",
    ),
    criteria=("drift_share",),
    source="equivalence at 90 % (Schuirmann 1987); share: common practice, no source",
    silent="No readings of a master over time are in the folder.",
)
def drift(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge drift between two resets by its allowance."""
    change, width, share = seen["gauge.drift"], seen["gauge.width"], criteria["drift_share"]
    if seen["gauge.drift_refused"]:
        return says(
            APPROVAL,
            f"{seen['gauge.name']}: a master was read over time, and drift is not known. {seen['gauge.drift_refused']}; customer "
            "approval required.",
            share,
        )
    if change is None:
        return None
    if width is None or width <= 0:
        return says(
            APPROVAL,
            f"{seen['gauge.name']}: drift {signed(change, seen['unit'])} ({change.confidence:.0%} interval). {_NO_WIDTH}",
            share,
        )
    level = seen["gauge.drift_level"]
    if level is not None and abs(level.estimate) > share.number * width:
        return says(
            APPROVAL,
            f"{seen['gauge.name']}: the master was read {signed(level, seen['unit'])} off between two resets ({level.confidence:.0%} "
            f"interval), {abs(level.estimate) / width:.1%} of tolerance, more than {share.percent}: say what moved and which parts "
            "were read meanwhile.",
            share,
        )
    reach = max(abs(change.low), abs(change.high))
    away = seen["gauge.drift_gap"]
    over = "between two resets"
    if away is not None:
        over = f"over the {away:,.0f} strokes of the run that lie farthest from a reading of the master"
    text = (
        f"{seen['gauge.name']}: drift {signed(change, seen['unit'])} {over} "
        f"({change.confidence:.0%} interval), up to {reach / width:.1%} of tolerance"
    )
    if reach <= share.number * width * (1 + 1e-9):
        return says(SUPPORTS, f"{text}; allowed {share.percent}.", share)
    return says(
        APPROVAL,
        f"{text}, more than {share.percent} or not shown to be less: "
        f"{'reset more often' if away is None else 'read the master all along the run'}.",
        share,
    )


@rule(
    "uncertainty",
    group=GROUP,
    kinds=MEASURED,
    reads=("gauge.name", "gauge.q_ms", "gauge.q_mp"),
    criteria=("q_ms_max", "q_mp_max"),
    source="VDA 5, 3rd ed. (2021)",
    silent="No budget of measurement uncertainty refers to a tolerance.",
)
def uncertainty(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge Q_MS and Q_MP by their criteria."""
    given = [
        (key, seen[f"gauge.{key.lower()}"], criteria[f"{key.lower()}_max"])
        for key in ("Q_MS", "Q_MP")
    ]
    given = [item for item in given if item[1] is not None]
    if not given:
        return None
    words, over = [], None
    for key, value, limit in given:
        number = _high(value, criteria)
        words.append(f"{key} {number:.1%} (criterion: at most {limit.percent})")
        if number > limit.number:
            over = limit
    text = f"{seen['gauge.name']}: {', '.join(words)}."
    if over is None:
        return says(SUPPORTS, text, given[0][2])
    return says(APPROVAL, text, over)


@rule(
    "Cg and Cgk",
    group=GROUP,
    kinds=MEASURED,
    reads=("gauge.name", "gauge.cg", "gauge.cgk", "gauge.share"),
    criteria=("cg_min", "cgk_min", "cg_fraction", "cg_multiplier"),
    source="common practice, no source",
    silent="Repeated readings of one master are not what this gauge is judged by.",
)
def one_master(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge Cg and Cgk where nothing else is known."""
    cg, cgk = seen["gauge.cg"], seen["gauge.cgk"]
    if cg is None or cgk is None or not isinstance(seen["gauge.share"], Absent):
        return None
    on_bound = criteria.measurement_on_bound
    values = [
        (item.low if on_bound else item.estimate, criteria[key], name)
        for item, key, name in ((cg, "cg_min", "Cg"), (cgk, "cgk_min", "Cgk"))
    ]
    words = ", ".join(
        f"{name} = {value:.2f} (at least {limit.number:g})" for value, limit, name in values
    )
    low = [limit for value, limit, _ in values if value < limit.number]
    text = f"{seen['gauge.name']}, one master: {words}{_on(criteria)}."
    return says(APPROVAL, text, low[0]) if low else says(SUPPORTS, text, values[0][1])


@rule(
    "resolution",
    group=GROUP,
    kinds=MEASURED,
    reads=("gauge.name", "gauge.step_share"),
    criteria=("resolution_share",),
    source="AIAG MSA, 4th ed. (2010), ch. I section E",
    silent="The step of the readings is not known as a share of a tolerance.",
)
def resolution(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge the step of the readings against the tolerance."""
    step, limit = seen["gauge.step_share"], criteria["resolution_share"]
    if step is None:
        return None
    share = f"{step:.1%}" if step >= _LEAST_SHOWN else f"less than {_LEAST_SHOWN:.1%}"
    text = f"{seen['gauge.name']}: resolution {share} of tolerance"
    if step <= limit.number * (1 + 1e-9):
        return says(SUPPORTS, f"{text} (criterion: at most {limit.percent}).", limit)
    return says(
        APPROVAL, f"{text}, coarser than {limit.percent}: customer approval required.", limit
    )


@rule(
    "certificates",
    group=GROUP,
    kinds=MEASURED,
    reads=("gauge.expired",),
    criteria=(),
    source="ISO 10012:2003, 7.1 and 7.3 (from memory)",
    silent="No certificate of the gauge or its masters had expired.",
)
def certificates(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge certificates that had expired when the readings were taken."""
    expired = seen["gauge.expired"]
    if not expired:
        return None
    return says(
        APPROVAL,
        f"{' '.join(expired)} Calibrate, and say what was found; until then customer approval required.",
    )


#: Shares of a tolerance below it are not written out: they would be nought in print.
_LEAST_SHOWN = 0.001

RULES = (
    spread,
    categories,
    study_size,
    appraisers,
    missing,
    bias,
    drift,
    uncertainty,
    one_master,
    resolution,
    two_studies,
    over_time,
    another_gauge,
    certificates,
)
