"""A decision's reason in few words is true as printed: the number shown is on the wrong side of what is asked."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from linestudy.dossier.content.reasons import (
    _NAMED,
    above_percent,
    below,
    below_percent,
    in_few_words,
)
from linestudy.results import Interval
from linestudy.verdict import CharacteristicFacts, CharacteristicVerdict, Criteria, resolve
from linestudy.verdict.decisions import rule_on
from linestudy.verdict.facts import (
    BEFORE_SORTING,
    Circumstances,
    IndexFacts,
    ProcessFacts,
    RecordFacts,
)
from linestudy.verdict.measurement_facts import GaugeFacts
from linestudy.verdict.rules import RULES

GOOD = Interval(0.05, 0.04, 0.08, 0.95, "example")
RUN = ProcessFacts(n=5000, subgroups=100, mean=5.0, sd=0.01, smallest=4.9, largest=5.1, coils=4)


def _verdict(facts: CharacteristicFacts, criteria: Criteria) -> str:
    """The reason of the decision that follows from these facts."""
    found = rule_on(facts, criteria)
    verdict = CharacteristicVerdict.__new__(CharacteristicVerdict)
    for name, value in (("facts", facts), ("rulings", found.rulings), ("decision", found.decision)):
        object.__setattr__(verdict, name, value)
    return in_few_words(verdict, criteria)


def _facts(**changed: object) -> CharacteristicFacts:
    base = CharacteristicFacts(
        process=RUN,
        record=RecordFacts(rows=5000),
        gauge=GaugeFacts(name="gauge", share=GOOD, ndc=Interval(12.0, 8.0, 15.0, 0.95, "example")),
        index=IndexFacts("Ppk", 2.0, 1.9, 2.1, family="normal"),
    )
    return replace(base, **changed)


@pytest.mark.parametrize("number", [1.6699, 1.66501, 1.3299999, 0.9, 1.5])
def test_what_is_below_is_seen_to_be(number: float) -> None:
    shown, asked = below(number, 1.67).split(" < ")
    assert float(shown) < float(asked)
    shown, asked = (
        float(one.split()[0]) for one in above_percent(0.1 + number / 1e4, 0.1).split(" > ")
    )
    assert shown > asked
    shown, asked = (
        float(one.split()[0]) for one in below_percent(0.9 - number / 1e4, 0.9).split(" < ")
    )
    assert shown < asked


def test_an_index_that_another_description_lifts_says_so() -> None:
    index = IndexFacts("Ppk", 1.15, 0.7, 2.18, family="Weibull")
    told = _verdict(_facts(index=index), resolve())
    assert "Ppk 1.15 < 1.67 by the Weibull, up to 2.18 by others that fit" in told
    alone = IndexFacts("Ppk", 1.5, 1.4, 1.6, family="normal")
    assert "others" not in _verdict(_facts(index=alone), resolve())


def test_the_process_before_sorting_lists_no_description_it_does_not_have() -> None:
    facts = _facts(index=IndexFacts(BEFORE_SORTING, 0.9, 0.8, 0.95))
    found = rule_on(facts, resolve())
    said = [
        one.reason
        for one in found.rulings
        if one.rule in ("distribution", "observed against expected")
    ]
    assert len(said) == 2
    assert not any(": ;" in one or "expected" in one for one in said)
    assert "Ppk before sorting 0.90 < 1.33" in _verdict(facts, resolve())


def test_what_moved_stands_in_the_reason_not_only_a_count_that_chance_explains() -> None:
    moved = replace(RUN, steady_p=1e-5, strongest="level, cumulated", matters=True, moved_share=0.2)
    assert (
        _verdict(_facts(process=moved), resolve())
        == "bias not known; not in statistical control (the level moves, p < 0.001)"
    )


def test_decided_on_a_bound_the_bound_is_what_is_printed(monkeypatch: pytest.MonkeyPatch) -> None:
    wide = Interval(0.08, 0.06, 0.17, 0.95, "example")
    gauge = GaugeFacts(name="gauge", share=wide, ndc=Interval(6.0, 3.0, 9.0, 0.95, "example"))
    monkeypatch.setattr(Criteria, "measurement_on_bound", True)
    told = _verdict(_facts(gauge=gauge), resolve())
    assert "upper bound of %GRR 17.0 % > 10 %" in told
    assert "lower bound of ndc 3 < 5" in told
    for number, sign, asked in re.findall(r"(\d[\d.]*) ?%? ([<>]) (\d[\d.]*)", told):
        assert float(number) < float(asked) if sign == "<" else float(number) > float(asked)


#: Rules whose reason is a number against what is asked.
_BY_NUMBER = {
    "index",
    "gauge spread",
    "categories",
    "stability",
    "sample",
    "observed against expected",
    "effectiveness",
    "miss rate",
    "false alarm rate",
}


def test_every_rule_that_may_object_has_words_for_a_reader() -> None:
    names = {rule.name for rule in RULES}
    assert names >= _BY_NUMBER
    # A new rule goes by its own name until it has words; most have them.
    assert len(names - _BY_NUMBER - set(_NAMED)) <= 2


def test_a_gauge_that_nobody_studied_is_not_called_inadequate() -> None:
    told = _verdict(_facts(gauge=GaugeFacts(name="gauge")), resolve())
    assert told == "no crossed gauge study"


@pytest.mark.parametrize(
    ("changed", "few"),
    [
        ({"circumstances": Circumstances(streams_unseen="a lane is not read")}, "not every stream"),
        ({"process": replace(RUN, lots=4, lot_share=0.8, lot_bound_share=0.2)}, "4 lots only"),
        ({"process": replace(RUN, n_eff_mean=2.0)}, "too short for what moves"),
        ({"process": replace(RUN, coils=None, hours=0.5, days=1)}, "no coils named"),
        ({"process": replace(RUN, regrinds=0)}, "no reset within the run"),
        ({"process": replace(RUN, coils=1)}, "one coil only"),
    ],
)
def test_what_the_sample_does_not_show_is_named(changed: dict[str, object], few: str) -> None:
    assert few in _verdict(_facts(**changed), resolve())
