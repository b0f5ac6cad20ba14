"""Points beyond the chart's limits, one by one, and how many of them chance would give."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.verdict import Tags, describe
from linestudy.verdict.process.points import chart_points


def test_points_are_told_with_all_that_is_known_of_them() -> None:
    rng = np.random.default_rng(3)
    y = rng.normal(size=500)
    y[200:205] += 6
    tags = Tags(
        order=np.arange(500) + 1001.0,
        time=np.array([f"10:{i // 60:02d}:{i % 60:02d}" for i in range(500)]),
        coil=np.array(["C1"] * 190 + ["C2"] * 310),
        subgroup=np.arange(500) // 5,
        events=((1191.0, "coil change"), (1200.5, "press stopped")),
    )
    found = describe(y, tags)
    far = [item for item in found.points if item.kind == "mean"]
    assert [item.order for item in far] == [1201.0]
    assert (far[0].coil, far[0].time) == ("C2", "10:03:20")
    assert far[0].value == pytest.approx(y[200:205].mean())
    assert far[0].cause == "event: press stopped"


def test_expected_points_come_from_the_readings_own_distribution() -> None:
    # Gamma with shape 2, 6,000 subgroups of five: normal theory expects 38 and some 196 are seen.
    y = np.random.default_rng(2).gamma(2.0, size=30_000)
    found = describe(y, Tags(subgroup=np.arange(30_000) // 5))
    assert len(found.points) == pytest.approx(found.expected_points, rel=0.2)
    assert found.expected_points > 120
    assert found.steady.p > 0.005


def test_a_change_of_coil_or_a_pause_is_told_with_its_point() -> None:
    draw = np.random.default_rng(6)
    y = draw.normal(size=1000)
    y[500:505] += 6
    y[800:805] += 6
    coil = np.where(np.arange(1000) < 500, "K1", "K2")
    seconds = np.arange(1000) * 0.25 + np.where(np.arange(1000) >= 800, 1500.0, 0.0)
    time = np.datetime64("2026-03-02T06:00") + (1000 * seconds).astype("timedelta64[ms]")
    tags = Tags(order=np.arange(1.0, 1001), coil=coil, time=time, subgroup=np.arange(1000) // 5)
    causes = {point.order: point.cause for point in describe(y, tags).points}
    assert causes[501.0] == "coil changed from K1 to K2"
    assert causes[801.0] == "pause of 25 minutes"


def test_single_values_may_correlate_with_the_one_before_as_neighbours_may() -> None:
    # In control are correlations up to 0.3; limits from moving ranges are then too narrow, and as expected.
    from scipy.signal import lfilter

    alarms = found = expected = 0.0
    for seed in range(12):
        draw = np.random.default_rng(seed)
        y = lfilter([1], [1, -0.3], draw.normal(size=700))[200:]
        told = describe(y, Tags(subgroup=np.arange(500)))
        alarms += told.steady.p < 0.005
        found += len(told.points)
        expected += told.expected_points
    assert alarms <= 1
    # Normal theory expects 5.9 in each and some 11 are seen.
    assert found > 12 * 8
    assert found == pytest.approx(expected, rel=0.25)


def test_no_more_points_than_expected_say_nothing_and_many_more_say_much() -> None:
    y = np.random.default_rng(4).normal(size=2000)
    tags = Tags()
    order, codes = np.arange(1.0, 2001), np.arange(2000) // 5
    still = chart_points(y, order, codes, 0.0, tags)
    assert still is not None
    # Normal theory: 400 means beyond three standard errors at 0.27 %, standard deviations at about 0.39 %.
    assert still.points == 400
    assert still.expected == pytest.approx(400 * (0.0027 + 0.0039), rel=0.35)
    assert still.p > 0.01
    y[np.arange(2000) // 5 % 10 == 0] += 2
    moved = chart_points(y, order, codes, 0.0, tags)
    assert moved is not None
    assert moved.p < 1e-6
    assert len(moved.found) > 20


def test_the_unit_changes_no_point_and_no_expectation() -> None:
    y = np.random.default_rng(5).gamma(2.0, size=1000)
    order, codes = np.arange(1.0, 1001), np.arange(1000) // 5
    one, other = (chart_points(scale * y + 7, order, codes, 0.2, Tags()) for scale in (1.0, 1e-3))
    assert one is not None
    assert other is not None
    assert [p.point for p in one.found] == [p.point for p in other.found]
    assert one.expected == pytest.approx(other.expected)


def test_too_few_values_have_no_chart() -> None:
    y = np.random.default_rng(6).normal(size=8)
    assert chart_points(y, np.arange(8.0), np.zeros(8, dtype=int), 0.0, Tags()) is None


def test_an_event_counts_from_the_subgroup_before_to_the_last_part_of_its_own() -> None:
    y = np.random.default_rng(7).normal(size=200)
    y[100:105] += 8
    codes = np.arange(200) // 5

    def cause(at: float) -> str:
        tags = Tags(events=((at, "die cleaned"),), subgroup=codes)
        points = describe(y, tags).points
        return next(item.cause for item in points if item.order == 101.0)

    assert [cause(at) for at in (96.0, 96.5, 105.0, 105.5)] == [
        "",
        "event: die cleaned",
        "event: die cleaned",
        "",
    ]
