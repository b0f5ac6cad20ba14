"""Studies made to look better: what the decision sheet says of them. All of them are in the proof."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from line_study import honest, sheet
from manipulations import ALL

from linestudy import evaluate

#: One that stops the claim, and one that only the reader's own records show.
SAMPLE = ("copied with a constant", "coil deleted, all matched")


def evaluated(study: Any, folder: Path) -> Any:
    return evaluate(study.write(folder), progress=lambda stage: None)


@pytest.fixture(scope="module")
def before(tmp_path_factory: pytest.TempPathFactory) -> Any:
    return evaluated(honest(), tmp_path_factory.mktemp("honest") / "study")


@pytest.mark.parametrize(
    "one", [one for one in ALL if one.name in SAMPLE], ids=lambda one: one.name
)
def test_a_manipulation_leaves_its_trace(one: Any, before: Any, tmp_path: Path) -> None:
    after = sheet(evaluated(one.done(), tmp_path / "study"))
    assert one.seen(sheet(before), after), after


def test_the_honest_study_contradicts_nothing(before: Any) -> None:
    for verdict in before.findings.get(None, "verdict").verdicts.values():
        assert not [
            r
            for r in verdict.rulings
            if r.group == "record" and r.effect != "supports" and r.effect != "no evidence"
        ]


def test_what_the_sheet_says_is_recorded(before: Any) -> None:
    results = before.results()
    own = results["characteristics"]["width"]["verdict"]
    assert own["conditions"] == list(before.findings.get("width", "verdict").conditions)
    assert own["facts"]["record"]["coils"] == ["K1", "K2", "K3", "K4"]
    lines = {row["what"]: row["in this study"] for row in results["verdict"]["own_records"]}
    assert lines["coils"] == "4: K1, K2, K3, K4"
    assert lines["bins and purge"].startswith("2,000 accepted")
