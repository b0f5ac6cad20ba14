"""Operating characteristics of the decision: a part of the grid each time, the whole grid under its own marker.

What is asked: the table of error rates in ``operating.requirement``. Shares may exceed their limit by three
standard errors here, and must agree with the kept cells of the whole grid within Monte Carlo error; where a
figure of the table is not met, OPERATING.md says so and this test holds it to what was measured.
"""

from __future__ import annotations

import json
import math
import os
from pathlib import Path
from types import ModuleType

import pytest
from beside import load

from linestudy.simulate.operating import INDICES, Cell, simulate_cell, truths

HERE = Path(__file__).parent

#: About four minutes of one core together.
AGAIN: dict[int, int] = {125: 120, 1000: 60, 5000: 50}
PROCESSES = (
    "normal",
    "t, 4 df",
    "gamma, shape 4",
    "1.0% outliers of 4 SD",
    "folded t, 4 df, bound",
    "uniform",
    "8 stations, one 2 SD off, named",
    "sawtooth of 4 SD, regrinds named",
    "AR(1), 0.9",
    "one step of 2 SD",
)
COUNTS = ("meets_estimate", "meets_bound", "objected")


def operating() -> ModuleType:
    return load("linestudy_operating", HERE / "operating.py")


def kept() -> dict[tuple[str, int], dict]:
    cells = json.loads(operating().KEPT.read_text(encoding="utf-8"))
    return {(cell["truth"], cell["n"]): cell for cell in cells}


def apart(a: float, runs_a: int, b: float, runs_b: int) -> float:
    """Standard errors between two shares, half a study added on either side."""
    p = (a * runs_a + b * runs_b + 1) / (runs_a + runs_b + 2)
    return abs(a - b) / math.sqrt(p * (1 - p) * (1 / runs_a + 1 / runs_b))


@pytest.mark.proof
@pytest.mark.timeout(1200)
@pytest.mark.parametrize("n", AGAIN)
@pytest.mark.parametrize("name", PROCESSES)
def test_a_part_of_the_grid_again(name: str, n: int) -> None:
    truth = truths()[name]
    # Other studies than those of the kept cells: their numbers begin where the grid's end.
    old = kept()[name, n]
    begun = Cell(name, n, runs=100_000)
    cell = simulate_cell(truth, n, 100_000 + AGAIN[n], begun)
    cell.runs = AGAIN[n]
    for key in COUNTS:
        for index, new, before in zip(INDICES, getattr(cell, key), old[key], strict=True):
            far = apart(new / cell.runs, cell.runs, before / old["runs"], old["runs"])
            assert far < 4.5, f"{key} at {index}: {new} of {cell.runs}, {before} of {old['runs']}"
    module = operating()
    for what, value, way, limit in module.requirement(
        cell.__dict__, truth.kind, truth.in_control, truth.bound is not None
    ):
        error = math.sqrt(max(limit * (1 - limit), 1e-4) / cell.runs)
        over = value - limit if way == "at most" else limit - value
        known = module.requirement(old, truth.kind, truth.in_control, truth.bound is not None)
        share = next(item[1] for item in known if item[0] == what)
        met = module.judged(share, way, limit, old["runs"]) == "met"
        assert not met or over < 3 * error, f"{what}: {value:.3f}, {way} {limit}"


@pytest.mark.operating_characteristics
@pytest.mark.timeout(0)
def test_the_whole_grid() -> None:
    """Simulate everything (hours; it goes on where it stopped) and write the report."""
    module = operating()
    folder = Path(os.environ.get("LINESTUDY_OPERATING", HERE / "report" / "operating" / "running"))
    module.simulate(folder)
    module.write(folder)
    assert module.REPORT.is_file()
