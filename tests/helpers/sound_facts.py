"""Facts of a sound characteristic and of sound judgements, and what becomes of one that is changed in one place."""

from __future__ import annotations

import dataclasses

from linestudy.results import Interval
from linestudy.study.model import Criteria as StudyCriteria
from linestudy.verdict import CharacteristicFacts, IndexFacts, ProcessFacts, resolve, rule_on
from linestudy.verdict.measurement_facts import GaugeFacts, JudgementFacts
from linestudy.verdict.rulings import Ruling


def known(value: float, half: float = 0.0, confidence: float = 0.95) -> Interval:
    return Interval(value, value - half, value + half, confidence, "example")


GAUGE = GaugeFacts(
    name="camera",
    share=known(0.06, 0.02),
    ndc=known(9.0, 2.0),
    ndc_by_run=8.0,
    bias={"the lower limit": known(0.0005, 0.001, 0.9), "the upper limit": known(0.0, 0.001, 0.9)},
    width=0.1,
    drift=known(0.0, 0.002, 0.9),
    q_ms=known(0.05, 0.01),
    q_mp=known(0.08, 0.01),
    step_share=0.01,
    repeat_p=0.4,
    repeat_ratio=1.1,
)


PROCESS = ProcessFacts(
    n=625, subgroups=125, mean=6.3, sd=0.01, steady_p=0.5, expected_points=0.4, described=True
)


GOOD = CharacteristicFacts(
    name="Width",
    limits="6.25 to 6.35 mm",
    gauge=GAUGE,
    process=PROCESS,
    index=IndexFacts("Ppk", 2.0, 1.8, 2.1, by_family={"normal": 2.0}),
)


JUDGED = CharacteristicFacts(
    kind="judgement",
    judgement=JudgementFacts(
        50, 3, known(0.95, 0.03), known(0.01, 0.01), known(0.02, 0.02), known(0.9, 0.05)
    ),
)


def decision(facts: CharacteristicFacts = GOOD, **criteria: object) -> str:
    return rule_on(facts, resolve(StudyCriteria(**criteria))).decision  # type: ignore[arg-type]


def gauge(**changes: object) -> CharacteristicFacts:
    return dataclasses.replace(GOOD, gauge=dataclasses.replace(GAUGE, **changes))  # type: ignore[arg-type]


def process(**changes: object) -> CharacteristicFacts:
    return dataclasses.replace(GOOD, process=dataclasses.replace(PROCESS, **changes))  # type: ignore[arg-type]


def index(
    estimate: float, bound: float | None = None, highest: float | None = None
) -> CharacteristicFacts:
    facts = IndexFacts("Ppk", estimate, bound or estimate, highest or estimate)
    return dataclasses.replace(GOOD, index=facts)


APPROVAL = "customer approval required"


def ruling(rule: str, facts: CharacteristicFacts = GOOD, **criteria: object) -> Ruling:
    """What one rule says of the facts."""
    found = rule_on(facts, resolve(StudyCriteria(**criteria)))  # type: ignore[arg-type]
    return next(item for item in found.rulings if item.rule == rule)
