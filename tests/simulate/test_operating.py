"""Simulated decisions: truths against simulation, cells that go on, and a report that says what was measured."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from beside import load

from linestudy.simulate.operating import INDICES, Cell, run_grid, simulate_cell, truths

PROOF = Path(__file__).parents[1] / "proof"
#: Their long-run distribution needs more coils than a test draws.
SLOW = ("coil levels", "named", "AR(1), 0.98")


@pytest.mark.parametrize(
    "name", [name for name in truths() if not any(word in name for word in SLOW)]
)
def test_quantiles_are_those_of_the_process(name: str) -> None:
    truth = truths()[name]
    drawn = np.sort(truth.draw(np.random.default_rng(1), np.arange(200_000))[0])
    for share, value in zip((0.00135, 0.5, 0.99865), truth.quantiles, strict=True):
        # Share of the draws below the quantile, within four standard errors and a step of readings.
        below = np.searchsorted(drawn, value + 1e-9, "right") / drawn.size
        under = np.searchsorted(drawn, value - 1e-9, "left") / drawn.size
        if "steps" in name:
            below, under = below + 0.25, under - 0.25
        slack = 4 * np.sqrt(share * (1 - share) / drawn.size) * (4 if "AR" in name else 1)
        assert under - slack <= share <= below + slack


def test_a_limit_is_where_the_true_index_says() -> None:
    lower, upper = truths()["normal"].limits(1.5)
    assert upper == pytest.approx(4.5, rel=1e-4)
    assert lower == pytest.approx(-4.5, rel=1e-4)
    # Worst of two stations 4 apart, both sides as tight: 2 + 2 + 3 * 1.5.
    lower, upper = truths()["2 stations 4 SD apart, named"].limits(1.5)
    assert upper - lower == pytest.approx(2 * (2 + 4.5))
    assert truths()["half-normal, bound"].limits(1.5)[0] is None


def test_a_cell_that_was_stopped_goes_on_where_it_stopped(tmp_path: Path) -> None:
    truth = truths()["t, 4 df"]
    whole = simulate_cell(truth, 125, 6)
    part = simulate_cell(truth, 125, 2)
    assert simulate_cell(truth, 125, 6, part).__dict__ == whole.__dict__
    few = {"t, 4 df": truth}
    run_grid(few, {125: 2}, tmp_path)
    found = run_grid(few, {125: 6}, tmp_path)
    assert found[0].__dict__ == whole.__dict__
    assert Cell(**json.loads(next(tmp_path.glob("*.json")).read_text())) == found[0]


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
