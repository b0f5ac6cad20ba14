"""Sample sizes by simulation and by inversion; sheets that hold every combination once."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.numerics.normal_intervals import one_sided_index_interval
from linestudy.plan import chance_to_show, crossed_sheet, sample_size
from linestudy.results import CannotJudge


@pytest.mark.proof
def test_chance_against_simulation() -> None:
    # 400 simulated studies of 60 parts: how often the one-sided 95 % bound exceeds 1.33.
    rng = np.random.default_rng(1)
    shown = 0
    for y in rng.normal(0, 1, (400, 60)):
        distance = 3 * 1.6 - y.mean()
        shown += one_sided_index_interval(distance, y.std(ddof=1), 60, 59, 0.90).low > 1.33
    chance = chance_to_show(60, 1.6, 1.33)
    assert abs(shown / 400 - chance) < 3 * np.sqrt(chance * (1 - chance) / 400)


def test_at_the_required_index_the_chance_is_the_error_rate() -> None:
    assert chance_to_show(50, 1.33, 1.33) == pytest.approx(0.05, abs=1e-9)


def test_the_size_is_the_smallest() -> None:
    n = sample_size(true_index=2.0, required=1.67, family="normal").n
    assert chance_to_show(n, 2.0, 1.67) >= 0.8 > chance_to_show(n - 1, 2.0, 1.67)
    assert sample_size(true_index=2.0, required=1.67).figure().alt_text


def test_what_no_sample_shows_is_said() -> None:
    with pytest.raises(CannotJudge, match="does not exceed"):
        sample_size(true_index=1.5, required=1.67)
    with pytest.raises(CannotJudge, match="More than"):
        sample_size(true_index=1.671, required=1.67, largest=1000)


@given(st.integers(2, 12), st.integers(1, 4), st.integers(2, 4), st.integers(0, 9))
def test_sheets_hold_every_combination_once(
    parts: int, people: int, trials: int, seed: int
) -> None:
    names = tuple("ABCD"[:people])
    sheet = crossed_sheet(parts=parts, appraisers=names, trials=trials, seed=seed)
    assert len(sheet) == parts * people * trials
    assert not sheet.duplicated(["part", "appraiser", "trial"]).any()
    assert sheet["trial"].is_monotonic_increasing
