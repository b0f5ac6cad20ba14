"""Points of a chart: centre of each phase, base period, both halves, and which points signal."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.results import CannotJudge
from linestudy.stability import summarise
from linestudy.stability.charts.chart_points import (
    base_and_phases,
    false_spreads,
    judge_points,
    location_name,
)
from linestudy.stability.charts.chart_study import CONTROL_CHARTS
from linestudy.stability.charts.rules import RULES

SINGLE = "individuals and moving range"
BEYOND = [rule for rule in RULES.values() if rule.key == "beyond"]


def points(y, labels=None, kind="mean and standard deviation", phases=(), base=None, rules=BEYOND):
    groups = summarise(y, labels)
    own, phase = base_and_phases(groups, base, phases)
    return judge_points(groups, kind, own, phase, rules, 3.0)


def test_the_centre_of_each_phase_is_weighted_by_its_parts() -> None:
    y = np.r_[0.0, 2.0, 4.0, 6.0, 8.0, 10.0, 101.0, 103.0]
    labels = [0, 0, 1, 1, 1, 1, 2, 2]
    found = points(y, labels, phases=(6.5,))
    # 0, 2, 4, 6, 8, 10: mean 5, not the mean 4 of the subgroups' means 1 and 7.
    assert found.centres == pytest.approx([5.0, 5.0, 102.0])
    assert found.centre_variance == pytest.approx([1 / 6, 1 / 6, 1 / 2])
    # Limits at three standard errors of a mean of so many.
    assert found.half == pytest.approx(3 * found.within.sd / np.sqrt([2, 4, 2]))


def test_medians_single_values_and_the_chart_between_and_within_are_not_weighted() -> None:
    y = np.r_[0.0, 2.0, 4.0, 6.0, 8.0, 100.0]
    labels = [0, 0, 1, 1, 1, 1]
    assert points(y, labels, "median and range").centres.tolist() == [4.0, 4.0]  # 1 and 7
    between = points(y, labels, "mean between and within")
    assert between.centres.tolist() == [(1 + 29.5) / 2] * 2
    # Its limits come from how far neighbouring means move, 28.5 here, its other half from within.
    assert between.half == pytest.approx(3 * 28.5 / 1.128379, rel=1e-6)
    assert between.spread.what == "standard deviation"


def test_later_points_do_not_set_the_limits_they_are_held_against() -> None:
    y = np.r_[np.tile([1.0, -1.0], 15), 9.0]
    alone = points(y, kind=SINGLE, base=(1, 30))
    assert [s.point for s in alone.signals if s.kind == "value"] == [31]
    assert alone.centres[0] == pytest.approx(0.0, abs=1e-12)
    assert alone.within.sd == pytest.approx(2.0 / 1.128379, rel=1e-6)
    # The signal says where it is and what was charted.
    first = next(s for s in alone.signals if s.kind == "value")
    assert (first.order, first.value, first.rule) == (31.0, 9.0, "beyond")


def test_a_base_of_one_point_and_a_base_beside_phases_are_refused() -> None:
    groups = summarise(np.arange(9.0))
    with pytest.raises(CannotJudge, match="fewer than two points"):
        base_and_phases(groups, (1, 1), ())
    with pytest.raises(ValueError, match="base and phases are both given"):
        base_and_phases(groups, (1, 5), (3.0,))
    own, phase = base_and_phases(groups, (2, 4), ())
    assert own.tolist() == [False, True, True, True] + [False] * 5
    assert phase.tolist() == [0] * 9


def test_phases_are_numbered_without_holes_in_any_order() -> None:
    groups = summarise(np.arange(6.0))
    # A phase that begins before the run, one that begins after it, and two marks in wrong order.
    _, phase = base_and_phases(groups, None, (4.5, 2.5, -3.0, 99.0))
    assert phase.tolist() == [0, 0, 1, 1, 2, 2]


def test_moving_ranges_do_not_straddle_phases() -> None:
    y = np.r_[np.tile([0.0, 1.0], 10), np.tile([50.0, 51.0], 10)]
    found = points(y, kind=SINGLE, phases=(20.5,))
    assert 20 not in found.spread_at
    assert found.spread.value.tolist() == [1.0] * 38
    assert not found.signals
    one = points(y, kind=SINGLE)
    assert [s.point for s in one.signals if s.kind == "moving range"] == [21]


def test_subgroups_of_one_have_no_point_in_the_other_half() -> None:
    y = [1.0, 3.0, 70.0, 2.0, 4.0]
    found = points(y, [0, 0, 1, 2, 2])
    assert found.spread_at.tolist() == [0, 2]
    assert found.spread.order.tolist() == [1.0, 4.0]
    # A signal of the other half bears the number of its subgroup.
    wide = np.tile([0.0, 1.0], 20)
    wide[39] = 30.0
    far = points(np.r_[5.0, wide], np.r_[99, np.repeat(np.arange(20), 2)])
    assert [s.point for s in far.signals if s.kind == "standard deviation"] == [21]


@pytest.mark.parametrize("kind", CONTROL_CHARTS)
def test_each_chart_names_what_it_charts(kind: str) -> None:
    rng = np.random.default_rng(4)
    y, labels = rng.normal(size=60), np.repeat(np.arange(12), 5)
    single = kind == SINGLE
    found = points(y, None if single else labels, kind)
    expected = {"median and range": "median", SINGLE: "value"}.get(kind, "mean")
    assert location_name(kind) == expected
    shown = y if single else y.reshape(12, 5)
    middle = (
        shown if single else (np.median(shown, axis=1) if "median" in kind else shown.mean(axis=1))
    )
    assert found.location == pytest.approx(middle)
    groups = summarise(y, None if single else labels)
    own = np.ones(groups.size, dtype=bool)
    by_chance = false_spreads(found, groups, own, 3.0)
    # Upper limits of a spread are left by 0.3 to 1.5 % of points, less of limits that the points set.
    assert 0.0 < by_chance < 0.02 * groups.size
