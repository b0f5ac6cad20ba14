"""Conformity risk of a gauge on a process: guard band, intervals, what cannot be judged."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy import stats

from linestudy.gauges import conformity_risk, global_risks
from linestudy.gauges.budget.verdict_shares import TrueValues
from linestudy.results import Absent, CannotJudge, Interval

SD = Interval(0.3, 0.25, 0.4, 0.95, "chi-square")


def test_the_guard_band_reaches_the_risk_target() -> None:
    seen = stats.norm(0, 1.05)
    study = conformity_risk(seen.pdf, 0, 1.05, SD, -3.0, 3.0, risk_target=1e-5)
    assert isinstance(study.guard_band, Interval)
    true = TrueValues(seen.pdf, 0, 1.05, 0.3)
    reached, cost = global_risks(true, 0.3, -3.0, 3.0, guard_band=study.guard_band.estimate)
    assert reached[0] == pytest.approx(1e-5, rel=0.03)
    assert cost[0] == pytest.approx(study.cost, rel=1e-9)
    assert study.p_rejected.estimate == pytest.approx(2 * stats.norm.sf(3 / 1.05), rel=1e-3)


def test_intervals_hold_the_truth_they_were_drawn_from() -> None:
    rng = np.random.default_rng(1)
    draws = [
        (stats.norm(0, s).pdf, 0.0, s, g) for s, g in rng.uniform((1, 0.2), (1.1, 0.4), (80, 2))
    ]
    study = conformity_risk(stats.norm(0, 1.05).pdf, 0, 1.05, SD, -3.0, 3.0, truths=draws)
    assert study.false_accept.low < study.false_accept.estimate < study.false_accept.high
    alone = conformity_risk(stats.norm(0, 1.05).pdf, 0, 1.05, SD, -3.0, 3.0)
    assert any("do not hold" in note for note in alone.cautions)


def test_a_gauge_as_wide_as_the_readings_cannot_be_judged() -> None:
    with pytest.raises(CannotJudge, match="nothing is left"):
        conformity_risk(stats.norm(0, 0.3).pdf, 0, 0.3, SD, -1, 1)
    with pytest.raises(CannotJudge, match="Without a limit"):
        global_risks(stats.norm(0, 1).pdf, 0.1, None, None)


def test_a_rate_out_of_reach_is_said() -> None:
    study = conformity_risk(stats.norm(2.9, 1.05).pdf, 2.9, 1.05, SD, -3.0, 3.0, risk_target=1e-12)
    assert isinstance(study.guard_band, Absent)
    assert "No guard band" in study.statement


@pytest.mark.parametrize(
    ("at", "narrow", "weight", "sd"),
    [(3.4105, 0.011495, 0.0080359, 0.4053954), (3.33468, 0.00163253, 0.00653613, 0.16804273)],
)
def test_a_density_with_a_narrow_part_has_a_guard_band_too(
    at: float, narrow: float, weight: float, sd: float
) -> None:
    def density(y: Any) -> Any:
        return (1 - weight) * stats.norm.pdf(y) + weight * stats.norm.pdf(y, at, narrow)

    gauge = Interval(sd, 0.9 * sd, 1.1 * sd, 0.95, "example")
    found = conformity_risk(density, 0.0, 1.0, gauge, -3.0, 3.0, risk_target=1e-5)
    assert isinstance(found.guard_band, Interval)
    assert found.guard_band.estimate > 0


def test_the_picture_and_the_table() -> None:
    study = conformity_risk(stats.norm(0, 1.05).pdf, 0, 1.05, SD, -3.0, 3.0, unit="mm")
    assert study.figure().alt_text.startswith("Risk of a wrong verdict")
    assert list(study.table()["unit"]) == ["ppm"] * 4 + ["mm"]
