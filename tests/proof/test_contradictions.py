"""Every manipulation is visible or stops the claim; honest records are left in peace; what is found how often.

A part of the honest campaign again each time; all manipulations of the helpers through whole folders.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from beside import load
from later_manipulations import LATER
from line_study import honest, sheet
from manipulations import ALL

from linestudy import evaluate

HERE = Path(__file__).parent


def campaign() -> ModuleType:
    return load("linestudy_contradictions", HERE / "contradictions.py")


@pytest.fixture(scope="module")
def before(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = honest().write(tmp_path_factory.mktemp("honest") / "study")
    return sheet(evaluate(folder, progress=lambda stage: None))


@pytest.mark.proof
@pytest.mark.parametrize("one", [*ALL, *LATER], ids=lambda one: one.name)
def test_every_manipulation_leaves_its_trace(one: Any, before: str, tmp_path: Path) -> None:
    after = sheet(evaluate(one.done().write(tmp_path / "study"), progress=lambda stage: None))
    assert one.seen(before, after), after


@pytest.mark.proof
def test_honest_records_are_left_in_peace() -> None:
    module = campaign()
    kept = json.loads(module.KEPT.read_text(encoding="utf-8"))["honest"]
    assert kept["runs"] >= 1000
    assert kept["alarms"] <= 0.01 * kept["runs"]
    again = module.honest(132, begin=100_000)
    # A share of one per cent, three standard errors.
    assert again["alarms"] <= 0.01 * 132 + 3 * math.sqrt(0.01 * 132), again


@pytest.mark.proof
def test_the_report_is_written_from_what_is_kept() -> None:
    module = campaign()
    kept = json.loads(module.KEPT.read_text(encoding="utf-8"))
    assert module.REPORT.read_text(encoding="utf-8") == module.text(kept)
