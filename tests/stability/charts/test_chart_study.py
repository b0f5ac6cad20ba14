"""What a chart says: points out of control beside those chance gives, its rows, a part of the run, the spread's half."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from linestudy.results import Quantity
from linestudy.stability import control_chart
from linestudy.stability.charts.chart_study import Course


def run(jolt: float = 0.0):
    # Scores of a normal distribution in a mixed order: nothing signals but the jolt.
    y = 5.0 + 0.1 * norm.ppf((np.random.default_rng(3).permutation(200) + 0.5) / 200)
    y[100:105] += jolt
    return control_chart(y, np.repeat(np.arange(40), 5), unit="mm")


def test_the_statement_counts_what_lies_out_and_what_chance_would_give() -> None:
    study = run(jolt=0.4)
    assert [(s.point, s.kind, s.rule) for s in study.signals] == [(21, "mean", "beyond")]
    assert study.statement.startswith("1 of 40 points out of control (0.")
    assert "false alarms expected; mean and standard deviation)" in study.statement
    assert " mm, SD of the values on the chart 0.1" in study.statement


def test_a_point_that_signals_twice_is_one_point() -> None:
    # The second half of a run lies ten deviations higher: every point is out, and a run of nine besides.
    y = np.random.default_rng(1).normal(5.0, 0.1, 200) + np.repeat([0.0, 1.0], 100)
    study = control_chart(y, np.repeat(np.arange(40), 5), rules=("beyond", "run of 9"))
    assert len(study.signals) > 40
    assert study.points_out == 40
    assert study.statement.startswith("40 of 40 points out of control")
    assert {row.name: row for row in study._rows()}["points out of control"].value == 40


def test_the_rows_hold_the_numbers_themselves() -> None:
    study = run()
    rows = {row.name: row for row in study._rows() if isinstance(row, Quantity)}
    assert (rows["LCL"].value, rows["CL"].value, rows["UCL"].value) == (
        study.limits[0],
        study.centre,
        study.limits[1],
    )
    assert rows["within-subgroup SD"].value is study.within
    assert rows["points out of control"].value == 0
    # Three standard errors, both halves within: a false signal in 370 points of the locations.
    assert rows["average run length in control (ARL)"].value == pytest.approx(370.4, abs=0.1)


def test_phases_have_a_row_each_and_one_phase_has_none() -> None:
    y = np.r_[np.tile([0.0, 1.0], 20), np.tile([10.0, 11.0], 20)]
    names = [row.name for row in control_chart(y, phases=(40.5,))._rows()]
    assert names[-2:] == ["centre from order 1 on", "centre from order 41 on"]
    assert not [row for row in control_chart(y)._rows() if row.name.startswith("centre from")]


def course() -> Course:
    order = np.array([1.0, 6.0, 11.0, 16.0])
    value = np.array([0.0, 3.0, -3.0, 3.1])
    return Course("mean", order, value, np.full(4, -3.0), np.full(4, 3.0))


def test_a_point_on_its_limit_is_not_out() -> None:
    assert course().out.tolist() == [False, False, False, True]


def test_a_part_of_the_run_has_its_own_points_ends_included() -> None:
    part = course().within((6.0, 11.0))
    assert part.order.tolist() == [6.0, 11.0]
    assert part.value.tolist() == [3.0, -3.0]
    assert part.low.size == part.high.size == 2
    whole = course()
    assert whole.within(None) is whole


def test_the_other_half_is_drawn_with_its_own_limits() -> None:
    study = run()
    figure = study.spread_figure()
    (ax,) = figure.axes
    assert "standard deviation" in ax.get_ylabel().lower()
    assert figure.alt_text == study.alt_text
    values = ax.lines[0].get_ydata()
    assert values == pytest.approx(study.spread_points.value)
    # The region between the limits is filled up to the upper one.
    top = max(path.vertices[:, 1].max() for c in ax.collections for path in c.get_paths())
    assert top == pytest.approx(study.spread_points.high[0])


def test_the_record_holds_signals_and_no_courses() -> None:
    record = run(jolt=0.4).record()
    assert record["signals"][0]["point"] == 21
    assert "points" not in record
    assert record["expected_by"] == "the same values in random order"  # the jolt is no normal part
    assert run().record()["expected_by"] == "normal parts"
