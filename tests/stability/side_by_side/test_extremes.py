"""The group chart: run limits as Nelson prints them, counts by definition, and what it does where streams are alike."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.results import CannotJudge
from linestudy.stability import group_chart
from linestudy.stability.side_by_side.extremes import run_limit


@pytest.mark.parametrize(
    ("streams", "rows", "length"), [(2, 9, 511), (3, 7, 1093), (4, 6, 1365), (6, 5, 1555)]
)
def test_run_limits_are_those_of_nelson(streams: int, rows: int, length: float) -> None:
    """Nelson (1986): (k^r - 1)/(k - 1); Montgomery prints 1,555 for six streams and five in a row (values from memory)."""
    assert run_limit(streams) == (rows, length)


def tool(
    seed: int, windows: int, streams: int, n: int = 5
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    station = np.tile(np.repeat(np.arange(streams), n), windows)
    values = np.random.default_rng(seed).normal(10, 1, station.size)
    return values, station.astype(str), np.repeat(np.arange(windows), streams * n)


def test_false_alarms_are_as_rare_as_said() -> None:
    values, station, window = tool(1, 20000, 4)
    found = group_chart(values, station, window)
    # At most: a point with both ends out counts once.
    assert found.signals == pytest.approx(found.expected_false_signals, rel=0.3)
    runs = np.array([found.streams[k].largest for k in range(4)])
    assert np.abs(runs - 5000).max() < 5 * np.sqrt(20000 * 0.25 * 0.75)


def test_runs_come_as_seldom_as_said() -> None:
    """Mean subgroups to a run of six at one end, four streams: 1,365 by the formula."""
    owner = np.random.default_rng(2).integers(0, 4, (400, 8000))
    same = owner[:, 1:] == owner[:, :-1]
    waits = []
    for row in same:
        at = np.flatnonzero(np.convolve(row, np.ones(5, dtype=int), "valid") == 5)
        waits.append(at[0] + 6 if at.size else 8000)
    assert np.mean(waits) == pytest.approx(1365, rel=0.15)


def test_a_bad_lane_is_named() -> None:
    values, station, window = tool(3, 60, 4)
    values += 2.0 * (station == "2")
    found = group_chart(values, station, window, unit="mm")
    assert found.said_of_extremes == ("stream 2 has the largest mean 60 times in a row",)
    assert found.streams[2].above > 20
    assert (
        "stream 2 has the largest mean 60 times in a row, where 6 are a signal" in found.statement
    )
    assert len(found.table()) == 4
    assert found.figure() is not None


def test_subgroups_without_a_stream_are_left_out_and_ties_end_a_run() -> None:
    values, station, window = tool(4, 20, 2)
    keep = ~((station == "1") & (window == 3))
    found = group_chart(values[keep], station[keep], window[keep])
    assert found.n_subgroups == 19
    assert "1 subgroup in which a stream has no part is left out." in found.cautions
    rounded = group_chart(
        np.round(values / 10) * 10 + (np.arange(values.size) % 5 == 0), station, window
    )
    assert sum(one.largest for one in rounded.streams) < 20


@pytest.mark.parametrize(("windows", "streams"), [(7, 2), (20, 1), (20, 65)])
def test_what_cannot_be_charted_is_refused(windows: int, streams: int) -> None:
    with pytest.raises(CannotJudge):
        group_chart(*tool(5, windows, streams))


def test_streams_that_exchange_their_names_are_told() -> None:
    values, station, window = tool(6, 60, 4)
    away = np.where(station == "1", 3.0, np.where(station == "2", -3.0, 0.0))
    found = group_chart(values + np.where(window < 30, 1, -1) * away, station, window)
    assert "stream 1 and stream 2 change ends" in found.statement
    assert "change ends" not in group_chart(values + away, station, window).statement
