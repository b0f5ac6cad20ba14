"""Designs by lots: the chance is that of the verdict's own bound, and lots count more than parts."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.plan import chance_to_show, lot_study_size
from linestudy.results import CannotJudge


def test_lots_show_more_than_parts() -> None:
    found = lot_study_size(
        true_index=1.8, required=1.33, between=0.5, designs=((4, 20), (20, 4)), runs=30, seed=2
    )
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


def test_what_no_study_shows() -> None:
    with pytest.raises(CannotJudge):
        lot_study_size(true_index=1.33, required=1.33)
    with pytest.raises(ValueError, match="lots of a design"):
        lot_study_size(designs=((1, 20),))
