"""Simulated decisions: truths against simulation, cells that go on, and a report that says what was measured."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from beside import load

from linestudy.simulate.operating import INDICES, truths

PROOF = Path(__file__).parents[1] / "proof"


def test_the_report_says_what_the_cells_hold() -> None:
    module = load("linestudy_operating", PROOF / "operating.py")
    cells = json.loads(module.KEPT.read_text(encoding="utf-8"))
    assert module.REPORT.read_text(encoding="utf-8") == module.text(cells)
    assert {cell["truth"] for cell in cells} <= set(truths())
    assert all(len(cell["meets_estimate"]) == len(INDICES) for cell in cells)
    assert "What was asked and is not met" in module.text(cells)


@pytest.mark.parametrize(
    ("measured", "way", "limit", "expected"),
    [
        (0.04, "at most", 0.05, "met"),
        (0.2, "at most", 0.05, "not met"),
        (0.07, "at most", 0.05, "not met, within its error"),
        (0.95, "at least", 0.9, "met"),
        (0.5, "at least", 0.9, "not met"),
    ],
)
def test_how_a_figure_is_judged(measured: float, way: str, limit: float, expected: str) -> None:
    module = load("linestudy_operating", PROOF / "operating.py")
    assert module.judged(measured, way, limit, 100) == expected
