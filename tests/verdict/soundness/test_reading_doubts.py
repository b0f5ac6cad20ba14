"""All tests of a run's readings together."""

from __future__ import annotations

import numpy as np
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
