"""Pictures of a run: every extreme is drawn, lettering stays text and is large enough to read."""

from __future__ import annotations

import re

import numpy as np
import pytest

from linestudy.figures.report.process import (
    Run,
    location_and_spread,
    order_within_stroke,
    values_over_the_run,
)
from linestudy.stability import control_chart

Y = np.round(np.random.default_rng(1).normal(5.0, 0.01, 9000), 3)
ORDER = np.arange(1.0, 9001)


def _sizes(svg: str) -> list[float]:
    return [
        float(size)
        for size in re.findall(r"font-size: ([\d.]+)px|font: ([\d.]+)px", svg)
        for size in size
        if size
    ]


def test_extremes_are_among_the_dots_and_the_size_is_that_of_print() -> None:
    y = Y.copy()
    y[4321] = 5.09
    run = Run(
        ORDER,
        y,
        np.where(ORDER % 2, "left", "right"),
        np.repeat(["a", "b", "c"], 3000),
        4.9,
        5.1,
        5.0,
        "mm",
    )
    figure = values_over_the_run(run)
    drawn = np.concatenate(
        [line.get_ydata() for line in figure.axes[0].lines if len(line.get_ydata()) > 50]
    )
    assert 5.09 in drawn
    assert drawn.size < 3000
    svg = figure.svg().decode()
    assert "USL 5.1" in svg
    assert ">left<" in svg
    assert float(re.search(r'width="([\d.]+)pt"', svg)[1]) <= 494


@pytest.mark.parametrize("n", [12, 9000])
def test_nothing_is_lettered_below_seven_points(n: int) -> None:
    chart = control_chart(
        Y[:n] if n == 9000 else Y[: n * 5],
        np.repeat(np.arange(n), 5) if n == 12 else np.repeat(np.arange(n // 5), 5),
    )
    events = ((20.0, "coil change"), (30.0, "wiped"))
    for figure in (
        location_and_spread(chart, events=events),
        values_over_the_run(Run(ORDER[:n], Y[:n], lower=4.9)),
    ):
        sizes = _sizes(figure.svg().decode())
        assert sizes
        assert min(sizes) >= 7


def test_points_beyond_are_ringed_on_both_halves() -> None:
    y = Y[:500].copy()
    y[100:105] += 0.05
    y[200] += 0.2
    chart = control_chart(y, np.repeat(np.arange(100), 5))
    upper, lower = location_and_spread(chart).axes
    ringed = [
        line
        for one in (upper, lower)
        for line in one.lines
        if line.get_marker() == "o" and line.get_markerfacecolor() == "none"
    ]
    assert sum(len(line.get_xdata()) for line in ringed) == len(chart.signals)


def test_points_of_one_stroke_are_counted_within_it() -> None:
    order = np.array([1.0, 1.0, 5.0, 9.0, 9.0, 9.0])
    assert order_within_stroke(order).tolist() == [0, 1, 0, 0, 1, 2]


def test_strokes_are_marked_at_whole_numbers() -> None:
    """A mark at 7.5 would be printed as the stroke 8, and every second mark of a short run be wrong."""
    chart = control_chart(Y[:25].reshape(5, 5), order=ORDER[:25:5])
    for figure in (
        location_and_spread(chart),
        values_over_the_run(Run(ORDER[:25], Y[:25])),
    ):
        axis = figure.axes[-1].xaxis
        low, high = axis.get_view_interval()
        marks = [mark for mark in axis.get_majorticklocs() if low <= mark <= high]
        assert len(marks) >= 3
        assert all(float(mark).is_integer() for mark in marks)
