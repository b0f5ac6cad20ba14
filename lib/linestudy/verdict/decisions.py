"""How evidence becomes a decision: a short table of rules, each of which may only limit a claim.

Every rule looks at one piece of evidence and says what it does to the claim:

========================  =====================================================
effect                    meaning
========================  =====================================================
``supports``              nothing stands against the claim here
``needs agreement``       the customer must agree before the claim is made
``does not meet``         the evidence speaks against the claim
``cannot be judged``      without this evidence no claim is honest
========================  =====================================================

The decision is the strongest effect of all rules, in the order of the table: a good
index never outweighs an untrustworthy gauge. Which rules exist, and where their
criteria come from, is common practice in the manner of AIAG PPAP and MSA; the order
is ours and stands here for everyone to read.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from linestudy.results import Absent, Interval, counted, show
from linestudy.verdict.criteria import Criteria, Criterion

#: Effects from weakest to strongest; the last one present is the decision.
EFFECTS = ("supports", "needs agreement", "does not meet", "cannot be judged")
DECISIONS = {"supports": "meets"} | {effect: effect for effect in EFFECTS[1:]}


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the rooms found about one measured characteristic, as far as a verdict needs it.

    Attributes
    ----------
    gauge : str
        Name of the gauge whose readings the capability rests on.
    gauge_share : Interval or Absent
        Gauge spread as a share of the tolerance, or of the total spread where
        there is no two-sided tolerance.
    share_of : str
        ``"tolerance"`` or ``"total spread"``.
    distinct_categories : Interval or Absent
        ndc.
    separable : bool
        False for destructive tests, whose spread includes that of the parts.
    bias : Interval or Absent
        Mean bias in the characteristic's unit.
    bias_p : float or None
        p-value of the test that the bias is zero.
    tolerance : float or None
        Width of the tolerance.
    time_model : str or None
        ISO 22514-2 model letter, None when not determined.
    signals, expected_signals : float or None
        Control-chart signals found, and how many a process that holds still would give.
    index_name : str
        The index the claim rests on.
    index : Interval or Absent
        Its value.
    index_bound : float or None
        Its one-sided lower confidence bound; None where only the two-sided interval is known.
    rival_index : float or None
        The same index under the runner-up distribution.
    rival_name : str or None
        Name of that distribution.
    readings, subgroups : int or None
        Sample size of the study; subgroups None when there were none to form.
    sorted_parts : bool
        True when the data hold accepted parts only.
    """

    gauge: str
    gauge_share: Interval | Absent
    share_of: str
    distinct_categories: Interval | Absent
    separable: bool
    bias: Interval | Absent
    bias_p: float | None
    tolerance: float | None
    time_model: str | None
    signals: float | None
    expected_signals: float | None
    index_name: str
    index: Interval | Absent
    index_bound: float | None
    rival_index: float | None
    rival_name: str | None
    readings: int | None
    subgroups: int | None
    sorted_parts: bool


@dataclass(frozen=True, slots=True)
class Ruling:
    """What one rule says.

    Attributes
    ----------
    rule : str
        Its name.
    effect : str
        One of :data:`EFFECTS`.
    reason : str
        One sentence, with the numbers and the criterion that made it.
    criterion : Criterion or None
        The threshold used, if the rule has one.
    """

    rule: str
    effect: str
    reason: str
    criterion: Criterion | None = None


def decide(rulings: tuple[Ruling, ...]) -> str:
    """The decision that follows from all rulings: the strongest effect.

    Parameters
    ----------
    rulings : tuple of Ruling

    Returns
    -------
    str
        ``meets``, ``needs agreement``, ``does not meet`` or ``cannot be judged``.

    Examples
    --------
    >>> decide((Ruling("a", "supports", ""), Ruling("b", "needs agreement", "")))
    'needs agreement'
    """
    strongest = max((EFFECTS.index(item.effect) for item in rulings), default=len(EFFECTS) - 1)
    return DECISIONS[EFFECTS[strongest]]


def rule_on(evidence: Evidence, criteria: Criteria) -> tuple[Ruling, ...]:
    """Apply every rule of the table to one characteristic's evidence.

    Parameters
    ----------
    evidence : Evidence
    criteria : Criteria

    Returns
    -------
    tuple of Ruling
        In the order of the table; a rule with nothing to say is left out.

    Examples
    --------
    See ``notebooks/submission/6_verdict.ipynb``.
    """
    rulings = (rule(evidence, criteria) for rule in RULES)
    return tuple(item for item in rulings if item is not None)


def _worse(interval: Interval, criteria: Criteria, high_is_bad: bool) -> float:
    """The number a decision is made on: the estimate, or the end that speaks against us."""
    if not criteria.on_bound:
        return interval.estimate
    return interval.high if high_is_bad else interval.low


def _on(criteria: Criteria) -> str:
    return " (decided on the confidence bound)" if criteria.on_bound else ""


def _gauge_spread(evidence: Evidence, criteria: Criteria) -> Ruling | None:
    name = "gauge spread"
    if isinstance(evidence.gauge_share, Absent):
        if not evidence.separable:
            return Ruling(
                name,
                "needs agreement",
                f"The test with {evidence.gauge} destroys the part, so its own spread cannot be "
                "separated from that of the parts; the customer must agree to the test as it is.",
            )
        return Ruling(
            name,
            "cannot be judged",
            f"Whether {evidence.gauge} can judge this characteristic is unknown: "
            f"{evidence.gauge_share.reason}.",
        )
    share = _worse(evidence.gauge_share, criteria, high_is_bad=True)
    accept, review = criteria["grr_accept"], criteria["grr_review"]
    found = f"{evidence.gauge} takes up {share:.0%} of the {evidence.share_of}{_on(criteria)}"
    if share <= accept.number:
        return Ruling(name, "supports", f"{found}, at most {accept.number:.0%} is asked.", accept)
    if share <= review.number:
        return Ruling(
            name,
            "needs agreement",
            f"{found}, between {accept.number:.0%} and {review.number:.0%}: "
            "acceptable only by agreement.",
            review,
        )
    return Ruling(
        name,
        "cannot be judged",
        f"{found}, more than {review.number:.0%}: its readings cannot carry a claim.",
        review,
    )


def _categories(evidence: Evidence, criteria: Criteria) -> Ruling | None:
    if isinstance(evidence.distinct_categories, Absent):
        return None
    least = criteria["ndc_min"]
    found = _worse(evidence.distinct_categories, criteria, high_is_bad=False)
    if not math.isfinite(found):
        # A gauge without any spread tells all parts apart; an open bound promises nothing.
        found = least.number if found > 0 else 0.0
    text = f"{evidence.gauge} tells {math.floor(found)} categories of parts apart{_on(criteria)}"
    if math.floor(found) >= least.number:
        return Ruling("categories", "supports", f"{text}, {least.number:g} are asked.", least)
    return Ruling("categories", "needs agreement", f"{text}, fewer than {least.number:g}.", least)


def _bias(evidence: Evidence, criteria: Criteria) -> Ruling | None:
    if evidence.bias_p is None or isinstance(evidence.bias, Absent):
        return None
    alpha = criteria["bias_alpha"]
    if evidence.bias_p >= alpha.number:
        return Ruling(
            "bias",
            "supports",
            f"No bias of {evidence.gauge} was detected (p = {evidence.bias_p:.2g}, "
            f"test level {alpha.number:g}).",
            alpha,
        )
    size = abs(evidence.bias.estimate)
    share = (
        "" if evidence.tolerance is None else f", {size / evidence.tolerance:.1%} of the tolerance"
    )
    reason = (
        f"{evidence.gauge} reads {show(evidence.bias)} off on the masters{share}, and the test "
        f"at level {alpha.number:g} detects it (p = {evidence.bias_p:.2g}): correct it or agree on it."
    )
    return Ruling("bias", "needs agreement", reason, alpha)


def _sorted(evidence: Evidence, criteria: Criteria) -> Ruling | None:
    if not evidence.sorted_parts:
        return None
    return Ruling(
        "sorted parts",
        "needs agreement",
        "The data hold accepted parts only; the index is that of the process before sorting, "
        "estimated from what was left.",
    )


#: ISO 22514-2 models whose location moves in a way that no study of this length averages out.
_MOVING = {"C3": "a trend", "C4": "steps between batches"}


def _stability(evidence: Evidence, criteria: Criteria) -> Ruling | None:
    model = evidence.time_model
    if model is None and evidence.signals is None:
        return None
    of_chart = ""
    if evidence.signals is not None and evidence.expected_signals is not None:
        of_chart = (
            f" The chart shows {counted(evidence.signals, 'signal')} where "
            f"{evidence.expected_signals:.1f} are expected by chance."
        )
    if model is not None and model.startswith("D"):
        return Ruling(
            "stability",
            "cannot be judged",
            "Location and spread both change without a pattern (model D of ISO 22514-2), so no "
            f"index describes the coming production.{of_chart}",
        )
    if model in _MOVING:
        return Ruling(
            "stability",
            "needs agreement",
            f"The location moves by {_MOVING[model]} (model {model} of ISO 22514-2); Ppk holds only "
            f"while the control plan keeps that movement as it was in this run.{of_chart}",
        )
    named = f"model {model} of ISO 22514-2" if model else "no time-dependent model was determined"
    return Ruling("stability", "supports", f"The process holds as far as seen ({named}).{of_chart}")


def _sample(evidence: Evidence, criteria: Criteria) -> Ruling | None:
    if evidence.readings is None:
        return None
    least, groups = criteria["least_readings"], criteria["least_subgroups"]
    if evidence.readings < least.number:
        return Ruling(
            "sample",
            "needs agreement",
            f"{evidence.readings} readings were taken; an initial study asks for {least.number:g}.",
            least,
        )
    if evidence.subgroups is not None and evidence.subgroups < groups.number:
        return Ruling(
            "sample",
            "needs agreement",
            f"{evidence.subgroups} subgroups were taken; an initial study asks for {groups.number:g}.",
            groups,
        )
    return Ruling("sample", "supports", f"{evidence.readings:,} readings were taken.", least)


def _capability(evidence: Evidence, criteria: Criteria) -> Ruling | None:
    name = "capability"
    if isinstance(evidence.index, Absent):
        return Ruling(name, "cannot be judged", f"No index can be given: {evidence.index.reason}.")
    accept, review = criteria["capability_accept"], criteria["capability_review"]
    value = _index_decided_on(evidence.index, evidence, criteria)
    found = f"{evidence.index_name} = {show(evidence.index)}{_on(criteria)}"
    if criteria.on_bound and evidence.index_bound is not None:
        found = (
            f"{evidence.index_name} = {show(evidence.index)}, at least {value:.3g} "
            f"(one-sided, {evidence.index.confidence:.0%} confidence, on which it is decided)"
        )
    effect, criterion, text = _against(value, accept, review)
    return Ruling(name, effect, f"{found}{text}", criterion)


def _index_decided_on(index: Interval, evidence: Evidence, criteria: Criteria) -> float:
    if criteria.on_bound and evidence.index_bound is not None:
        return evidence.index_bound
    return _worse(index, criteria, high_is_bad=False)


def _against(value: float, accept: Criterion, review: Criterion) -> tuple[str, Criterion, str]:
    # AIAG PPAP: above 1.67 acceptable, 1.33 to 1.67 may be acceptable, below not.
    if value > accept.number:
        return "supports", accept, f", above {accept.number:g}."
    if value >= review.number:
        return (
            "needs agreement",
            review,
            f", between {review.number:g} and {accept.number:g}: acceptable only by agreement.",
        )
    return "does not meet", review, f", below {review.number:g}."


def _choice_of_shape(evidence: Evidence, criteria: Criteria) -> Ruling | None:
    if evidence.rival_index is None or isinstance(evidence.index, Absent):
        return None
    accept, review = criteria["capability_accept"], criteria["capability_review"]
    value = _index_decided_on(evidence.index, evidence, criteria)
    # The rival has no interval of its own here: its bound is taken to lie as far off as the index's.
    other = evidence.rival_index
    if criteria.on_bound and evidence.index.estimate > 0:
        other *= value / evidence.index.estimate
    own = _against(value, accept, review)[0]
    rival = _against(other, accept, review)[0]
    if own == rival:
        return None
    return Ruling(
        "choice of distribution",
        "needs agreement",
        f"With the next best distribution ({evidence.rival_name}) {evidence.index_name} would be "
        f"{evidence.rival_index:.2f} and the decision another{_on(criteria)}.",
        review,
    )


#: The table of rules, in the order a reader meets them.
RULES: tuple[Callable[[Evidence, Criteria], Ruling | None], ...] = (
    _gauge_spread,
    _categories,
    _bias,
    _sorted,
    _stability,
    _sample,
    _capability,
    _choice_of_shape,
)
