"""Cells of simulated studies: continued where they stopped, the same again, refusals counted, one real study judged."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linestudy.simulate.operating.grid import (
    INDICES,
    Cell,
    adequate_gauge,
    run_grid,
    simulate_cell,
)
from linestudy.simulate.operating.truth import Truth

SEEN: list[float] = []


def still(r: Any, strokes: Any) -> tuple[Any, dict[str, Any]]:
    """Values that never differ: no study can be judged, and each costs nothing."""
    SEEN.append(float(r.random()))
    return np.zeros(strokes.size), {}


STILL = Truth("still", still, (-3.0, 0.0, 3.0))


def test_a_cell_that_was_stopped_goes_on_and_a_longer_one_begins_with_the_shorter(
    tmp_path: Path,
) -> None:
    SEEN.clear()
    simulate_cell(STILL, 30, 10)
    whole = SEEN.copy()
    SEEN.clear()
    part = simulate_cell(STILL, 30, 4)
    assert simulate_cell(STILL, 30, 10, part).runs == 10
    assert whole == SEEN
    assert len(set(whole)) == 10
    assert part.refused == 10
    assert part.meets_estimate == [0] * len(INDICES)


def test_cells_are_kept_and_those_of_another_process_are_not_continued(tmp_path: Path) -> None:
    first = run_grid({"still": STILL}, {30: 3}, tmp_path)
    SEEN.clear()
    again = run_grid({"still": STILL}, {30: 3}, tmp_path)
    assert again == first
    assert SEEN == []
    run_grid({"still": STILL}, {30: 5}, tmp_path)
    assert len(SEEN) == 2
    (file,) = tmp_path.glob("*.json")
    assert Cell(**json.loads(file.read_text())).runs == 5
    renamed = Truth("other", still, (-3.0, 0.0, 3.0))
    SEEN.clear()
    assert run_grid({"other": renamed}, {30: 2}, tmp_path)[0].truth == "other"
    assert len(SEEN) == 2


def test_no_cell_is_begun_when_the_time_is_over(tmp_path: Path) -> None:
    assert run_grid({"still": STILL}, {30: 3}, tmp_path, seconds=0.0)[0].runs == 0


def test_one_study_of_a_normal_process_is_judged_at_every_index() -> None:
    normal = Truth("normal", lambda r, s: (r.standard_normal(s.size), {}), (-3.0, 0.0, 3.0))
    cell = simulate_cell(normal, 125, 2)
    assert cell.runs == 2
    assert cell.refused == 0
    # The wider the limits, the more studies meet; by the bound never more than by the estimate.
    for counts in (cell.index_estimate, cell.index_bound, cell.meets_estimate):
        assert counts == sorted(counts)
    assert all(b <= e for b, e in zip(cell.index_bound, cell.index_estimate, strict=True))
    assert cell.index_estimate[0] == 0  # 1.20 where 1.67 is asked
    assert cell.index_estimate[-1] == 2
    assert all(m <= e for m, e in zip(cell.meets_estimate, cell.index_estimate, strict=True))
    assert all(o + m <= 2 for o, m in zip(cell.objected, cell.meets_estimate, strict=True))


def test_the_gauge_is_one_that_nobody_objects_to() -> None:
    gauge = adequate_gauge(0.1)
    assert gauge.share.high <= 0.10
    assert gauge.ndc.low >= 5
    assert gauge.bias["the upper limit"].high == pytest.approx(0.001)
    assert gauge.width == 0.1
