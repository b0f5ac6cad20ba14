"""Rules on the claim itself: the index against what is asked, and whether what is asked was weakened."""

from __future__ import annotations

import re

from linestudy.results import Absent
from linestudy.results.tables import named
from linestudy.verdict.criteria import DEFAULTS, NO_SOURCE, Criteria, Criterion, two_places
from linestudy.verdict.facts import IndexFacts
from linestudy.verdict.rules.rule import Seen, rule, says
from linestudy.verdict.rulings import APPROVAL, FAILS, SUPPORTS, UNKNOWN, Ruling

#: Words by which a source names a standard or its body.
_STANDARDS = (
    *(
        "aiag",
        "ppap",
        "msa",
        "spc",
        "iso",
        "iatf",
        "vda",
        "din",
        "gum",
        "jcgm",
        "astm",
        "ansi",
        "jis",
    ),
    *("automotive industry action group", "common practice", "standard", "standards"),
)

#: Confidence of a bound that decides, below which the claim is weaker than it looks (common practice).
USUAL_CONFIDENCE = 0.95


@rule(
    "index",
    group="index",
    kinds=("process", "machine"),
    reads=(
        "index",
        "circumstances.refused",
        "process.described",
        "process.mean",
        "process.smallest",
        "process.largest",
        "lower",
        "upper",
    ),
    criteria=("capability_accept", "capability_review", "decide_capability_on"),
    source="AIAG PPAP, 4th ed. (2006), 2.2.11.3",
    silent="",
)
def index(seen: Seen, criteria: Criteria) -> Ruling:
    """Judge the index: accepted above the upper criterion, by approval between the two, below it not."""
    found, refused = seen["index"], seen["circumstances.refused"]
    if isinstance(found, Absent):
        return says(UNKNOWN, f"No index can be given: {refused or found.reason}.")
    accept, review = criteria["capability_accept"], criteria["capability_review"]
    on_bound = criteria.capability_on_bound
    value = found.bound if on_bound else found.estimate
    where = f" ({found.stream})" if found.stream else ""
    text = f"{found.name}{where} = {found.estimate:.2f}{found.by}{_beside(found)}"
    if on_bound:
        text += f", at least {value:.2f} (one-sided, {found.confidence:.0%} confidence, on which it is decided)"
    if value > accept.number and on_bound and found.confidence < USUAL_CONFIDENCE:
        return says(
            APPROVAL,
            f"{text}, above {two_places(accept.number)}, but held with less than {USUAL_CONFIDENCE:.0%} confidence: customer approval required.",
            accept,
        )
    if value > accept.number:
        return says(SUPPORTS, f"{text}, above {two_places(accept.number)}: accepted.", accept)
    if value >= review.number:
        return says(
            APPROVAL,
            f"{text}, between {two_places(review.number)} and {two_places(accept.number)}: customer approval required.",
            review,
        )
    highest = found.bound if on_bound else found.highest
    if highest >= review.number:
        return says(
            APPROVAL,
            f"{text}, below {two_places(review.number)}; {found.highest:.2f} by another description that is not rejected: more "
            "readings would tell.",
            review,
        )
    reach = 0.0 if on_bound or seen["process.described"] else _by_their_reach(seen)
    if reach >= review.number:
        return says(
            APPROVAL,
            f"{text}, below {two_places(review.number)}, by a distribution that the readings reject, as they do all others tried; a process "
            f"that reaches no further than these readings would have an index of {reach:.2f}: more readings would tell.",
            review,
        )
    return says(FAILS, f"{text}, below {two_places(review.number)}: not acceptable.", review)


def _by_their_reach(seen: Seen) -> float:
    """Compute the index of a process that ends at its extreme readings, the largest for an unknown shape."""
    mean = seen["process.mean"]
    sides = (
        (seen["lower"], seen["process.smallest"]),
        (seen["upper"], seen["process.largest"]),
    )
    found = [
        (limit - mean) / (end - mean) for limit, end in sides if limit is not None and end != mean
    ]
    return float(min(found, default=0.0))


def _beside(found: IndexFacts) -> str:
    """Write the other streams' indices beside that of the worst."""
    others = [
        f"{named('stream', name)}: {value:.2f}"
        for name, value in found.by_stream.items()
        if name != found.stream
    ]
    if not others:
        return ""
    return f" ({', '.join(others[:6])}{', …' if len(others) > 6 else ''})"


@rule(
    "criteria",
    group="criteria",
    kinds=("process", "machine", "gauge", "judgement"),
    reads=("kind",),
    criteria=tuple(DEFAULTS),
    source="this kit",
    silent="",
)
def weakened(seen: Seen, criteria: Criteria) -> Ruling:
    """Judge criteria weaker than their default, stated with their true source."""
    weak = criteria.weaker
    if not weak:
        own = [item for item in criteria.items.values() if item.value != DEFAULTS[item.key].value]
        stricter = f" Stricter than usual: {_listed(own)}." if own else ""
        return says(SUPPORTS, f"No criterion is weaker than usual.{stricter}")
    how = "Other" if all(item.departs == "other" for item in weak) else "Weaker"
    text = f"{how} than usual: {_listed(weak)}"
    borrowed = [item for item in weak if _claims_a_standard(item)]
    if borrowed and isinstance(borrowed[0].value, str):
        return says(
            APPROVAL,
            f"{text}. No standard makes this choice for the customer, who must approve it; the source given is "
            f"{borrowed[0].source}.",
            borrowed[0],
        )
    if borrowed:
        return says(
            APPROVAL,
            f"{text}. The source given, {borrowed[0].source}, is not where these values stand: "
            f"the usual value is {borrowed[0].usual} ({DEFAULTS[borrowed[0].key].source}).",
            borrowed[0],
        )
    unnamed = [item for item in weak if item.source == NO_SOURCE]
    if unnamed:
        return says(APPROVAL, f"{text}, without a source: customer approval required.", unnamed[0])
    return says(SUPPORTS, f"{text}, as {weak[0].source} asks.", weak[0])


def _listed(items: tuple[Criterion, ...] | list[Criterion]) -> str:
    return ", ".join(f"{item.name} {item.shown}" for item in items)


def _claims_a_standard(item: Criterion) -> bool:
    text = item.source.lower().replace(".", "")
    words = re.split(r"[^a-z]+", text)
    return any(name in words or (" " in name and name in text) for name in _STANDARDS)


RULES = (index, weakened)
