"""Pictures of the labs: intervals that miss are told from those that hold, thresholds at their values."""

from __future__ import annotations

import numpy as np
import pytest
from drawn import drawn, limit_lines

from linestudy.figures.labs import chance_against_parts, many_intervals, spread_of_estimates
from linestudy.results import Interval


def test_an_interval_that_misses_is_a_diamond_and_hollow() -> None:
    intervals = [Interval(at, at - 0.2, at + 0.2, 0.95, "test") for at in (1.2, 1.3, 1.6)]
    axes = drawn(many_intervals, intervals, 1.33)
    marked = {line.get_marker(): line for line in axes.lines if line.get_marker() in ("o", "D")}
    assert {marker: list(line.get_xdata()) for marker, line in marked.items()} == {
        "o": [0, 1],
        "D": [2],
    }
    assert marked["D"].get_markerfacecolor() == "white"
    bars = [segment[:, 1].tolist() for bars in axes.collections for segment in bars.get_segments()]
    assert bars == [[i.low, i.high] for i in intervals]
    assert limit_lines(axes) == {"truth": 1.33}
    # The same ends whatever is drawn.
    assert axes.get_ylim() == drawn(many_intervals, intervals[:1], 2.0).get_ylim()


def test_all_estimates_are_in_the_bars_and_a_threshold_only_where_one_is_asked() -> None:
    estimates = np.random.default_rng(1).normal(10, 2, 500)
    axes = drawn(spread_of_estimates, estimates, 10.0, "GRR (% of tolerance)", 30.0, "limit")
    assert sum(bar.get_height() for bar in axes.patches) == 500
    assert limit_lines(axes) == {"truth": 10.0, "limit": 30.0}
    assert axes.get_xlabel() == "GRR (% of tolerance)"
    alone = drawn(spread_of_estimates, estimates, 10.0, "GRR")
    assert limit_lines(alone) == {"truth": 10.0}


def test_the_number_needed_stands_where_four_in_five_are_reached() -> None:
    axes = drawn(chance_against_parts, [10, 100, 1000], [0.1, 0.8, 1.0], 100)
    assert limit_lines(axes) == {"four in five": 0.8, "100 parts": 100.0}
    assert axes.lines[0].get_xydata().tolist() == [[10, 0.1], [100, 0.8], [1000, 1.0]]
    assert axes.get_xscale() == "log"
    assert axes.get_ylim()[0] == pytest.approx(0.0)
