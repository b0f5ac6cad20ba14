"""Honest plants of known truth as whole folders: who is good is not denied by a rule, who is bad does not meet.

A few folders each time, all that the report counts with LINESTUDY_FULL=1.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from types import ModuleType

import pytest
from beside import load
from honest_plants import decided, plant

from linestudy import evaluate

pytestmark = pytest.mark.proof

HERE = Path(__file__).parent
FULL = bool(os.environ.get("LINESTUDY_FULL"))


@pytest.fixture(scope="module")
def campaign() -> ModuleType:
    return load("linestudy_plants", HERE / "plants.py")


def test_decisions_on_honest_plants(campaign: ModuleType, tmp_path: Path) -> None:
    # Other plants than those of the report, every fifth so that all levels, plans and shapes come.
    numbers = range(10_000, 10_200) if FULL else range(10_000, 10_120, 5)
    rows = [row for k in numbers for row in campaign.judged(k, tmp_path / f"{k}")]
    by_level = {row["level"]: row for row in campaign.counted(rows)["levels"]}
    good, bad = by_level[2.2], by_level[1.2]
    assert bad["decisions"].get("meets", 0) == 0
    # Of sound studies all rules but the index together object to at most 3 %; binomial, one time in a thousand beyond.
    allowed = 0.03 * good["studies"] + 3.1 * (0.03 * 0.97 * good["studies"]) ** 0.5
    assert good["objected"] <= max(allowed, 1), good
    assert good["decisions"].get("meets", 0) >= 0.6 * good["studies"], good


@pytest.mark.parametrize("number", [0, 14, 23])
def test_what_the_rules_read_alone_gives_the_decision_of_the_whole(
    number: int, tmp_path: Path
) -> None:
    folder = plant(number).write(tmp_path / "study")
    quick, whole = decided(folder), evaluate(folder, progress=lambda stage: None).findings
    for key, verdict in quick.items():
        full = whole.get(key, "verdict")
        assert (verdict.decision, verdict.rulings) == (full.decision, full.rulings)
        assert verdict.conditions == full.conditions


def test_the_report_counts_enough_folders(campaign: ModuleType) -> None:
    kept = json.loads(campaign.KEPT.read_text(encoding="utf-8"))
    assert kept["folders"] >= 150
    bad = kept["levels"][-1]
    assert bad["level"] == 1.2
    assert bad["decisions"].get("meets", 0) == 0
    assert campaign.section() in (HERE / "REPORT.md").read_text(encoding="utf-8")
