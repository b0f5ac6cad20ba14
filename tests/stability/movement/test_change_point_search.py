"""Change points on runs of known truth."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.results import CannotJudge
from linestudy.simulate.process import Process, run
from linestudy.stability import (
    change_points,
)
from linestudy.stability.movement.change_point_search import _position_reach


def test_position_quantiles() -> None:
    # Bai 1997: 7.7 and 11.0 hold 90 and 95 percent (rounded up to 7 and 11 in applied use).
    assert _position_reach(0.90) == pytest.approx(7.687, abs=2e-3)
    assert _position_reach(0.95) == pytest.approx(11.033, abs=2e-3)


def test_steps_of_coils_and_their_events() -> None:
    line = Process(0.6, 0.01, coil_sd=0.004)
    table = run(line, 20_000, seed=11, coil_length=5000)
    events = [(5001.0, "coil change"), (10_001.0, "coil change"), (15_001.0, "coil change")]
    study = change_points(table["value"], table["order"], events=events)
    truth = table.groupby("coil", sort=False)["value"].mean().diff().dropna().to_numpy()
    visible = (np.abs(truth) > 0.0015).sum()
    assert study.n_significant >= visible
    for step in study.change_points:
        assert step.event == "coil change"
    assert not study.shown().empty
    assert study.figure().alt_text == study.alt_text


def test_regrind_found_without_being_named() -> None:
    line = Process(2.795, 0.0068, wear_per_thousand=0.00042, regrinds=(20_000,))
    table = run(line, 31_000, seed=6)
    study = change_points(table["value"], table["order"])
    assert study.sloped
    assert study.n_significant == 1
    assert 20_000 in study.change_points[0].at
    assert -0.0084 in study.change_points[0].size


def test_wear_taken_out_first_leaves_steps() -> None:
    line = Process(0.45, 0.015, serial=0.8, wear_per_thousand=0.001, regrinds=(9000, 18_000))
    table = run(line, 27_000, seed=7)
    study = change_points(table["value"], table["order"], slope_per_thousand=0.001)
    assert study.n_significant == 2
    assert 9000 in study.change_points[0].at
    assert 18_000 in study.change_points[1].at


def test_nothing_to_find() -> None:
    study = change_points(np.random.default_rng(8).normal(size=5000))
    assert study.n_significant == 0
    assert "No significant mean shift" in study.statement
    for bad in (
        np.ones(100),
        np.arange(10.0),
        np.cumsum(np.random.default_rng(9).normal(size=200)),
    ):
        with pytest.raises(CannotJudge):
            change_points(bad)
