"""Indices against criteria: a mark for each decision, bars at the bounds, criteria at their values."""

from __future__ import annotations

import numpy as np
import pytest
from drawn import drawn, legend

from linestudy.figures.verdict import indices_against_criteria
from linestudy.results import Interval

ROWS = {
    "Width": ("Ppk", Interval(1.9, 1.7, 2.1, 0.95, "test"), "meets"),
    "Gap": ("Ppk", Interval(1.5, 1.4, 1.6, 0.95, "test"), "customer approval required"),
    "Flatness": ("Ppk", Interval(0.2, -0.4, 0.5, 0.95, "test"), "does not meet"),
}


def test_every_characteristic_has_its_row_and_the_mark_of_its_decision() -> None:
    axes = drawn(indices_against_criteria, ROWS, {"required": 1.67, "least": 1.33})
    assert [t.get_text() for t in axes.get_yticklabels()] == [
        "Width (Ppk)",
        "Gap (Ppk)",
        "Flatness (Ppk)",
    ]
    marks = {}
    for line in axes.lines:
        if line.get_marker() not in ("None", "", None):
            for x in np.atleast_1d(line.get_xdata()):
                marks[float(x)] = line.get_marker()
    assert len(set(marks.values())) == 3
    assert {1.9, 1.5, 0.2} <= set(marks)
    # Only decisions that occur are explained.
    assert legend(axes) == ["meets", "customer approval required", "does not meet"]


def test_criteria_stand_at_their_values_the_lower_one_labelled_on_its_left() -> None:
    axes = drawn(indices_against_criteria, ROWS, {"required": 1.67, "least": 1.33})
    sides = {
        t.get_text().strip(): (t.xy[0], t.get_ha()) for t in axes.texts if t.get_text().strip()
    }
    assert sides == {"least": (1.33, "right"), "required": (1.67, "left")}
    upright = [
        float(line.get_xdata()[0]) for line in axes.lines if list(line.get_ydata()) == [0, 1]
    ]
    assert sorted(upright) == [1.33, 1.67]


def test_an_index_below_nought_is_seen_and_nought_is_always_on_the_axis() -> None:
    assert drawn(indices_against_criteria, ROWS, {"required": 1.67}).get_xlim()[0] <= -0.4
    good = {"Width": ROWS["Width"]}
    assert drawn(indices_against_criteria, good, {"required": 1.67}).get_xlim()[0] == pytest.approx(
        0.0
    )
