"""A run out of parquet, its numbers and times taken as they are, against the same file read cell by cell.

Both ways are ours; that either is right is what the other tests of this folder say.
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from two_ways import outcome, study_of

from linestudy.records import text_table
from linestudy.records.text_table import read_text_table
from linestudy.study.model import Data

LAST = 1_780_000_000_000_000
kinds = {
    "float64": (pa.float64(), st.decimals(-3, 12, places=3).map(float)),
    "wild": (pa.float64(), st.floats(-20, 20) | st.sampled_from([9999.0, float("nan")])),
    "endless": (pa.float64(), st.sampled_from([1.0, 2.0, float("inf")])),
    "float32": (pa.float32(), st.floats(0, 12, width=32)),
    "int64": (pa.int64(), st.integers(-5, 2**60)),
    "uint8": (pa.uint8(), st.integers(0, 12)),
    "string": (pa.string(), st.sampled_from(["2.5", "+3", "NA", "", "2,5", "3 mm"])),
    "bool": (pa.bool_(), st.booleans()),
    "decimal": (pa.decimal128(7, 3), st.decimals(-3, 12, places=3)),
}


@st.composite
def files(draw: st.DrawFn) -> tuple[pa.Table, dict[str, Any]]:
    """A parquet file of a run, and what its [[data]] table says besides."""
    n = draw(st.integers(1, 12))
    gaps = draw(st.booleans())

    def column(kind: str) -> pa.Array:
        of, values = kinds[kind]
        values = values | st.none() if gaps else values
        return pa.array(draw(st.lists(values, min_size=n, max_size=n)), of)

    steps = draw(st.lists(st.sampled_from([1, 1, 1, 2, 0, -1]), min_size=n, max_size=n))
    order = pd.Series(steps).cumsum().tolist()
    found = {
        "Tag": pa.array(draw(st.lists(st.sampled_from(["A", " B", "é", None]), min_size=n, max_size=n))),
        "S": pa.array(order, draw(st.sampled_from([pa.int64(), pa.float64(), pa.int32()]))),
        "W": column(draw(st.sampled_from(sorted(kinds)))),
        "V": column("float64"),
    }  # fmt: skip
    said = draw(st.sampled_from([{}, {}, {"missing": ("", "9999", " NA")}, {"missing": ("NA",)}]))
    said = said | draw(
        st.sampled_from([{}, {"unit": "inch"}, {"station": "Tag"}, {"station": "S"}])
    )
    if draw(st.booleans()):
        times = st.integers(0, LAST) | st.none() if gaps else st.integers(0, LAST)
        kind = draw(
            st.sampled_from(
                [pa.timestamp("us"), pa.timestamp("us", "Europe/Berlin"), pa.timestamp("ms")]
            )
        )
        ticks = draw(st.lists(times, min_size=n, max_size=n))
        per = 1000 if kind.unit == "ms" else 1
        found["T"] = pa.array([t if t is None else t // per for t in ticks], kind)
        said = said | {"time": "T"}
    return pa.table(found), said  # fmt: skip


def data_of(said: dict[str, Any]) -> Data:
    return Data(role="run", gauge="g", file="f.parquet", order="S", columns={"w": "W", "v": "V"}, **said)  # fmt: skip


@pytest.mark.proof
@given(file=files())
@settings(max_examples=40)
@example(file=(pa.table({"S": [1, 2], "W": [2.5, float("inf")], "V": [1.0, 1.0]}), {}))
@example(file=(pa.table({"S": [1, None], "W": [2.5, 2.5], "V": [1.0, 1.0]}), {}))
def test_both_ways_read_the_same(file: tuple[pa.Table, dict[str, Any]]) -> None:
    table, said = file
    data = data_of(said)
    study = study_of(data)
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        path = Path(folder) / "f.parquet"
        pq.write_table(table, path)
        found = outcome(study, data, path)
        patch.setattr(text_table, "_kept_as_they_are", lambda data: (frozenset(), None))
        slow = outcome(study, data, path)
    if isinstance(slow, str) or isinstance(found, str):
        assert found == slow
        return
    for frame in (found[0], slow[0]):
        if "time" in frame:
            frame["time"] = frame["time"].astype("datetime64[ns]")
    pd.testing.assert_frame_equal(found[0], slow[0])
    assert found[1:] == slow[1:]


@pytest.mark.parametrize("zone", [None, "UTC"])
def test_numbers_and_times_are_taken_as_they_are(zone: str | None, tmp_path: Path) -> None:
    times = pa.array([0, 3_600_000_000], pa.timestamp("us", zone))
    table = pa.table({"S": [1, 2], "W": [2.5, None], "V": pa.array([1, 2], pa.int8()), "T": times})
    path = tmp_path / "f.parquet"
    pq.write_table(table, path)
    cells = read_text_table(path, data_of({"time": "T"})).cells
    assert cells.dtypes.astype(str).tolist() == ["float64"] * 3 + ["datetime64[us]"]
    assert cells["T"].tolist() == [
        pd.Timestamp("1970-01-01 00:00"),
        pd.Timestamp("1970-01-01 01:00"),
    ]


def test_a_clock_of_a_zone_counts_in_utc_and_the_record_tells_of_it(tmp_path: Path) -> None:
    times = pa.array([0, 3_600_000_000], pa.timestamp("us", "Europe/Berlin"))
    table = pa.table({"S": [1, 2], "W": [2.5, 2.6], "V": [1.0, 1.0], "T": times})
    path, data = tmp_path / "f.parquet", data_of({"time": "T"})
    pq.write_table(table, path)
    frame, *told = outcome(study_of(data), data, path)
    # Half past one in Berlin in the winter of 1970 is half past midnight in UTC.
    assert frame["time"].tolist() == [
        pd.Timestamp("1970-01-01 00:00"),
        pd.Timestamp("1970-01-01 01:00"),
    ]
    assert "bear an offset" in str(told)
