"""A rule is handed what it declared, and nothing else."""

from __future__ import annotations

from typing import Any

import pytest

from linestudy.results import Absent
from linestudy.verdict import CharacteristicFacts, IndexFacts, resolve
from linestudy.verdict.measurement_facts import GaugeFacts
from linestudy.verdict.rules.rule import Rule, Seen, rule, says

KIND = {"group": "x", "kinds": ("process",), "source": "x"}


def test_a_rule_that_reads_what_does_not_exist_fails_where_it_is_declared() -> None:
    declare = {"group": "x", "kinds": ("process",), "source": "x", "silent": ""}
    with pytest.raises(AttributeError, match="no fact is called"):
        rule("x", reads=("gauge.spread",), **declare)(lambda seen, criteria: None)  # type: ignore[arg-type]
    with pytest.raises(AttributeError, match="does not exist"):
        rule("x", reads=("kind",), criteria=("grr_max",), **declare)(lambda seen, criteria: None)  # type: ignore[arg-type]


def told(reads: tuple[str, ...], say: Any, silent: str = "nothing to judge by") -> Rule:
    return rule("x", reads=reads, silent=silent, **KIND)(say)  # type: ignore[arg-type]


def test_a_rule_sees_what_it_declared_and_no_more() -> None:
    handed: list[Seen] = []

    def say(seen: Seen, criteria: object) -> None:
        handed.append(seen)

    facts = CharacteristicFacts(gauge=GaugeFacts(name="camera"), special=True)
    told(("gauge.name", "special"), say)(facts, resolve())
    assert handed == [{"gauge.name": "camera", "special": True}]


def test_without_evidence_it_says_its_own_sentence_and_supports_nothing() -> None:
    found = told(("kind",), lambda seen, criteria: None)(CharacteristicFacts(), resolve())
    assert (found.rule, found.effect, found.group) == ("x", "no evidence", "x")
    assert found.reason == "nothing to judge by"


def test_name_and_group_are_filled_in_and_a_sentence_begins_with_a_capital() -> None:
    say = told(("gauge.name",), lambda seen, criteria: says("supports", f"{seen['gauge.name']}: 5"))
    facts = CharacteristicFacts()
    assert say(facts, resolve()).reason == "The gauge: 5"
    assert say(facts, resolve()).rule == "x"
    # A name that people gave is shown as given.
    own = CharacteristicFacts(gauge=GaugeFacts(name="camera 2"))
    assert say(own, resolve()).reason == "camera 2: 5"


def test_a_fact_of_an_absent_number_is_handed_as_it_is() -> None:
    say = told(("index",), lambda seen, criteria: says("supports", type(seen["index"]).__name__))
    assert say(CharacteristicFacts(index=Absent("none")), resolve()).reason == "Absent"
    of = CharacteristicFacts(index=IndexFacts("Ppk", 1.0, 0.9, 1.1))
    assert say(of, resolve()).reason == "IndexFacts"
