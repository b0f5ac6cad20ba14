"""What the console says beside the table is said once, and of many characteristics in one line."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from linestudy.dossier.doubts import reasons


def test_a_reason_of_many_characteristics_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    why = "no crossed gauge study"
    known = [
        SimpleNamespace(name=f"Width {n}", decision="cannot be judged", reason=why)
        for n in range(5)
    ]
    known += [SimpleNamespace(name="Gap", decision="does not meet", reason="Ppk 0.90 < 1.33")]
    known += [SimpleNamespace(name="Burr", decision="meets", reason="")]
    monkeypatch.setattr("linestudy.dossier.content.sheet.sheets", lambda _: known)
    monkeypatch.setattr(
        "linestudy.dossier.content.cautions.destinations.for_the_author", lambda _: ()
    )
    evaluation: Any = None
    assert reasons(evaluation) == (
        f"Width 0 and 4 others: cannot be judged: {why}",
        "Gap: does not meet: Ppk 0.90 < 1.33",
        "",
    )
    del known[2:5]
    assert reasons(evaluation)[0] == f"Width 0 and Width 1: cannot be judged: {why}"
