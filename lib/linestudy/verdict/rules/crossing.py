"""Rules on the crossed studies of a gauge themselves: large enough, complete, and in agreement with each other."""

from __future__ import annotations

from linestudy.results import counted
from linestudy.results.rounding import p_text, signed
from linestudy.verdict.criteria import Criteria, Criterion
from linestudy.verdict.measurement_facts import share_of_what
from linestudy.verdict.rules.rule import Seen, rule, says
from linestudy.verdict.rulings import APPROVAL, SUPPORTS, Ruling

GROUP = "measurement system"
MEASURED = ("process", "machine", "gauge")
#: Parts and degrees of freedom of repeatability below which a crossed study shows little.
_PARTS, _FREEDOM = 5, 10
#: Share of the tolerance beyond a limit from which parts are of another size than those claimed (common practice, no source).
_BEYOND = 0.5
#: Share of the readings up to which the worst that may be missing is bounded (common practice, no source).
_MISSING = 0.1
#: Usual level of a test that is shown, not decided on.
_USUAL = 0.05


def _if_accepted(text: str, share: float, accept: Criterion, otherwise: str) -> Ruling:
    """Hold %GRR of the least favourable case against what is accepted."""
    if share <= accept.number:
        return says(SUPPORTS, f"{text} (criterion: at most {accept.percent}).", accept)
    return says(
        APPROVAL,
        f"{text}, more than {accept.percent}: {otherwise}, or customer approval required.",
        accept,
    )


@rule(
    "size of the gauge study",
    group=GROUP,
    kinds=MEASURED,
    reads=(
        "gauge.name",
        "gauge.parts",
        "gauge.appraisers",
        "gauge.repeat_df",
        "gauge.parts_beyond",
    ),
    criteria=(),
    source="common practice, no source",
    silent="No crossed study is in the folder.",
)
def study_size(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge the crossed study's numbers of parts, people and repeats, and whether its parts are typical."""
    parts, people, df = seen["gauge.parts"], seen["gauge.appraisers"], seen["gauge.repeat_df"]
    if parts is None:
        return None
    who = "" if people is None else f" by {counted(people, 'appraiser')}"
    text = f"{seen['gauge.name']}: {counted(parts, 'part')} read{who}"
    if df is not None:
        text += f", {df:g} degrees of freedom of repeatability"
    few = []
    if parts < _PARTS:
        few.append(f"fewer than {_PARTS} parts")
    if people == 1:
        few.append("one appraiser, so the spread between appraisers is not known")
    if df is not None and df < _FREEDOM:
        few.append(f"fewer than {_FREEDOM} degrees of freedom")
    beyond = seen["gauge.parts_beyond"]
    if beyond > _BEYOND:
        few.append(
            f"the middle one of its parts lies {beyond:.1f} times the tolerance beyond a limit"
        )
    if not few:
        return says(SUPPORTS, f"{text}.")
    return says(APPROVAL, f"{text}: {' and '.join(few)}: customer approval required.")


@rule(
    "missing readings",
    group=GROUP,
    kinds=MEASURED,
    reads=(
        "gauge.name",
        "gauge.missing",
        "gauge.missing_of",
        "gauge.missing_share",
        "gauge.share_of",
        "gauge.multiplier",
    ),
    criteria=("grr_accept",),
    source="the least favourable case; common practice, no source",
    silent="No reading of the crossed study is missing.",
)
def missing(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge whether %GRR would still be accepted had every missing reading been far off."""
    number, share, accept = (
        seen["gauge.missing"],
        seen["gauge.missing_share"],
        criteria["grr_accept"],
    )
    if not number or share is None:
        return None
    of = share_of_what(seen["gauge.share_of"], seen["gauge.multiplier"])
    text = f"{seen['gauge.name']}: {counted(number, 'reading')} of the crossed study missing"
    whole = seen["gauge.missing_of"]
    if number > _MISSING * whole > 0:
        # Of so many three standard deviations are no bound: someone who stopped half way may have had a reason.
        return says(
            APPROVAL,
            f"{text}, {number / whole:.0%} of {whole}: complete the study, or customer approval required.",
            accept,
        )
    text += f"; three standard deviations off, %GRR would be {share:.1%} of {of}"
    return _if_accepted(text, share, accept, "complete the study")


@rule(
    "repeatability of two studies",
    group=GROUP,
    kinds=MEASURED,
    reads=("gauge.name", "gauge.repeat_p", "gauge.repeat_ratio", "gauge.repeat_where"),
    criteria=("contradiction",),
    source="F test of two variances; level: common practice, no source",
    silent="Only one study shows how well the gauge repeats.",
)
def two_studies(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge whether the crossed study repeats far better than the same gauge does on masters."""
    p, ratio, level = seen["gauge.repeat_p"], seen["gauge.repeat_ratio"], criteria["contradiction"]
    if p is None or ratio is None:
        return None
    text = f"{seen['gauge.name']}: repeatability {seen['gauge.repeat_where']} {ratio:.2f} times that of the crossed study"
    if p >= level.number:
        return says(SUPPORTS, f"{text}; no contradiction.", level)
    return says(
        APPROVAL,
        f"{text} ({p_text(p)}): the studies contradict each other; explain which of them shows the gauge.",
        level,
    )


@rule(
    "studies over time",
    group=GROUP,
    kinds=MEASURED,
    reads=(
        "gauge.name",
        "gauge.over_time",
        "gauge.over_time_p",
        "gauge.over_time_share",
        "gauge.share_of",
        "gauge.multiplier",
    ),
    criteria=("grr_accept", "contradiction"),
    source="t test of the same parts; level: common practice, no source",
    silent="One crossed study was made.",
)
def over_time(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge whether studies of one gauge on the same parts differ more than an adequate gauge may."""
    p, share = seen["gauge.over_time_p"], seen["gauge.over_time_share"]
    accept, level = criteria["grr_accept"], criteria["contradiction"]
    if p is None or share is None:
        return None
    if p >= level.number:
        return says(
            SUPPORTS, f"{seen['gauge.name']}: studies of it on the same parts agree.", level
        )
    of = share_of_what(seen["gauge.share_of"], seen["gauge.multiplier"])
    text = (
        f"{seen['gauge.name']}: {seen['gauge.over_time']} ({p_text(p)}); counted as spread between studies, %GRR is {share:.1%} "
        f"of {of}"
    )
    return _if_accepted(text, share, accept, "say what moved")


@rule(
    "repeatability of appraisers",
    group=GROUP,
    kinds=MEASURED,
    reads=(
        "gauge.name",
        "gauge.worst_appraiser",
        "gauge.appraisers_p",
        "gauge.appraisers_share",
        "gauge.share_of",
        "gauge.multiplier",
    ),
    criteria=("grr_accept", "contradiction"),
    source="Bartlett's test, allowing for heavy tails (Layard 1973); level: common practice, no source",
    silent="The crossed study names fewer than two appraisers.",
)
def appraisers(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge whether %GRR would still be accepted if everyone repeated as badly as the worst appraiser."""
    p, share = seen["gauge.appraisers_p"], seen["gauge.appraisers_share"]
    accept, level = criteria["grr_accept"], criteria["contradiction"]
    if p is None or share is None:
        return None
    if p >= level.number:
        # Below the usual level it is said among the conditions; here it is not held against the gauge.
        said = "no appraiser repeats worse than the others"
        if p < _USUAL:
            said = f"{seen['gauge.worst_appraiser']} may repeat worse than the others ({p_text(p)}), too little to decide on"
        return says(SUPPORTS, f"{seen['gauge.name']}: {said}.", level)
    of = share_of_what(seen["gauge.share_of"], seen["gauge.multiplier"])
    text = (
        f"{seen['gauge.name']}: {seen['gauge.worst_appraiser']} repeats worse than the others ({p_text(p)}); as "
        f"{seen['gauge.worst_appraiser']} repeats, %GRR is {share:.1%} of {of}"
    )
    return _if_accepted(text, share, accept, "say what differs and repeat the study")


@rule(
    "another gauge",
    group=GROUP,
    kinds=MEASURED,
    reads=(
        "gauge.name",
        "gauge.width",
        "gauge.paired_with",
        "gauge.paired_where",
        "gauge.paired_difference",
        "gauge.paired_spread",
        "unit",
    ),
    criteria=("bias_share", "grr_review"),
    source="difference of the same parts; shares: common practice, no source",
    silent="No other gauge read the same parts.",
)
def another_gauge(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge whether a gauge that is right on masters differs from another one on parts."""
    difference, spread = seen["gauge.paired_difference"], seen["gauge.paired_spread"]
    width, share, review = seen["gauge.width"], criteria["bias_share"], criteria["grr_review"]
    if difference is None or spread is None or width is None or width <= 0:
        return None
    text = f"{seen['gauge.name']} against {seen['gauge.paired_with']} on the same parts"
    if spread > review.number:
        return says(
            APPROVAL,
            f"{text}: differences spread over {spread:.0%} of tolerance (6 SD), more than {review.percent}: rows of different parts or "
            "readings in two units beside each other, or one of the two gauges is not adequate; say which.",
            review,
        )
    text += f": difference {seen['gauge.paired_where']} {signed(difference, seen['unit'])} ({difference.confidence:.0%} interval)"
    if max(difference.low, -difference.high) > share.number * width:
        return says(
            APPROVAL,
            f"{text}, more than {share.percent} of tolerance: one of the two gauges is off; say which, or customer approval required.",
            share,
        )
    # The bound by which plan.equivalence_size counts the parts: the whole interval within the margin.
    if max(difference.high, -difference.low) <= share.number * width:
        return says(SUPPORTS, f"{text}, within {share.percent} of tolerance.", share)
    return says(
        SUPPORTS,
        f"{text}; neither within nor beyond {share.percent} of tolerance is shown: more parts read by both would tell.",
        share,
    )
