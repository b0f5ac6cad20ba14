"""What was left out stands with the decision."""

from __future__ import annotations

import pytest

from linestudy.verdict import CharacteristicFacts, Circumstances, ProcessFacts, resolve
from linestudy.verdict.facts import LeftOut
from linestudy.verdict.rules.excluding import exclusions

MANY = ProcessFacts(n=5000)


def ruling(*left_out: LeftOut) -> tuple[str, str]:
    around = Circumstances(left_out=left_out)
    found = exclusions(CharacteristicFacts(process=MANY, circumstances=around), resolve())
    return found.effect, found.reason


def test_nothing_large_supports() -> None:
    assert ruling() == ("supports", "No reading was left out.")
    around = Circumstances(excluded=0.002)
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
