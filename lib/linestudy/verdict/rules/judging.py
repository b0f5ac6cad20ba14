"""Rules on judgements by eye: can they be trusted.

The criteria are those of AIAG MSA ch. III section C: effectiveness, miss rate and false alarm rate
of every appraiser. Kappa is given beside them: an appraiser who accepts a fifth of the bad parts can
have a kappa above 0.75 where bad parts are few.
"""

from __future__ import annotations

from linestudy.results import Absent, Interval, counted
from linestudy.verdict.criteria import Criteria
from linestudy.verdict.rules.rule import Rule, Seen, rule, says
from linestudy.verdict.rulings import APPROVAL, FAILS, SUPPORTS, UNKNOWN, Ruling

GROUP = "judgement"
#: Parts of either kind below which rates of error are hardly known: no error in 15 leaves up to 22 % possible (exact, 95 %),
#: and the manual's own example has 16 bad parts (from memory).
_OF_EACH_KIND = 15
_SOURCE = "AIAG MSA, 4th ed. (2010), ch. III section C"


def _rate(name: str, fact: str, good: str, fair: str, high_is_bad: bool) -> Rule:
    path = f"judgement.{fact}"

    @rule(
        name,
        group=GROUP,
        kinds=("judgement",),
        reads=(path, "judgement.who"),
        criteria=(good, fair),
        source=_SOURCE,
        silent="",
    )
    def judged(seen: Seen, criteria: Criteria) -> Ruling:
        value = seen[path]
        accept, review = criteria[good], criteria[fair]
        if isinstance(value, Absent):
            return says(UNKNOWN, f"The {name} is not known: {value.reason}.", accept)
        number = _decided(value, criteria, high_is_bad)
        who = seen["judgement.who"].get(fact, "")
        words = "at most" if high_is_bad else "at least"
        text = (
            f"Worst {name} {value.estimate:.1%} ({100 * value.confidence:.4g} % CI {value.low:.1%} to {value.high:.1%}, by part"
            f"{f'; {who}' if who else ''})"
        )
        if _passes(number, accept.number, high_is_bad):
            return says(SUPPORTS, f"{text}; criterion: {words} {accept.percent}.", accept)
        if _passes(number, review.number, high_is_bad):
            return says(
                APPROVAL,
                f"{text}; criterion: {words} {accept.percent}: conditional, customer approval required.",
                review,
            )
        return says(
            FAILS,
            f"{text}, worse than {review.percent}: not acceptable, train and repeat.",
            review,
        )

    return judged


def _decided(value: Interval, criteria: Criteria, high_is_bad: bool) -> float:
    if not criteria.measurement_on_bound:
        return value.estimate
    return value.high if high_is_bad else value.low


def _passes(number: float, limit: float, high_is_bad: bool) -> bool:
    # A rate is a share of counts and may equal its limit, as 45 of 50 does; its last digits decide nothing.
    slack = 1e-6 * abs(limit)
    return number <= limit + slack if high_is_bad else number >= limit - slack


@rule(
    "kappa",
    group=GROUP,
    kinds=("judgement",),
    reads=(
        "judgement.kappa",
        "judgement.kappa_between",
        "judgement.who",
        "judgement.good",
        "judgement.bad",
    ),
    criteria=("kappa_min",),
    source=_SOURCE,
    silent="The judgements give no kappa.",
)
def kappa(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge agreement with the reference beyond chance."""
    value, least = seen["judgement.kappa"], criteria["kappa_min"]
    if isinstance(value, Absent):
        return None
    who = seen["judgement.who"].get("kappa", "")
    between = seen["judgement.kappa_between"]
    people = "" if isinstance(between, Absent) else f" Between appraisers: {between.estimate:.2f}."
    text = (
        f"Lowest kappa against the reference {value.estimate:.2f} ({100 * value.confidence:.4g} % CI {value.low:.2f} to {value.high:.2f}"
        f"{f'; {who}' if who else ''})"
    )
    if _passes(_decided(value, criteria, False), least.number, False):
        return says(SUPPORTS, f"{text}; criterion: at least {least.number:g}.{people}", least)
    few = min(seen["judgement.good"] or 0, seen["judgement.bad"] or 0) < _OF_EACH_KIND
    if few and _passes(value.high, least.number, False):
        # One judgement of a rare kind moves kappa by a tenth and more; the rates beside it say who errs.
        return says(
            APPROVAL,
            f"{text}, below {least.number:g}, of fewer than {_OF_EACH_KIND} parts of one kind: not known, customer approval "
            f"required.{people}",
            least,
        )
    return says(
        FAILS, f"{text}, below {least.number:g}: not acceptable, train and repeat.{people}", least
    )


@rule(
    "repeats",
    group=GROUP,
    kinds=("judgement",),
    reads=("judgement.parts", "judgement.trials", "judgement.incomplete"),
    criteria=(),
    source="AIAG MSA, 4th ed. (2010), ch. III section C (50 parts, three trials)",
    silent="No judgements are in the folder.",
)
def repeats(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge repetition: with one judgement per part, agreement within an appraiser is not known."""
    parts, trials = seen["judgement.parts"], seen["judgement.trials"]
    if not parts:
        return None
    if trials < 2:
        return says(
            APPROVAL,
            f"{parts} parts judged once each: agreement within an appraiser not known.",
        )
    missing = seen["judgement.incomplete"]
    gaps = f" ({counted(missing, 'judgement')} missing)" if missing else ""
    return says(
        SUPPORTS,
        f"{parts} parts judged in {trials} trials{gaps}. The share of nonconforming parts is not claimed.",
    )


@rule(
    "who judged",
    group=GROUP,
    kinds=("judgement",),
    reads=("judgement.appraisers", "judgement.parts"),
    criteria=(),
    source="AIAG MSA, 4th ed. (2010), ch. III section C (three appraisers)",
    silent="A machine judged, or no judgements are in the folder.",
)
def who_judged(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge the number of appraisers: one person shows nothing about reproducibility."""
    people = seen["judgement.appraisers"]
    if people is None or not seen["judgement.parts"]:
        return None
    if people > 1:
        return says(SUPPORTS, f"{people} appraisers judged.")
    said = "One appraiser judged" if people else "No appraiser is named"
    return says(
        APPROVAL,
        f"{said}, so what others would have said of these parts (reproducibility) is not known: customer approval required.",
    )


@rule(
    "parts judged",
    group=GROUP,
    kinds=("judgement",),
    reads=("judgement.good", "judgement.bad"),
    criteria=(),
    source="common practice, no source",
    silent="No reference says which parts are good and which are bad.",
)
def parts_judged(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge the numbers of good and bad parts: error rates need enough parts of both kinds."""
    good, bad = seen["judgement.good"], seen["judgement.bad"]
    if good is None or bad is None:
        return None
    few = [
        f"{counted(number, 'part')} that the reference {word}"
        for number, word in ((bad, "rejects"), (good, "accepts"))
        if 0 < number < _OF_EACH_KIND
    ]
    if not few:
        return says(SUPPORTS, f"{good} parts that the reference accepts and {bad} that it rejects.")
    return says(
        APPROVAL,
        f"Only {' and '.join(few)}, at least {_OF_EACH_KIND} are asked for: the rates rest on too few parts, "
        "customer approval required.",
    )


@rule(
    "parts near the limit",
    group=GROUP,
    kinds=("judgement",),
    reads=("judgement.team_effectiveness", "judgement.parts"),
    criteria=(),
    source="AIAG MSA, 4th ed. (2010), ch. III section C (parts near the limits, from memory)",
    silent="No reference says which judgements are right.",
)
def near_the_limit(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge whether any part lies near the limit, where judgements go wrong."""
    together = seen["judgement.team_effectiveness"]
    if isinstance(together, Absent):
        return None
    parts = seen["judgement.parts"]
    if together.estimate < 1:
        return says(SUPPORTS, f"{together.estimate:.1%} of {parts} parts were always judged right.")
    return says(
        APPROVAL,
        f"All {parts} parts were always judged right, so none is shown to lie near the limit, where judgements go wrong (up to "
        f"{1 - together.low:.1%} of parts like these may still be misjudged): add parts near the limit, or customer approval "
        "required.",
    )


@rule(
    "missing judgements",
    group=GROUP,
    kinds=("judgement",),
    reads=("judgement.incomplete", "judgement.at_worst"),
    criteria=("effectiveness_min", "miss_max", "false_alarm_max"),
    source="the least favourable case; common practice, no source",
    silent="No judgement is missing.",
)
def missing(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge whether the rates would still hold if every missing judgement had been wrong."""
    number, worst = seen["judgement.incomplete"], seen["judgement.at_worst"]
    if not number or worst is None:
        return None
    over = [
        (f"the {name} {value:.1%}", limit)
        for name, value, limit, high_is_bad in (
            ("effectiveness", worst.effectiveness, criteria["effectiveness_min"], False),
            ("miss rate", worst.miss, criteria["miss_max"], True),
            ("false alarm rate", worst.false_alarm, criteria["false_alarm_max"], True),
        )
        if value is not None and not _passes(value, limit.number, high_is_bad)
    ]
    text = f"{counted(number, 'judgement')} missing; counted as wrong"
    if not over:
        return says(SUPPORTS, f"{text}, they leave every rate within its criterion.")
    return says(
        APPROVAL,
        f"{text}, they would make {' and '.join(words for words, _ in over)}: complete the study, or customer "
        "approval required.",
        over[0][1],
    )


RULES = (
    _rate("effectiveness", "effectiveness", "effectiveness_min", "effectiveness_review", False),
    _rate("miss rate", "miss", "miss_max", "miss_review", True),
    _rate("false alarm rate", "false_alarm", "false_alarm_max", "false_alarm_review", True),
    kappa,
    repeats,
    who_judged,
    parts_judged,
    near_the_limit,
    missing,
)
