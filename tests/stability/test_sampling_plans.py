"""Sampling plans by hand and by simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm

from linestudy.results import CannotJudge
from linestudy.stability import sampling_plan


def test_a_plan_by_hand() -> None:
    study = sampling_plan(1.0, 1.0, minutes_to_signal=60.0, subgroup_sizes=(4,))
    power = norm.sf(3 - 2) + norm.cdf(-3 - 2)
    assert study.options[0].run_length == pytest.approx(1 / power, rel=1e-9)
    assert study.interval_minutes == pytest.approx(60 / (1 / power - 0.5), rel=1e-9)
    assert study.parts_per_hour == pytest.approx(240 / study.interval_minutes)


def test_time_to_signal_by_simulation() -> None:
    study = sampling_plan(1.2, 1.0, minutes_to_signal=45.0, sd_between=0.3, subgroup_sizes=(5,))
    rng = np.random.default_rng(2)
    h = study.interval_minutes
    wait = rng.uniform(0, h, 20_000)
    error = math.sqrt(0.09 + 0.2)
    p = norm.sf(3 - 1.2 / error) + norm.cdf(-3 - 1.2 / error)
    times = wait + h * (rng.geometric(p, 20_000) - 1)
    assert times.mean() == pytest.approx(45, rel=0.03)


def test_alike_neighbours_argue_for_fewer_of_them() -> None:
    free = sampling_plan(1.0, 1.0, minutes_to_signal=60.0)
    alike = sampling_plan(1.0, 0.3, minutes_to_signal=60.0, sd_between=0.8)
    assert alike.size < free.size
    assert not free.shown().empty
    assert free.figure().alt_text == free.alt_text
    near = sampling_plan(0.3, 1.0, minutes_to_signal=10.0, line_rate=260.0, spacing_minutes=30.0)
    assert any("shorter" in text for text in near.cautions)
    assert any("small shifts" in text for text in near.cautions)


def test_plan_refusals() -> None:
    for shift, sd, minutes in ((0.0, 1.0, 60.0), (1.0, 0.0, 60.0), (1.0, 1.0, 0.0)):
        with pytest.raises(ValueError, match="must be greater than 0"):
            sampling_plan(shift, sd, minutes_to_signal=minutes)
    with pytest.raises(CannotJudge):
        sampling_plan(0.1, 1.0, minutes_to_signal=0.01, line_rate=10.0)
