"""The invented line: what is said of it agrees with itself, so that readings can be made of it."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.simulate.samples import scenario as line


@pytest.mark.parametrize("feature", line.FEATURES, ids=lambda f: f.id)
def test_limits_masters_and_process_lie_in_their_order(feature: line.Feature) -> None:
    lower = feature.lower if feature.lower is not None else feature.bound
    assert lower is not None
    assert lower < feature.upper
    if feature.nominal is not None:
        assert lower < feature.nominal < feature.upper
    # Masters lie within the tolerance, in order, and span most of it (AIAG MSA 4th ed. III.B, linearity; from memory).
    assert list(feature.masters) == sorted(feature.masters)
    assert lower <= feature.masters[0]
    assert feature.masters[-1] <= feature.upper
    assert feature.masters[-1] - feature.masters[0] > 0.5 * (feature.upper - lower)
    # Readings of good parts are plausible.
    assert feature.plausible[0] < lower
    assert feature.upper < feature.plausible[1]
    # The coordinate measuring machine is the better gauge.
    assert feature.cmm.resolution is not None
    assert feature.camera.resolution is not None
    assert feature.cmm.resolution < feature.camera.resolution


def test_only_what_is_bounded_by_nought_is_a_magnitude() -> None:
    assert [f.id for f in line.FEATURES if f.magnitude] == ["offset"]


def test_names_and_columns_are_different() -> None:
    for what in ("id", "name", "column", "cmm_column"):
        names = [getattr(f, what) for f in line.FEATURES]
        assert len(set(names)) == len(names)


def test_events_happen_inside_the_run_in_order() -> None:
    events = [line.REGRIND_AT, *line.WIPES, *(at for at, _ in line.STOPS), *line.COILS_FROM]
    assert all(0 <= at < line.STROKES for at in events)
    for each in (line.COILS_FROM, line.WIPES, tuple(at for at, _ in line.STOPS)):
        assert list(each) == sorted(set(each))
    # A coil is changed, and the tool ground, while the line stands.
    stopped = {at for at, _ in line.STOPS}
    assert set(line.COILS_FROM[1:]) <= stopped
    assert line.REGRIND_AT in stopped


def test_the_clock_goes_back_during_the_run() -> None:
    minutes = line.STROKES / line.LINE_RATE + sum(pause for _, pause in line.STOPS)
    begin = pd.Timestamp(line.BEGIN)
    assert begin < pd.Timestamp(line.CLOCK_BACK_AT) < begin + pd.Timedelta(minutes=minutes)
    # Summer time ended in the European Union on the last Sunday of October (Directive 2000/84/EC).
    day = pd.Timestamp(line.CLOCK_BACK_AT)
    assert day.day_name() == "Sunday"
    assert (day + pd.Timedelta(days=7)).month == 11


def test_coils_feed_both_stations_of_one_feature_alike_in_the_mean() -> None:
    shoulder = next(f for f in line.FEATURES if f.process.stations)
    assert np.sum(shoulder.process.stations) == pytest.approx(0.0)
