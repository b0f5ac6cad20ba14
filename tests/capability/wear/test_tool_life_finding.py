"""What a study of tool life says: falls or goes, when to grind, wear over as many strokes as its digits need."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from linestudy.capability.wear.tool_life_finding import Regrind, Sawtooth, ToolLifeStudy
from linestudy.results import Absent, Interval


def interval(estimate: float, half: float = 0.1) -> Interval:
    return Interval(estimate, estimate - half, estimate + half, 0.95, "test")


STUDY = ToolLifeStudy(
    slope_per_thousand=interval(-0.15, 0.01),
    lives=3,
    life=2800.0,
    residual_sd=0.1,
    Ppk_start=interval(2.6),
    Ppk_middle=interval(2.0),
    Ppk_end=interval(1.3),
    Ppk_whole=interval(1.5),
    strokes_to_limit=interval(6000.0, 500.0),
    strokes_to_index=interval(5300.0, 400.0),
    index=1.33,
    start=50.6,
    longest_life=8000.0,
    control_limit=49.4,
    subgroup_size=5,
    regrinds=(
        Regrind(2800.0, 49.8, 50.2, interval(0.4)),
        Regrind(5600.0, 49.8, 50.2, interval(0.41)),
    ),
    found=0,
    gauge_drift=None,
    lower=49.0,
    upper=51.0,
    unit="mm",
    cautions=(),
    shape=Sawtooth(*(np.zeros(1) for _ in range(6)), -0.00015, 0.3),
)


def test_the_next_reset_is_due_after_the_low_end_and_not_after_the_estimate() -> None:
    said = STUDY.statement
    assert "Ppk falls from 2.6" in said
    assert "to 1.3" in said
    assert "after 2,800 strokes" in said
    assert "falls to 1.33 at 5,300 strokes after a reset" in said
    assert "the next is due after 4,900 strokes at the latest" in said
    assert " mm per 1,000 strokes" in said


def test_an_index_that_does_not_fall_is_not_said_to() -> None:
    level = replace(
        STUDY, Ppk_end=interval(2.55), strokes_to_index=Absent("no wear towards a limit")
    )
    assert "Ppk goes from 2.6" in level.statement
    assert "falls" not in level.statement
    assert "grind after" not in level.statement


@pytest.mark.parametrize(
    ("slope", "over", "times"), [(0.15, "1,000 strokes", 1), (0.00004, "100,000 strokes", 100)]
)
def test_wear_is_told_over_strokes_that_leave_it_digits(
    slope: float, over: str, times: int
) -> None:
    study = replace(STUDY, slope_per_thousand=interval(slope, slope / 10))
    row = study._rows()[0]
    assert row.name == f"wear per {over}"
    assert row.value.estimate == pytest.approx(slope * times)
    assert over in study.statement


def test_every_regrind_has_a_row_with_its_step() -> None:
    rows = {row.name: row for row in STUDY._rows()}
    assert rows["step at stroke 2,800"].value.estimate == 0.4
    assert rows["step at stroke 5,600"].unit == "mm"
    assert rows["index of 1.33 reached after"].value is STUDY.strokes_to_index
    assert rows["acceptance control limit, means of 5"].value == 49.4
    assert rows["life"].unit == "strokes"


def test_the_picture_and_the_limits_are_not_recorded() -> None:
    record = STUDY.record()
    assert {"shape", "lower", "upper", "unit"}.isdisjoint(record)
    assert record["regrinds"][1]["at"] == 5600
