"""All tests of a run's readings together."""

from __future__ import annotations

import numpy as np
import pytest
from honest_readings import readings

from linestudy.verdict.soundness.reading_doubts import doubts_of_readings, step_of


def test_each_kind_of_doubt_is_given_its_p_value() -> None:
    y = readings(np.random.default_rng(1), "normal", 600, 0.05)
    y[300:400] = y[:100]
    found = doubts_of_readings(y, np.arange(600) // 5)
    assert {one.what for one in found} >= {"copied readings", "averaged readings", "last digits"}
    assert min(found, key=lambda one: one.p).what == "copied readings"


def test_readings_that_end_as_no_process_ends_were_sorted() -> None:
    y = np.round(np.random.default_rng(2).normal(5, 0.135, 9000), 3)
    y = y[np.abs(y - 5) <= 0.25]
    found = next(one for one in doubts_of_readings(y) if one.what == "parts taken out")
    assert found.p < 1e-6
    assert "just inside 4.75 and 5.25" in found.evidence


def test_levels_of_named_streams_are_no_contradiction() -> None:
    draw = np.random.default_rng(1)
    stream = np.arange(600) % 3
    y = np.round(draw.normal(0, 0.1, 600) + stream, 2)
    assert all(one.p > 0.001 for one in doubts_of_readings(y, np.arange(600) // 5, stream))


def test_hardly_any_readings_say_nothing() -> None:
    assert doubts_of_readings(np.arange(10.0)) == ()
    assert doubts_of_readings(np.ones(100)) == ()


def test_the_step_of_readings() -> None:
    assert abs(step_of(np.array([1.0, 1.25, 2.0, 1.5])) - 0.25) < 1e-9
    assert step_of(np.random.default_rng(1).normal(size=200)) == 0.0


@pytest.mark.parametrize("added", ["a constant", "a step of noise", "nothing, in one lane"])
def test_copies_that_lie_among_other_streams_are_seen(added: str) -> None:
    draw = np.random.default_rng(12)
    y = draw.normal(size=450).round(2)
    turns, lanes = np.arange(450) // 5 % 3, np.tile(np.arange(3), 150)
    stroke = np.arange(450.0)
    stream = turns
    one, two = np.flatnonzero(turns == 1), np.flatnonzero(turns == 2)
    if added == "a constant":
        y[one] = y[two] + 0.37
    elif added == "a step of noise":
        y[one] = y[two] + 0.01 * draw.integers(-1, 2, one.size)
    else:
        # A good stretch of one lane put in the place of a bad one, the strokes of the others between.
        stream, stroke = lanes, np.repeat(np.arange(150.0), 3)
        own = np.flatnonzero(lanes == 1)
        y[own[90:140]] = y[own[:50]]
    found = [one for one in doubts_of_readings(y, None, stream, None, stroke) if one.p < 1e-6]
    assert [one.what for one in found] == ["copied readings"]
    assert "counted stream by stream" in found[0].evidence


@pytest.mark.parametrize("together", [True, False])
def test_what_the_strip_gives_to_all_lanes_is_no_copy(together: bool) -> None:
    draw = np.random.default_rng(13)
    strip = draw.normal(size=150)[:, None]
    lanes = (0.9 * strip + 0.3 * draw.normal(size=(150, 3))).round(1)
    stream = np.tile(np.arange(3), 150) if together else np.arange(450) // 5 % 3
    stroke = np.repeat(np.arange(150.0), 3) if together else np.arange(450.0)
    y = lanes.ravel() if together else draw.normal(size=450).round(1)
    assert not [one for one in doubts_of_readings(y, None, stream, None, stroke) if one.p < 1e-4]
