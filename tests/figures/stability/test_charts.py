"""Pictures of charts: every point, limits at their values, what signals is marked, no extreme of thousands lost."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from drawn import dots, drawn, limit_lines

from linestudy.figures.stability import charts
from linestudy.stability import control_chart
from linestudy.stability.charts.chart_study import Course

Y = np.random.default_rng(1).normal(5.0, 0.1, 150)
LABELS = np.repeat(np.arange(30), 5)


def marked(axes: Any, marker: str = "o") -> list[tuple[float, float]]:
    """Points with an open mark."""
    rings = [
        line
        for line in axes.lines
        if line.get_markerfacecolor() == "none" and line.get_marker() == marker
    ]
    return [tuple(map(float, point)) for line in rings for point in line.get_xydata()]


def test_every_subgroup_is_a_dot_and_the_jolt_is_marked() -> None:
    y = Y.copy()
    y[50:55] += 0.6
    study = control_chart(y, LABELS, unit="mm")
    axes = drawn(charts.control_chart, study)
    points = dots(axes)
    for order, mean in zip(study.points.order, study.points.value, strict=True):
        assert [order, mean] in points.tolist()
    assert (51.0, pytest.approx(float(y[50:55].mean()))) in marked(axes)
    lines = limit_lines(axes)
    assert (lines["LCL"], lines["UCL"]) == pytest.approx(study.limits)
    assert lines["CL"] == pytest.approx(study.centre)
    assert axes.get_ylabel() == "subgroup mean (mm)"
    assert axes.get_xlabel() == "order number of the subgroup's first part"


def test_a_run_of_nine_has_another_mark_than_a_point_beyond() -> None:
    y = np.r_[np.tile([1.0, -1.0], 15), np.full(9, 0.5)]
    axes = drawn(charts.control_chart, control_chart(y, rules=("beyond", "run of 9")))
    assert marked(axes, "s") == [(39.0, 0.5)]
    assert marked(axes, "o") == []
    assert axes.get_xlabel() == "part, in order of production"
    assert axes.get_ylabel() == "value"


def test_events_inside_the_stretch_are_named_and_others_not() -> None:
    study = control_chart(Y, LABELS)
    axes = drawn(
        charts.control_chart, study, events=((40.0, "regrind"), (900.0, "later")), span=(20.0, 80.0)
    )
    assert limit_lines(axes)["regrind"] == 40.0
    assert "later" not in limit_lines(axes)
    x = dots(axes)[:, 0]
    assert x.min() >= 20
    assert x.max() <= 80


def test_phases_have_centres_of_their_own_and_no_common_lines() -> None:
    y = np.r_[np.tile([0.0, 1.0], 20), np.tile([10.0, 11.0], 20)]
    axes = drawn(charts.control_chart, control_chart(y, phases=(40.5,)))
    assert "UCL" not in limit_lines(axes)
    levels = {
        round(float(v), 6)
        for line in axes.lines
        for v in line.get_ydata()
        if len(line.get_ydata()) == 80
    }
    assert {0.5, 10.5} <= levels


def test_no_extreme_of_ten_thousand_points_is_lost() -> None:
    value = np.zeros(10_000)
    value[[123, 9_876]] = [9.0, -8.0]
    study = SimpleNamespace(
        points=Course("mean", np.arange(10_000.0), value, np.full(10_000, -3.0), np.full(10_000, 3.0)),
        signals=(), phases=(1,), centre=0.0, limits=(-3.0, 3.0), chart="mean and range", unit="",
    )  # fmt: skip
    axes = drawn(charts.control_chart, study)
    heights = np.concatenate(
        [path.vertices[:, 1] for c in axes.collections for path in c.get_paths()]
    )
    assert heights.max() == 9.0
    assert heights.min() == -8.0
    assert sorted(marked(axes)) == [(123.0, 9.0), (9876.0, -8.0)]


def test_the_spread_begins_at_nought_with_its_own_limits() -> None:
    study = control_chart(Y, LABELS, kind="mean and range", unit="mm")
    axes = drawn(charts.spread_chart, study)
    out = study.spread_points.out
    assert dots(axes)[:, 1] == pytest.approx(
        np.r_[study.spread_points.value, study.spread_points.value[out]]
    )
    assert [y for _, y in marked(axes)] == pytest.approx(study.spread_points.value[out])
    assert axes.get_ylim()[0] == 0
    assert axes.get_ylabel() == "range (mm)"


def test_a_group_chart_marks_the_largest_and_the_smallest_that_lie_out() -> None:
    study = SimpleNamespace(
        order=np.array([1.0, 6.0, 11.0]), low=np.array([-1.0, -4.0, -1.0]), high=np.array([1.0, 1.0, 5.0]),
        limits=(-3.0, 3.0), unit="mm",
    )  # fmt: skip
    axes = drawn(charts.group_chart_extremes, study)
    assert sorted(marked(axes)) == [(6.0, -4.0), (11.0, 5.0)]
    assert limit_lines(axes) == {"limit of the largest": 3.0, "limit of the smallest": -3.0}


def test_residuals_have_a_limit_on_either_side() -> None:
    points = Course(
        "residual", np.arange(3.0), np.array([0.0, 5.0, -1.0]), np.full(3, -3.0), np.full(3, 3.0)
    )
    axes = drawn(charts.residual_chart, SimpleNamespace(points=points, unit="mm"))
    assert limit_lines(axes)["three standard deviations"] == 3.0
    assert -3.0 in [line.get_ydata()[0] for line in axes.lines]
    assert marked(axes) == [(1.0, 5.0)]


def test_rates_begin_at_nought() -> None:
    points = Course(
        "nonconforming parts",
        np.arange(3.0),
        np.array([0.02, 0.03, 0.2]),
        np.zeros(3),
        np.full(3, 0.1),
    )
    axes = drawn(charts.attribute_chart, SimpleNamespace(points=points, centre=0.03))
    assert axes.get_ylim()[0] == 0
    assert limit_lines(axes) == {"CL": 0.03}
    assert axes.get_ylabel() == "nonconforming parts"
    assert marked(axes) == [(2.0, 0.2)]


def test_both_sides_of_a_cusum_are_drawn_and_the_one_beyond_is_marked() -> None:
    path = SimpleNamespace(
        order=np.arange(3.0),
        limit=4.0,
        upper=np.array([0.0, 1.0, 5.0]),
        lower=np.array([0.0, -4.5, -1.0]),
    )
    signals = [SimpleNamespace(order=1.0), SimpleNamespace(order=2.0)]
    axes = drawn(
        charts.small_shift_chart, SimpleNamespace(path=path, signals=signals, chart="CUSUM")
    )
    assert sorted(marked(axes)) == [(1.0, -4.5), (2.0, 5.0)]
    assert limit_lines(axes)["limit"] == 4.0
    assert axes.get_ylabel() == "CUSUM (standard errors)"
