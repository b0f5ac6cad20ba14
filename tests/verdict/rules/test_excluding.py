"""What was left out stands with the decision."""

from __future__ import annotations

from dataclasses import replace

import pytest

from linestudy.verdict import CharacteristicFacts, Circumstances, ProcessFacts, resolve
from linestudy.verdict.facts import LeftOut, RecordFacts
from linestudy.verdict.rules.excluding import exclusions, rows_chosen

MANY = ProcessFacts(n=5000)


def ruling(*left_out: LeftOut) -> tuple[str, str]:
    around = Circumstances(left_out=left_out)
    found = exclusions(CharacteristicFacts(process=MANY, circumstances=around), resolve())
    return found.effect, found.reason


def test_nothing_large_supports() -> None:
    assert ruling() == ("supports", "No reading was left out.")
    for around in (Circumstances(excluded=0.002), Circumstances(set_aside=0.002)):
        found = exclusions(CharacteristicFacts(process=MANY, circumstances=around), resolve())
        assert found.reason == "No single reason leaves out more than 1 % of the readings."


@pytest.mark.parametrize(
    ("reason", "named", "effect"),
    [
        ("order number used again with other content", False, "customer approval required"),
        ("no reading", False, "customer approval required"),
        ("verdict purged: first parts after a stop", True, "supports"),
        ("repeated row: same order number, same content", False, "supports"),
    ],
)
def test_a_large_share_is_said_with_its_reason(reason: str, named: bool, effect: str) -> None:
    found, text = ruling(LeftOut(reason, 2500, 0.5, named))
    assert found == effect
    assert text.startswith("50.0% of the readings (2,500) left out: ")
    assert reason in text


def test_without_readings_it_is_silent() -> None:
    assert exclusions(CharacteristicFacts(), resolve()).effect == "no evidence"


@pytest.mark.parametrize(
    ("unread", "effect"), [(20, "supports"), (21, "customer approval required")]
)
def test_one_rejected_part_in_a_thousand_may_be_without_a_reading(unread: int, effect: str) -> None:
    record = RecordFacts(rejected_unread=unread)
    found = exclusions(
        CharacteristicFacts(process=ProcessFacts(n=20_000), record=record), resolve()
    )
    assert found.effect == effect


def test_one_reason_that_nobody_named_is_enough() -> None:
    named = LeftOut("first parts after a stop", 100, 0.02, True)
    lost = LeftOut("no reading", 60, 0.012, False)
    found, said = ruling(named, lost)
    assert found == "customer approval required"
    assert "; 1.2% (60): no reading." in said
    assert ruling(named, replace(lost, reason="repeated row: same content"))[0] == "supports"


def test_rows_that_a_choice_leaves_out_are_told_of_every_kind() -> None:
    record = RecordFacts(chosen=1)
    assert exclusions(CharacteristicFacts(record=record), resolve()).reason.startswith("1 reading ")
    for kind in ("machine", "gauge", "judgement"):
        about = CharacteristicFacts(kind=kind, record=record)
        assert rows_chosen(about, resolve()).effect == "customer approval required"
        assert rows_chosen(replace(about, record=RecordFacts()), resolve()).effect == "no evidence"
