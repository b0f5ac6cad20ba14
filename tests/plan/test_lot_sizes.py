"""Designs by lots: what a known normal distribution shows, what is left where the verdict finds it; lots count more than parts."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.plan import chance_to_show, lot_study_size
from linestudy.results import CannotJudge


def test_lots_show_more_than_parts() -> None:
    found = lot_study_size(
        true_index=1.8, required=1.33, between=0.5, designs=((4, 20), (20, 4)), family="normal", runs=30, seed=2
    )  # fmt: skip
    few, many = (item.chance for item in found.designs)
    assert many > few + 0.3
    assert "20 lots of 4" in found.statement
    assert found.figure().alt_text


def test_without_differences_between_lots_it_is_hardly_better_than_many_parts() -> None:
    """Lots that are alike: not more than the same number of independent parts shows (noncentral t)."""
    found = lot_study_size(
        true_index=1.8, required=1.33, between=0.0, designs=((20, 4),), runs=40, seed=3
    )
    ceiling = chance_to_show(80, 1.8, 1.33)
    assert found.designs[0].chance < ceiling + 4 * np.sqrt(0.25 / 40)


#: Lots, parts, share between, studies, and of these those whose bound lay above 1.33 at a true 2.00: normal readings through
#: `linestudy.verdict.decisions.judge`, seeds (5, lots, parts, run). Simulation, no source. The last was no part of the fit.
MEASURED = [
    (20, 5, 0.3, 60, 20),
    (30, 5, 0.3, 60, 43),
    (10, 12, 0.3, 34, 11),
    (30, 10, 0.6, 33, 18),
    (15, 12, 0.4, 60, 22),
]


@pytest.mark.proof
@pytest.mark.parametrize(("lots", "parts", "between", "runs", "above"), MEASURED)
def test_a_plan_promises_what_the_verdict_keeps(
    lots: int, parts: int, between: float, runs: int, above: int
) -> None:
    found = lot_study_size(
        true_index=2.0, required=1.33, between=between, designs=((lots, parts),), runs=300, seed=1
    )
    told = found.designs[0].found
    assert told is not None
    assert abs(told - above / runs) < 3 * np.sqrt(told * (1 - told) * (1 / runs + 1 / 300)) + 0.05


def test_fewer_readings_than_the_verdict_asks_for_show_nothing() -> None:
    found = lot_study_size(designs=((10, 6), (20, 6)), runs=20, seed=1)
    few, enough = found.designs
    assert few.found == few.decisive == 0.0 < few.chance
    assert enough.found is not None
    assert 0 < enough.found <= enough.chance
    assert any("at least 100 of them" in each for each in found.cautions)
    known = lot_study_size(designs=((10, 6),), family="normal", runs=20, seed=1).designs[0]
    assert known.found is None
    assert known.decisive == known.chance == few.chance


def test_what_no_study_shows() -> None:
    with pytest.raises(CannotJudge):
        lot_study_size(true_index=1.33, required=1.33)
    with pytest.raises(ValueError, match="lots of a design"):
        lot_study_size(designs=((1, 20),))
