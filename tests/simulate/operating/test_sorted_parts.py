"""Cells of sorted parts: a study of known truth, once."""

from __future__ import annotations

import pytest

from linestudy.simulate.operating import truths
from linestudy.simulate.operating.sorted_parts import SortedCell, simulate_sorted


@pytest.mark.proof
def test_one_study_of_sorted_parts() -> None:
    cell = simulate_sorted(truths()["Laplace"], SortedCell("Laplace", 2000, 0.8), 1)
    assert cell.runs == 1
    assert cell.meets == 0
    assert cell.claimed == 1
    assert cell.covered == 1
