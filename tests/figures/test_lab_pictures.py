"""Pictures of the labs keep their axes, and what is out of control is told by its shape."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from linestudy.figures.lab_pictures import curves, run_with_limits, two_groups


def test_axes_stay_where_they_are_and_diamonds_are_out() -> None:
    axes = Figure().subplots()
    points = np.array([0.0, 1.0, 4.0])
    run_with_limits("t", points, points > 3, {"UCL": 3.0}, (-6.0, 6.0), "part", ax=axes)
    assert axes.get_ylim() == (-6.0, 6.0)
    assert axes.get_xlabel() == "part"
    marked = {
        line.get_marker(): line.get_xdata().tolist()
        for line in axes.lines
        if line.get_marker() in "oD"
    }
    assert marked == {"o": [1, 2], "D": [3]}


def test_the_mark_lies_on_the_curve() -> None:
    axes = Figure().subplots()
    x = np.array([1.0, 10.0, 100.0])
    curves("t", x, {"a": x, "b": 2 * x}, 10.0, ("x", "y"), (0.1, 1e3), "xy", ax=axes)
    assert axes.get_xscale() == axes.get_yscale() == "log"
    dots = [line.get_ydata()[0] for line in axes.lines if line.get_marker() == "o"]
    assert dots == [10.0, 20.0]


def test_groups_are_told_apart_without_colour() -> None:
    axes = Figure().subplots()
    two_groups(
        "t", {"a": np.arange(9.0), "b": np.arange(5.0)}, {"truth": 2.0}, "Ppk", "studies", ax=axes
    )
    assert len({str(patch.get_linestyle()) for patch in axes.patches}) == 2
    assert axes.get_ylabel() == "studies"
