"""Pictures of movement: correlations, wear on its way to the limit, steps, run lengths, plans, streams."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from drawn import bars, dots, drawn, interval, limit_lines

from linestudy.figures.stability import movements
from linestudy.results import Absent, Interval


def test_correlations_stand_at_their_lags_and_what_is_negligible_is_marked() -> None:
    r = 0.8 ** np.arange(200)
    axes = drawn(movements.autocorrelation, SimpleNamespace(correlations=r, spacing=11))
    points = dots(axes)
    assert points[0].tolist() == [1, pytest.approx(0.8)]
    assert points[:, 1] == pytest.approx(0.8 ** points[:, 0])
    assert points[:, 0].max() == 44  # four times the spacing
    assert limit_lines(axes) == {"negligible": 11.0}
    none = drawn(movements.autocorrelation, SimpleNamespace(correlations=r[:41], spacing=None))
    assert limit_lines(none) == {}
    assert dots(none)[:, 0].max() == 40


def test_shares_of_variance_are_bars_on_the_whole_from_nought_to_one() -> None:
    axes = drawn(
        movements.shares_of_variance, {"coil": interval(0.5, 0.2), "wear": interval(0.1, 0.05)}
    )
    assert bars(axes) == {"coil": pytest.approx([0.3, 0.7]), "wear": pytest.approx([0.05, 0.15])}
    assert axes.get_xlim() == (-0.01, 1.02)


def wear(left: object) -> Any:
    order = np.arange(0.0, 1000.0, 100.0)
    line = SimpleNamespace(
        order=order, mean=2.8 + 1e-5 * order, stretch=np.repeat([0, 1], 5), slope=1e-5, end=1000.0, middle=450.0,
        level=2.8 + 1e-5 * 450, noise=0.001, last_blocks=5, t=2.3, error=1e-6,
    )  # fmt: skip
    return SimpleNamespace(
        line=line, strokes_left=left, limit=2.85, margin=3.0, residual_sd=0.005, unit="mm"
    )


def test_wear_is_led_to_the_limit_less_its_margin() -> None:
    axes = drawn(movements.tool_wear_line, wear(Interval(2500.0, 2000.0, 3000.0, 0.95, "test")))
    assert limit_lines(axes) == {"limit": 2.85, "limit less 3 SD": pytest.approx(2.835)}
    assert [3500.0, pytest.approx(2.835)] in [list(p) for p in dots(axes)]
    bar = [line for line in axes.lines if list(line.get_xdata()) == [3000.0, 4000.0]]
    assert len(bar) == 1
    # The line meets it there: 2.835 at stroke 3,500.
    (way,) = [line for line in axes.lines if len(line.get_xdata()) == 60]
    assert np.interp(3500.0, *way.get_data()) == pytest.approx(2.835)
    assert axes.get_title(loc="left") == "When does wear reach the limit?"


def test_without_wear_nothing_is_led_anywhere() -> None:
    axes = drawn(movements.tool_wear_line, wear(Absent("no wear")))
    assert limit_lines(axes) == {}
    assert axes.get_title(loc="left") == "Does the mean move with the strokes?"
    # A line for each stretch, not across the regrind.
    assert [list(line.get_xdata()) for line in axes.lines[1:]] == [
        [0, 100, 200, 300, 400],
        [500, 600, 700, 800, 900],
    ]


def test_a_step_is_named_by_its_event_and_shaded_where_it_may_lie() -> None:
    path = SimpleNamespace(
        order=np.arange(4.0),
        mean=np.array([1.0, 1.1, 2.0, 2.1]),
        fitted=np.array([1.05, 1.05, 2.05, 2.05]),
        wear_taken_out=True,
    )
    steps = [
        SimpleNamespace(at=interval(2.0, 0.5), event="new coil"),
        SimpleNamespace(at=interval(3.0, 0.2), event=""),
    ]
    axes = drawn(
        movements.change_point_path, SimpleNamespace(path=path, change_points=steps, unit="mm")
    )
    assert limit_lines(axes) == {"new coil": 2.0, "step": 3.0}
    assert len(dots(axes)) == 4
    assert sorted((p.get_x(), p.get_width()) for p in axes.patches) == [
        (1.5, 1.0),
        (pytest.approx(2.8), pytest.approx(0.4)),
    ]
    assert axes.get_ylabel() == "mean, wear taken out (mm)"


def test_run_lengths_are_written_beside_their_points() -> None:
    study = SimpleNamespace(shifts=[0.0, 1.0, 3.0], mean=[370.4, interval(43.9, 0.5), 2.0])
    axes = drawn(movements.run_lengths, study)
    assert [t.get_text() for t in axes.texts] == ["370", "44", "2.0"]
    assert dots(axes).tolist() == [[0.0, 370.4], [1.0, 43.9], [3.0, 2.0]]
    assert axes.get_yscale() == "log"


def test_the_chosen_plan_stands_among_the_others() -> None:
    options = [
        SimpleNamespace(size=n, parts_per_hour=c) for n, c in ((1, 90.0), (3, 60.0), (5, 75.0))
    ]
    axes = drawn(
        movements.plan_cost,
        SimpleNamespace(options=options, size=3, parts_per_hour=60.0, interval_minutes=20.0),
    )
    assert [list(line.get_xydata()[0]) for line in axes.lines if line.get_marker() == "D"] == [
        [3.0, 60.0]
    ]
    assert axes.texts[0].get_text() == "3 every 20 min"
    assert axes.get_ylim() == (0, pytest.approx(1.15 * 90))


def test_streams_have_their_blocks_and_the_interval_of_their_mean() -> None:
    points = pd.DataFrame(
        {
            "stream": np.repeat(["left", "right"], 30),
            "mean": np.random.default_rng(1).normal(size=60),
        }
    )
    streams = [SimpleNamespace(mean=interval(0.1, 0.2)), SimpleNamespace(mean=interval(-0.3, 0.2))]
    study = SimpleNamespace(points=points, streams=streams, by="station", unit="mm")
    before = np.random.get_state()[1].copy()
    axes = drawn(movements.stream_means, study)
    assert (
        np.random.get_state()[1] == before
    ).all()  # nothing of the caller's randomness is used up
    drawn_points = sorted(
        float(y) for c in axes.collections for y in np.asarray(c.get_offsets())[:, 1]
    )
    assert drawn_points == pytest.approx(sorted(points["mean"]))
    bars = [
        (list(line.get_xdata()), list(line.get_ydata()))
        for line in axes.lines
        if len(line.get_xdata()) == 2
    ]
    assert ([0, 0], [pytest.approx(-0.1), pytest.approx(0.3)]) in bars
    assert [t.get_text() for t in axes.get_xticklabels()] == ["left", "right"]
    assert axes.get_title(loc="left") == "Do the stations have one mean?"


def test_of_a_large_stream_some_hundred_points_are_drawn_and_the_median_is_of_all() -> None:
    distances = {"left": np.r_[np.zeros(900), np.full(1100, 7.0)], "right": np.ones(10)}
    axes = drawn(movements.stream_spreads, SimpleNamespace(distances=distances, unit="mm"))
    counts = [len(c.get_offsets()) for c in axes.collections]
    assert counts[0] <= 400
    assert counts[1] == 10
    assert [line.get_ydata()[0] for line in axes.lines] == [7.0, 1.0]
