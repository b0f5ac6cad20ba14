"""Resolution: the step by construction, Sheppard's correction by simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.gauges import apparent_step, resolution_study
from linestudy.results import Absent, CannotJudge, Interval


@given(
    st.sampled_from([1.0, 0.5, 0.2, 0.1, 0.05, 0.01, 0.001, 0.0127, 1 / 3, 25.4e-4]),
    st.integers(0, 1000),
    st.floats(-100, 100),
)
def test_the_step_is_found_whatever_it_is(step: float, seed: int, zero: float) -> None:
    rng = np.random.default_rng(seed)
    values = zero + step * rng.integers(0, 30, 60)
    found = apparent_step(values)
    # Sixty readings over thirty steps show neighbours; a coarser divisor has no chance.
    assert found == pytest.approx(step, rel=1e-6)


def test_a_large_offset_costs_nothing() -> None:
    values = 1e6 + 0.001 * np.random.default_rng(2).integers(0, 40, 100)
    assert apparent_step(values) == pytest.approx(0.001, rel=1e-4)


def test_readings_that_show_no_step() -> None:
    values = np.random.default_rng(3).normal(0, 1, 50)
    assert apparent_step(values) == 0.0
    with pytest.raises(CannotJudge, match="no common step"):
        resolution_study(values)


def test_mixed_steps_show_the_finest() -> None:
    assert apparent_step([0.0, 0.5, 1.0, 1.02, 2.5]) == pytest.approx(0.02)


@pytest.mark.parametrize("wide", [0.5, 1.0, 2.0])
def test_sheppards_correction_by_simulation(wide: float) -> None:
    # Truth one; the step is `wide` standard deviations.
    rng = np.random.default_rng(5)
    raw = rng.normal(0.37, 1.0, 200_000)
    rounded = np.round(raw / wide) * wide
    study = resolution_study(
        rounded, repeat_sd=float(rounded.std(ddof=1)), repeat_df=rounded.size - 1
    )
    assert isinstance(study.corrected_sd, Interval)
    assert study.corrected_sd.estimate == pytest.approx(1.0, abs=0.012)
    # At exactly two standard deviations either answer is right.
    assert not study.suspect or wide == 2.0


def test_a_step_too_wide_is_called_suspect() -> None:
    rng = np.random.default_rng(6)
    rounded = np.round(rng.normal(0.1, 0.2, 60))
    rounded[0] = 1.0
    study = resolution_study(rounded, repeat_sd=float(rounded.std(ddof=1)), repeat_df=59)
    assert study.suspect
    assert any("suspect" in note for note in study.cautions)
    assert isinstance(study.corrected_sd, Absent) or study.corrected_sd.estimate < 0.5


def test_shares_and_categories() -> None:
    rng = np.random.default_rng(7)
    run = np.round(rng.normal(10, 0.02, 3000), 3)
    study = resolution_study(run, tolerance=0.2, process=run, declared=0.001)
    assert study.share_of_tolerance == pytest.approx(0.005)
    assert study.categories == pytest.approx(6 * run.std(ddof=1) / 0.001)
    assert study.rounding_sd == pytest.approx(0.001 / math.sqrt(12))
    assert study.digit_p is not None
    assert study.digit_p > 0.001


def test_a_preferred_digit_is_found_whatever_the_shape() -> None:
    rng = np.random.default_rng(8)
    fair = np.round(np.abs(rng.normal(0, 0.02, 20_000)), 3)
    assert resolution_study(fair, process=fair).digit_p > 1e-4
    lazy = fair.copy()
    some = rng.random(fair.size) < 0.15
    lazy[some] = np.round(lazy[some] / 0.005) * 0.005
    study = resolution_study(lazy, process=lazy)
    assert study.digit_p < 1e-6
    assert any("preferred" in note for note in study.cautions)


def test_another_resolution_than_declared_is_said() -> None:
    values = np.round(np.random.default_rng(9).normal(0, 1, 100), 1)
    assert any("rounded on the way" in n for n in resolution_study(values, declared=0.01).cautions)
    assert any("recorded finer" in n for n in resolution_study(values, declared=0.5).cautions)


def test_the_picture_says_what_it_shows() -> None:
    values = np.round(np.random.default_rng(9).normal(0, 1, 100), 1)
    assert resolution_study(values, tolerance=5.0).figure().alt_text.startswith("Resolution")
