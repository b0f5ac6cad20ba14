"""Sources, components, streams and wear from sums over quarter hours are those of the parts themselves."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from linestudy.linelog.quarter_hours import (
    compare_quarter_hours,
    components_of_quarter_hours,
    quarter_hour_sums_of,
    sources_of_quarter_hours,
    wear_of_quarter_hours,
)
from linestudy.results import CannotJudge
from linestudy.stability import compare_streams, variance_components, variance_sources

N, QUARTER = 6000, 100


def parts(wear: float = 2e-5, station: float = 0.03, far: float = 0.0) -> pd.DataFrame:
    """Sixty quarter hours of three coils and two stations by turns, with wear; far from nought where asked."""
    rng = np.random.default_rng(1)
    order = np.arange(1.0, N + 1) + far
    at = np.arange(N)
    return pd.DataFrame(
        {
            "order": order,
            "coil": np.array(["c1", "c2", "c3"])[at * 3 // N],
            "station": np.where(at % 2, "left", "right"),
            "quarter hour": at // QUARTER,
            "value": 2.8
            + np.repeat(rng.normal(0, 0.02, 3), N // 3)
            + np.repeat(rng.normal(0, 0.01, N // QUARTER), QUARTER)
            + station * (at % 2)
            + wear * at
            + rng.normal(0, 0.05, N),
        }
    )


def cells(rows: pd.DataFrame, offset: float = 2.5, origin: float = 0.0, phase: object = None):
    """Sums of the parts, as a log gives them, from any offset and origin."""
    y, x = rows["value"] - offset, rows["order"] - origin
    sums = pd.DataFrame(
        {"n": 1.0, "x": x, "y": y, "xx": x * x, "xy": x * y, "yy": y * y, "first": rows["order"]}
    )
    keys = [rows["quarter hour"].rename("quarter"), rows["coil"], rows["station"]]
    keys += [] if phase is None else [pd.Series(phase, rows.index, name="phase")]
    table = sums.groupby(keys).agg({**dict.fromkeys(sums, "sum"), "first": "min"}).reset_index()
    table.attrs = {"offset": offset, "origin": origin}
    return quarter_hour_sums_of(table.sort_values("first").reset_index(drop=True))


def test_where_sums_are_counted_from_does_not_matter() -> None:
    rows = parts(far=1e7)[:-1]  # whose mean order number is whole, so that both round it alike
    one, other = cells(rows, 2.8, 1e7), cells(rows, -40.0, 3.0)
    for name in ("n", "x", "y", "xx", "xy", "yy"):
        scale = np.abs(getattr(one, name)).max()
        assert getattr(other, name) == pytest.approx(getattr(one, name), rel=1e-5, abs=1e-5 * scale)
    assert one.level == pytest.approx(rows["value"].mean())
    assert other.level == pytest.approx(one.level)
    assert other.origin == pytest.approx(rows["order"].mean(), abs=1)


def test_components_are_those_of_the_parts() -> None:
    rows = parts(wear=0.0)
    found = components_of_quarter_hours(cells(rows), seed=1)
    theirs = variance_components(rows, levels=("coil", "quarter hour"), seed=1)
    assert list(found.variance) == list(theirs.variance)
    for name, interval in theirs.variance.items():
        assert found.variance[name].estimate == pytest.approx(interval.estimate, rel=1e-7)
        assert (found.variance[name].low, found.variance[name].high) == pytest.approx(
            (interval.low, interval.high), rel=1e-6
        )
    assert found.n == N


def test_sources_are_those_of_the_parts() -> None:
    rows = parts()
    found = sources_of_quarter_hours(cells(rows), seed=1)
    theirs = variance_sources(rows, seed=1)
    for name, share in theirs.shares.items():
        assert found.shares[name].estimate == pytest.approx(share.estimate, rel=1e-6), name
    assert found.wear_per_thousand is not None
    assert theirs.wear_per_thousand is not None
    assert found.wear_per_thousand.estimate == pytest.approx(
        theirs.wear_per_thousand.estimate, rel=1e-6
    )
    assert found.sd == pytest.approx(theirs.sd, rel=1e-7)


def test_wear_begins_anew_where_the_tool_was_ground() -> None:
    rows = parts(wear=0.0)
    half = np.where(np.arange(N) < N // 2, 0, 1)
    rows["value"] += 1e-4 * (np.arange(N) % (N // 2))
    found = sources_of_quarter_hours(cells(rows, phase=half), resets=(N / 2 + 1,), seed=1)
    theirs = variance_sources(rows, resets=(N / 2 + 1,), seed=1)
    assert found.wear_per_thousand is not None
    assert theirs.wear_per_thousand is not None
    assert found.wear_per_thousand.estimate == pytest.approx(
        theirs.wear_per_thousand.estimate, rel=1e-6
    )


def test_stations_are_compared_by_their_quarter_hours() -> None:
    rows = parts(wear=0.0).assign(coil="c1")
    rows["value"] = 2.8 + 0.03 * (np.arange(N) % 2) + np.random.default_rng(2).normal(0, 0.05, N)
    found = compare_quarter_hours(cells(rows), "station", unit="mm")
    means = rows.groupby(["station", "quarter hour"])["value"].mean().reset_index()
    theirs = compare_streams(
        means["value"], means["station"], by="station", size=np.full(120, 50.0)
    )
    assert found.pairs[0].difference.estimate == pytest.approx(theirs.pairs[0].difference.estimate)
    assert found.p == pytest.approx(theirs.p, rel=1e-6)
    assert abs(found.pairs[0].difference.estimate) == pytest.approx(0.03, abs=0.01)


def test_stations_do_not_stand_between_coils() -> None:
    # One coil ran on one station alone; its level is not that station's.
    rows = parts(wear=0.0, station=0.5)
    lone = (rows["coil"] != "c3") | (rows["station"] == "left")
    plain = parts(wear=0.0, station=0.0)
    one = compare_quarter_hours(cells(rows[lone]), "coil")
    other = compare_quarter_hours(cells(plain), "coil")
    gap = {(p.first, p.second): p.difference.estimate for p in other.pairs}
    assert one.pairs
    for pair in one.pairs:
        # Of the half volt between stations nothing like a half is left.
        assert abs(pair.difference.estimate - gap[pair.first, pair.second]) < 0.2


def test_without_stations_their_means_are_alike_and_the_rest_is_as_it_was() -> None:
    full = cells(parts(station=0.4))
    less = full.without_stations()
    by = less.tags["station"].to_numpy()
    means = [less.y[by == s].sum() / less.n[by == s].sum() for s in ("left", "right")]
    assert means[0] == pytest.approx(means[1], abs=1e-12)
    assert less.y.sum() == pytest.approx(full.y.sum(), abs=1e-9)
    # Squares about each station's own mean are what they were.
    for s in ("left", "right"):
        own = [
            float(c.yy[by == s].sum() - c.y[by == s].sum() ** 2 / c.n[by == s].sum())
            for c in (full, less)
        ]
        assert own[0] == pytest.approx(own[1])


@pytest.mark.checks("slope of wear from sums", source="SciPy: linregress on the parts")
def test_wear_is_the_slope_of_the_parts_and_the_truth_lies_within() -> None:
    rows = parts(wear=2e-5, station=0.0)
    rows["coil"] = "c1"
    rows["value"] = 2.8 + 2e-5 * np.arange(N) + np.random.default_rng(3).normal(0, 0.05, N)
    found = wear_of_quarter_hours(cells(rows), lower=2.5, upper=3.4)
    theirs = stats.linregress(rows["order"], rows["value"])
    slope = found.slope_per_thousand
    assert slope.estimate == pytest.approx(1000 * theirs.slope, rel=0.02)
    assert slope.low < 0.02 < slope.high
    # Independent parts: the interval is that of the regression, from fewer degrees of freedom.
    reach = 1000 * theirs.stderr * stats.t.ppf(0.975, found.blocks - 2)
    assert (slope.high - slope.low) / 2 == pytest.approx(reach, rel=0.35)
    assert found.residual_sd == pytest.approx(0.05, rel=0.03)
    assert found.limit == 3.4


def test_strokes_left_are_counted_from_the_last_part_of_either_station() -> None:
    # Without noise to speak of: 2.8 at the first part, 3.0 at part 10,001 and at the limit less nothing.
    rows = parts()
    rows["coil"] = "c1"
    rows["value"] = 2.8 + 2e-5 * np.arange(N) + np.random.default_rng(3).normal(0, 1e-6, N)
    found = wear_of_quarter_hours(cells(rows), upper=3.0, margin=0.0)
    assert found.strokes_left.estimate == pytest.approx(10_001 - N, abs=3)


def test_a_level_that_changed_at_a_mark_is_no_wear() -> None:
    rows = parts(wear=0.0, station=0.0)
    half = np.where(np.arange(N) < N // 2, 0, 1)
    rows["coil"] = "c1"
    rows["value"] = 2.8 + 0.5 * half + np.random.default_rng(4).normal(0, 0.05, N)
    mark = (N / 2 + 1,)
    found = wear_of_quarter_hours(cells(rows, phase=half), marks=mark)
    assert found.slope_per_thousand.low < 0 < found.slope_per_thousand.high
    assert found.stretches == 2
    # Unmarked, the step is taken for a movement that the log is too short for, and never for wear.
    with pytest.raises(CannotJudge, match="too short"):
        wear_of_quarter_hours(cells(rows, phase=half))


def test_too_little_and_too_much_alike_are_refused() -> None:
    rows = parts()
    with pytest.raises(CannotJudge, match="99 parts are too few"):
        cells(rows[:99])
    with pytest.raises(CannotJudge, match="never differ"):
        cells(rows.assign(value=2.5))
    with pytest.raises(CannotJudge, match="9 quarter hours are too few"):
        sources_of_quarter_hours(cells(rows[: 9 * QUARTER]))
