"""What is asked of a line log, against pandas on a few rows: classes, subgroups, pairs, counts, quarter hours."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy import open_study
from linestudy.linelog import queries as ask
from linestudy.linelog.engines import engine

SCALE = (ask.Scale("w", 2.8, 0.01), ask.Scale("g", 0.0, 1.0))


@pytest.fixture(scope="module")
def connection() -> Iterator[Any]:
    with engine() as one:
        yield one


def frame() -> pd.DataFrame:
    rng = np.random.default_rng(1)
    n = 600
    rows = pd.DataFrame(
        {
            "order": np.arange(n) + 4001,
            "w": np.round(rng.normal(2.8, 0.02, n), 3),
            "g": rng.normal(5, 3, n),
            "coil": np.repeat(["c2", "c1"], n // 2),
            "station": np.where(np.arange(n) % 2, "left", "right"),
            "verdict": np.where(np.arange(n) % 7, "ok", "nok"),
        }
    )
    rows.loc[rows.index % 9 == 0, "g"] = np.nan
    return rows


def asked(connection: Any, rows: pd.DataFrame, question: Any) -> pd.DataFrame:
    import ibis
    import pyarrow as pa

    table = ibis.memtable(pa.Table.from_pandas(rows, preserve_index=False))
    return connection.to_pyarrow(question(table)).to_pandas()


def test_classes_are_the_nearest_and_their_middle_is_no_border(connection: Any) -> None:
    # 2.8 in steps of 0.01: 2.794 and 2.796 fall to either side of class -1 and 0.
    rows = pd.DataFrame({"w": [2.8, 2.804, 2.796, 2.794, None], "g": [0.4, 0.6, -0.6, 99.0, 0.0]})
    found = asked(connection, rows, lambda t: ask.histogram(t, SCALE))
    by_item = {
        item: dict(zip(part["class"], part["count"], strict=True))
        for item, part in found.groupby("item")
    }
    assert by_item == {0: {0: 3, -1: 1}, 1: {0: 2, 1: 1, -1: 1, 99: 1}}


def test_subgroups_are_counted_from_the_first_part_and_are_pandas(connection: Any) -> None:
    rows = frame()
    found = asked(
        connection,
        rows.sample(frac=1, random_state=2),
        lambda t: ask.subgroups(ask.taken(t, 5, 25), SCALE),
    )
    place = rows["order"] - 4001
    inside = rows[place % 25 < 5]
    by = inside.groupby(place[inside.index] // 25)
    assert found["subgroup"].tolist() == list(range(24))
    assert found["order"].tolist() == by["order"].min().tolist()
    assert found["coil"].tolist() == by["coil"].first().tolist()
    for i, item in enumerate(SCALE):
        assert found[f"n{i}"].tolist() == by[item.id].count().tolist()
        assert found[f"mean{i}"].to_numpy() == pytest.approx(
            by[item.id].mean() - item.offset, abs=1e-12
        )
        assert found[f"sd{i}"].to_numpy() == pytest.approx(by[item.id].std(), rel=1e-9)
        assert found[f"low{i}"].tolist() == by[item.id].min().tolist()
        assert found[f"high{i}"].tolist() == by[item.id].max().tolist()


def test_streams_have_subgroups_of_their_own_where_that_is_asked(connection: Any) -> None:
    rows = frame()
    both = asked(
        connection, rows, lambda t: ask.subgroups(ask.taken(t, 4, 20), SCALE, streams=True)
    )
    assert set(both["station"]) == {"left", "right"}
    assert (both["n0"] == 2).all()
    without = asked(
        connection,
        rows.drop(columns="station"),
        lambda t: ask.subgroups(ask.taken(t, 4, 20), SCALE, streams=True),
    )
    assert (without["n0"] == 4).all()


def test_a_gap_gives_no_pair_and_a_missing_member_no_product(connection: Any) -> None:
    rows = pd.DataFrame(
        {"order": [1, 2, 4, 5, 6], "w": [2.9, 2.7, 2.8, None, 3.0], "g": [1.0, 2, 3, 4, 5]}
    )
    found = asked(connection, rows, lambda t: ask.lagged(t, SCALE, 1)).iloc[0]
    # Pairs 1-2, 4-5, 5-6; of w only the first has both.
    assert found["n0"] == 1
    assert found["p0"] == pytest.approx(0.1 * -0.1)
    assert (found["a0"], found["b0"]) == (pytest.approx(0.1), pytest.approx(-0.1))
    assert (found["n1"], found["p1"]) == (3, 1 * 2 + 3 * 4 + 4 * 5)
    assert (found["a1"], found["b1"]) == (1 + 3 + 4, 2 + 4 + 5)


def test_pairs_of_stations_are_told_apart_by_who_came_first(connection: Any) -> None:
    rows = pd.DataFrame(
        {"order": [1, 2, 3], "w": [2.8, 2.8, 2.8], "g": [1.0, 2.0, 5.0], "station": list("aab")}
    )
    found = asked(connection, rows, lambda t: ask.lagged(t, SCALE, 1)).set_index(["before", "now"])
    assert found["p1"].to_dict() == {("a", "a"): 2.0, ("a", "b"): 10.0}


def test_rows_are_counted_by_verdict_coil_and_station(connection: Any) -> None:
    rows = frame()
    found = asked(connection, rows, ask.counts).set_index(["verdict", "coil", "station"])["rows"]
    theirs = rows.groupby(["verdict", "coil", "station"]).size()
    assert found.sort_index().to_dict() == theirs.to_dict()
    import ibis

    assert ask.counts(ibis.memtable(rows[["order", "w"]])) is None


@pytest.mark.parametrize("by", ["rate", "clock", "count"])
def test_a_quarter_of_an_hour_is_one_of_strokes_or_of_the_clock_or_ten_thousand_parts(
    connection: Any, by: str
) -> None:
    rows = frame().drop(columns=["coil", "station"])
    if by == "clock":
        rows["time"] = pd.Timestamp("2026-01-01 00:10") + pd.to_timedelta(
            np.arange(600) * 2, unit="s"
        )
        quarter = (rows["time"].astype("datetime64[s]").astype("int64") // 900).to_numpy()
    elif by == "rate":  # ten strokes a minute: 150 in a quarter of an hour
        quarter = rows["order"].to_numpy() // 150
    else:
        quarter = rows["order"].to_numpy() // 10_000
    rate = 10.0 if by == "rate" else None
    found = asked(connection, rows, lambda t: ask.quarter_hours(t, SCALE, rate, (4301.0,)))
    phase = (rows["order"] >= 4301).astype(int).to_numpy()
    place = rows["order"] - 4001.0
    y = rows["g"]
    sums = (
        pd.DataFrame({"x1": place.where(y.notna()), "xy1": place * y, "yyyy1": y**4})
        .groupby([quarter, phase])
        .sum()
    )
    assert list(zip(found["quarter"], found["phase"], strict=True)) == list(sums.index)
    for name in sums:
        assert found[name].to_numpy() == pytest.approx(sums[name].to_numpy(), rel=1e-9)
    assert found["rows"].sum() == 600
    assert found["n1"].sum() == y.notna().sum()


STUDY = """format = 1
[study]
title = "Scales"
part = "P"
[[characteristic]]
id = "width"
name = "Width"
unit = "mm"
nominal = 2.8
lower = 2.75
upper = 2.85
[[characteristic]]
id = "flatness"
name = "Flatness"
unit = "um"
upper = 40.0
[[gauge]]
id = "camera"
name = "Camera"
unit = "mm"
resolution = 0.002
[[data]]
file = "run.csv"
role = "run"
order = "S"
columns = { width = "W", flatness = "F" }
gauge = "camera"
"""


def test_classes_are_steps_of_the_gauge_or_thousandths_of_the_tolerance(tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_text(STUDY, encoding="utf-8")
    (tmp_path / "run.csv").write_text("S,W,F\n1,2.8,3\n", encoding="utf-8")
    study = open_study(tmp_path)
    width, flatness = ask.scales(study, study.file.data[0])
    assert (width.id, width.offset, width.width) == ("width", 2.8, 0.002)
    # The gauge reads another unit, and there is no tolerance with one limit: a thousandth of the limit.
    assert (flatness.id, flatness.offset, flatness.width) == ("flatness", 40.0, 0.04)
