"""Products in memory of a file of a line log equal what DuckDB answers to the same question."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.linelog import queries as ask
from linestudy.linelog.engines import Questions, engine
from linestudy.linelog.memory.lagged import lagged_products
from linestudy.linelog.memory.unpacked import in_words, read_columns

SCALE = tuple(
    ask.Scale(name, offset, 0.001) for name, offset in (("w", 2.8), ("g", 0.6), ("none", 1.0))
)


def written(folder: Path, spread: float, stations: int, mixed: bool) -> Path:
    """A file of a log: numbers left out, values left out, a characteristic without any."""
    rng = np.random.default_rng(6)
    order = np.delete(np.arange(1.0, 901.0), rng.choice(900, 30, replace=False)) * spread
    frame = pd.DataFrame({"order": order, "w": rng.normal(2.8, 0.01, order.size)})
    frame["g"] = np.where(rng.random(order.size) < 0.1, np.nan, rng.normal(0.6, 0.02, order.size))
    # No value of one characteristic for a whole stretch.
    frame.loc[300:660, "g"] = np.nan
    frame["none"] = np.nan
    if stations:
        # Taking turns, out of turn, and some of them not known.
        turn = np.arange(order.size) + (rng.random(order.size) < 0.1)
        frame["station"] = np.array(["left", "mid", "a"])[turn % stations]
        if stations > 1:
            frame.loc[::50, "station"] = None
    path = folder / "part.parquet"
    frame = frame.sample(frac=1, random_state=1) if mixed else frame
    frame.to_parquet(path, index=False, row_group_size=250)
    return path


def same(ours: dict[str, Any], theirs: dict[str, Any]) -> None:
    assert ours.keys() == theirs.keys()
    for key, value in theirs.items():
        wanted = pytest.approx(value, rel=1e-9, abs=1e-12) if isinstance(value, float) else value
        assert ours[key] == wanted, key


def by_stations(rows: list[dict]) -> list[dict]:
    return sorted(rows, key=lambda row: (str(row.get("before")), str(row.get("now"))))


_OTHER_SPREADS = [pytest.param(each, marks=pytest.mark.proof) for each in (40.0, 0.5)]


@pytest.mark.parametrize("mixed", [True, False])
@pytest.mark.parametrize("stations", [0, 1, 3])
@pytest.mark.parametrize("spread", [1.0, *_OTHER_SPREADS])
def test_lagged_products(spread: float, stations: int, mixed: bool, tmp_path: Path) -> None:
    """Laid out or looked up, against a join of the file with itself."""
    path = written(tmp_path, spread, stations, mixed)
    found = lagged_products(read_columns(path), SCALE)
    with engine() as connection:
        table = connection.read_parquet(str(path))
        for lag in ask.LAGS:
            rows = ask.lagged(table, SCALE, lag).to_pyarrow().to_pylist()
            ours = found[str(lag)]
            assert len(ours) == len(rows)
            for one, row in zip(by_stations(ours), by_stations(rows), strict=True):
                same(one, row)


def test_sums_over_whole_columns_are_those_over_columns_with_gaps(tmp_path: Path) -> None:
    # Sums of order numbers are summed once where every part has a value, else for each characteristic.
    path = written(tmp_path, 1.0, 3, False)
    with engine() as connection:
        table = connection.read_parquet(str(path))
        short = ask.quarter_hours(table, SCALE, 5.0, (400.0,), frozenset({"w"})).to_pyarrow()
        long = ask.quarter_hours(table, SCALE, 5.0, (400.0,)).to_pyarrow()
    assert {"n0", "x0", "xx0"}.isdisjoint(short.column_names)
    for ours, theirs in (
        ("rows", "n0"),
        ("x", "x0"),
        ("xx", "xx0"),
        ("x1", "x1"),
        ("yy0", "yy0"),
        ("yyyy1", "yyyy1"),
    ):
        one, two = (np.array(t[key], dtype=float) for t, key in ((short, ours), (long, theirs)))
        np.testing.assert_allclose(one, two, rtol=1e-9)


def two_lanes(folder: Path) -> Path:
    """Two parts of every stroke, and one reading in fifty missing: places with nothing in them are few."""
    rng = np.random.default_rng(7)
    order = np.repeat(np.arange(1.0, 1201.0), 2)
    frame = pd.DataFrame({"order": order, "station": np.tile(["R", "L"], 1200)})
    frame["coil"] = np.where(order < 500, "z", np.where(order < 520, None, "b"))
    frame["w"] = rng.normal(2.8, 0.01, order.size)
    frame["g"] = np.where(rng.random(order.size) < 0.02, np.nan, rng.normal(0.6, 0.02, order.size))
    frame.to_parquet(folder / "part.parquet", index=False)
    return folder / "part.parquet"


def test_few_readings_that_are_missing_are_taken_off_one_by_one(tmp_path: Path) -> None:
    path = two_lanes(tmp_path)
    found = lagged_products(read_columns(path), SCALE[:2])
    with engine() as connection:
        table = connection.read_parquet(str(path))
        for lag in ask.LAGS:
            rows = ask.lagged(table, SCALE[:2], lag).to_pyarrow().to_pylist()
            ours = found[str(lag)]
            assert len(ours) == len(rows) == 4
            for one, row in zip(by_stations(ours), by_stations(rows), strict=True):
                same(one, row)


def test_numbers_in_place_of_texts_change_no_answer(tmp_path: Path) -> None:
    path = two_lanes(tmp_path)
    columns = read_columns(path)
    table, texts = columns.with_codes()
    assert texts["coil"].to_pylist() == ["b", "z"]
    with engine() as connection:
        questions = Questions(
            connection,
            lambda part, whole: {
                "asked": ask.subgroups(ask.taken(part, 5, 50), SCALE[:2], streams=True)
            },
        )
        plain, coded = (
            questions.answers(frozenset(), one)["asked"] for one in (columns.table, table)
        )
    found = in_words(coded, texts).to_pylist()
    assert len(found) == plain.num_rows
    for one, row in zip(found, plain.to_pylist(), strict=True):
        same(one, row)
