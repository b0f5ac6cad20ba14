"""Limits frozen from a study, points beyond them, and days that alarm: against counts by hand and by simulation."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.linelog.frozen import FrozenLimits, alarms, beyond

LIMITS = {"L": FrozenLimits(10.0, 9.7, 10.3, 5.0, 60), "R": FrozenLimits(20.0, 19.7, 20.3, 5.0, 60)}


def table(file: list[int], station: list[str], mean: list[float], n: float = 5.0) -> pd.DataFrame:
    return pd.DataFrame({"file": file, "station": station, "mean": mean, "n": n, "sd": 0.0})


def test_each_stream_is_held_against_its_own_limits() -> None:
    found = beyond(table([0] * 4, ["L", "R", "L", "R"], [10.2, 20.2, 10.4, 10.0]), LIMITS)
    assert found.tolist() == [False, False, True, True]
    # A stream that the study does not know has no limits to be beyond.
    assert beyond(table([0], ["M"], [99.0]), LIMITS).tolist() == [False]


def test_smaller_subgroups_have_wider_limits() -> None:
    """Three standard errors of two parts are root(5/2) as wide as those of five."""
    edge = 0.3 * np.sqrt(5 / 2)
    found = beyond(table([0, 0], ["L", "L"], [10 + edge * 0.999, 10 + edge * 1.001], 2.0), LIMITS)
    assert found.tolist() == [False, True]


def test_days_alarm_as_seldom_as_chance_allows() -> None:
    rng = np.random.default_rng(1)
    days, points = 800, 40
    mean = 10 + 0.1 * rng.standard_normal(days * points)
    found = alarms(
        table(np.repeat(np.arange(days), points).tolist(), ["L"] * (days * points), mean.tolist()),
        LIMITS,
    )
    # Binomial: three or more of forty have probability 0.0002, and are the fewest that alarm.
    assert len(found) <= 3


def test_a_day_that_moved_alarms_with_its_stream_and_by_how_much() -> None:
    day = [0] * 20 + [1] * 20
    mean = [10.0] * 20 + [10.35] * 20
    found = alarms(table(day, ["L"] * 40, mean), LIMITS, "mm")
    assert found == [
        "Day 2, L: 20 of 20 points beyond the study's limits; mean 0.3500 mm above the study's."
    ]


def test_limits_of_all_parts_serve_where_streams_have_none() -> None:
    whole = {"": FrozenLimits(10.0, 9.7, 10.3, 5.0, 60)}
    assert beyond(table([0], ["L"], [10.4]), whole).tolist() == [True]
    assert beyond(table([0], ["L"], [10.4]).drop(columns="station"), whole).tolist() == [True]
    found = alarms(table([0] * 3, ["L"] * 3, [10.4] * 3).drop(columns="station"), whole)
    assert found[0].startswith("Day 1: 3 of 3 points")


def subgroups_of(times: list[float], points: int, tails: bool = False) -> pd.DataFrame:
    """Subgroups of five parts whose standard deviation is 0.2 times that of the day."""
    rng = np.random.default_rng(2)
    shape = (points * len(times), 5)
    parts = rng.standard_t(5, shape) if tails else rng.standard_normal(shape)
    sd = 0.2 * np.repeat(times, points) * parts.std(axis=1, ddof=1)
    file = np.repeat(np.arange(len(times)), points)
    return pd.DataFrame({"file": file, "mean": 10.0, "n": 5.0, "sd": sd})


def frozen(study: pd.DataFrame) -> dict[str, FrozenLimits]:
    n, sd = study["n"].to_numpy(), study["sd"].to_numpy()
    roots = sd ** (2 / 3) / (1 - 2 / 36)
    numbers = float(np.sqrt((sd**2).mean())), float(roots.mean()), float(roots.var(ddof=1))
    return {"": FrozenLimits(10.0, 9.7, 10.3, 5.0, n.size, *numbers)}


def test_a_day_that_spreads_more_alarms_by_its_date() -> None:
    limits = frozen(subgroups_of([1.0], 60))
    found = alarms(subgroups_of([1.0, 1.5], 48), limits, "mm", ("2026-03-02", "2026-03-03"))
    assert len(found) == 1
    assert found[0].startswith("Day 2 (2026-03-03): standard deviation within 48 subgroups 0.")
    assert found[0].endswith("1.5 times the study's.")


@pytest.mark.parametrize("tails", [False, True])
def test_days_as_wide_as_the_study_seldom_alarm(tails: bool) -> None:
    """Of Student's t with five degrees of freedom as of normal parts: one in a thousand, of 1,000 days."""
    limits = frozen(subgroups_of([1.0], 400, tails))
    assert len(alarms(subgroups_of([1.0] * 1000, 40, tails), limits)) <= 4
