"""Sums in memory of a file of a line log equal what DuckDB answers to the same questions."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.linelog import queries as ask
from linestudy.linelog.engines import engine
from linestudy.linelog.memory import cells
from linestudy.linelog.memory.cells import sums_in_memory
from linestudy.linelog.memory.lagged import LaggedProducts, lagged_products
from linestudy.linelog.memory.unpacked import read_columns

SCALE = (
    ask.Scale("w", 2.8, 0.001),
    ask.Scale("g", 0.6, 0.0007),
    ask.Scale("none", 1.0, 0.01),
)


def written(folder: Path, streams: int, mixed: bool, clock: bool) -> Path:
    """Rows of several coils, stops and streams, some without names or readings, one reading far away."""
    rng = np.random.default_rng(9)
    n = 1500
    order = np.repeat(np.arange(5001.0, 5001 + n), max(streams, 1))
    frame = pd.DataFrame({"order": order, "w": rng.normal(2.8, 0.01, order.size)})
    frame["g"] = np.where(rng.random(order.size) < 0.05, np.nan, rng.normal(0.6, 0.02, order.size))
    frame.loc[40, "g"] = 9999.0
    # No reading of one characteristic in a whole coil.
    frame.loc[order < 5400, "g"] = np.nan
    frame["none"] = np.nan
    frame["coil"] = np.where(order < 5400, "z", np.where(order < 5420, None, "b"))
    frame["stop"] = (order // 170).astype(int).astype(str)
    frame["verdict"] = np.where(rng.random(order.size) < 0.1, "nok", "ok")
    if streams:
        frame["station"] = np.tile(["R", "L", "M"][:streams], n)
        frame.loc[::97, "station"] = None
    if clock:
        frame["time"] = pd.Timestamp("2026-03-02 05:50") + pd.to_timedelta(
            order - 5001 + 0.5, unit="s"
        )
    if mixed:
        frame = frame.sample(frac=1, random_state=1)
    frame.to_parquet(folder / "part.parquet", index=False, row_group_size=400)
    return folder / "part.parquet"


def same(ours: pd.DataFrame, theirs: pd.DataFrame, keys: list[str]) -> None:
    assert set(ours) == set(theirs)
    assert len(ours) == len(theirs)
    if keys:
        ours, theirs = (t.sort_values(keys, ignore_index=True) for t in (ours, theirs))
    for name in theirs:
        one, two = ours[name], theirs[name]
        if two.dtype.kind not in "fiu":
            assert [None if pd.isna(v) else v for v in one] == [
                None if pd.isna(v) else v for v in two
            ]
            continue
        a, b = one.to_numpy(dtype=float), two.to_numpy(dtype=float)
        np.testing.assert_array_equal(np.isnan(a), np.isnan(b), name)
        # Third powers and products with order numbers cancel: held against what their parts come to.
        atol = 1e-9 * float(np.nanmax(np.abs(b), initial=0.0)) * 1e-3
        np.testing.assert_allclose(a, b, rtol=1e-9, atol=atol, err_msg=name)


@pytest.mark.parametrize(
    ("streams", "mixed", "clock", "rate", "marks"),
    [
        (0, False, False, None, ()),
        (2, False, False, 20.0, (5700.0, 5300.0)),
        (3, True, True, None, (5300.0,)),
        (2, False, True, None, ()),
    ],
)
def test_sums_in_memory_are_the_engines(
    streams: int,
    mixed: bool,
    clock: bool,
    rate: float | None,
    marks: tuple[float, ...],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # Pieces that are shorter than a cell, so that cells are put together from several.
    monkeypatch.setattr(cells, "_PIECE", 100)
    path = written(tmp_path, streams, mixed, clock)
    columns = read_columns(path)
    whole = frozenset(filter(columns.whole, columns.names))
    found = sums_in_memory(columns, SCALE, rate, marks)
    assert found is not None
    with engine() as connection:
        table = connection.read_parquet(str(path))
        theirs: dict[str, Any] = {
            "quarter_hours": ask.quarter_hours(table, SCALE, rate, marks, whole),
            "histogram": ask.histogram(table, SCALE),
            "counts": ask.counts(table),
        }
        wanted = {name: one.to_pyarrow().to_pandas() for name, one in theirs.items()}
    tags = [name for name in ("verdict", "coil", "station") if name in columns.names]
    for name, keys in (("quarter_hours", []), ("histogram", ["item", "class"]), ("counts", tags)):
        same(found[name].to_pandas(), wanted[name], keys)


def test_the_engine_is_asked_where_a_quarter_hour_is_not_known(tmp_path: Path) -> None:
    frame = pd.read_parquet(written(tmp_path, 2, False, True))
    frame.loc[7, "time"] = pd.NaT
    frame.to_parquet(tmp_path / "gap.parquet", index=False)
    assert sums_in_memory(read_columns(tmp_path / "gap.parquet"), SCALE) is None
    frame[:0].to_parquet(tmp_path / "empty.parquet", index=False)
    assert sums_in_memory(read_columns(tmp_path / "empty.parquet"), SCALE) is None


def test_values_far_away_are_counted_without_laying_out_what_lies_between() -> None:
    low, found = cells._count(np.array([3.0, 5.0, 3.0]))
    assert (low, found.tolist()) == (3, [2, 0, 1])
    _, (numbers, counts) = cells._count(np.array([-2.0, 1e9, 1e9]))
    assert (numbers.tolist(), counts.tolist()) == ([-2, 10**9], [1, 2])
    joined = cells._joined_classes([(3, np.array([2, 0, 1])), (0, (numbers, counts))])
    assert [one.tolist() for one in joined] == [[-2, 3, 5, 10**9], [1, 2, 1, 2]]


@pytest.mark.parametrize("streams", [0, 1, 2])
def test_lags_of_values_laid_out_are_those_of_the_file(streams: int, tmp_path: Path) -> None:
    frame = pd.read_parquet(written(tmp_path, streams, False, False))
    if streams:
        # Streams that are in every stroke: as laid out for the sums they are lines of their own.
        frame["station"] = np.tile(["R", "L", "M"][:streams], len(frame) // streams)
    frame.to_parquet(tmp_path / "whole.parquet", index=False)
    columns = read_columns(tmp_path / "whole.parquet")
    lags = LaggedProducts(columns, SCALE)
    assert sums_in_memory(columns, SCALE, lags=lags) is not None
    wanted = lagged_products(columns, SCALE)
    assert lags.found.keys() == wanted.keys()
    for lag, rows in wanted.items():
        for ours, theirs in zip(lags.found[lag], rows, strict=True):
            assert ours.keys() == theirs.keys()
            for key, value in theirs.items():
                assert ours[key] == (
                    pytest.approx(value, rel=1e-9, abs=1e-9) if isinstance(value, float) else value
                )
