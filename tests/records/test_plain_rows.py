"""A camera's plain file read as numbers at once, against the same file read cell by cell: never a difference.

Both ways are ours; that either is right is what the other tests of this folder say.
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from two_ways import outcome, study_of

from linestudy.records import plain_rows, tables
from linestudy.records.read_files import read_source
from linestudy.study.model import Data

plain = st.decimals(-3, 12, places=3).map(str)
odd = st.sampled_from(
    [
        *("", " ", "NA", "9999", "9999.000", "-", "nan", "NaN", "inf", "-inf", "Infinity", "1e400", "1e5", "+5"),
        *(".5", "5.", "5_0", "0x1A", "True", "1,5", "1 2", " 2.5 ", "2.801 mm", "١", "\u00a05", "5\t", "null", "Total"),
    ]
)  # fmt: skip
marks = st.sampled_from(["", "NA", " 2.5", "5.", "1e5"])
#: What a file's cells are drawn from: mostly what a camera writes.
cells = st.sampled_from([plain, plain | marks, plain | marks, plain | plain | odd])
tags = st.sampled_from(["A", "B", "", " A", "Total", "n", "mm", "NA", "é", "7"])


@st.composite
def files(draw: st.DrawFn) -> tuple[bytes, dict[str, Any]]:
    """A file of a run, mostly plain, and what its [[data]] table says besides."""
    n = draw(st.integers(1, 12))
    steps = draw(st.lists(st.sampled_from([1, 1, 1, 2, 7, 0, -1]), min_size=n, max_size=n))
    order, rows, cell = 0, [], draw(cells)
    rising = draw(st.integers(0, 3)) > 0
    for step in steps:
        order += max(step, 1) if rising else step
        number = draw(st.sampled_from([str(order)] * 40 + [f"{order}.0", f" {order}", "", "x"]))
        rows.append([draw(tags), number, draw(cell), draw(cell)])
    if draw(st.integers(0, 5)) == 0:
        rows.append(draw(st.sampled_from([["Total", "", "3", ""], ["", "", "", ""], ["A", "9"]])))
    if draw(st.integers(0, 7)) == 0:
        rows.insert(0, ["", "", "mm", "mm"])
    mark = draw(st.sampled_from([",", ";"]))
    above = draw(st.sampled_from([[], [], ["Press 4"], ["", "a;b"]]))
    end = draw(st.sampled_from(["\n", "\n", "\r\n", "\r"]))
    lines = [*above, mark.join(["Tag", "S", "W", "V"]), *(mark.join(row) for row in rows)]
    text = end.join(lines) + draw(st.sampled_from(["", end, end + end]))
    encoding = draw(st.sampled_from(["utf-8", "utf-8", "utf-8-sig", "cp1252", "utf-16"]))
    said = draw(st.sampled_from([{}, {}, {"encoding": encoding}]))
    said = said | draw(
        st.sampled_from(
            [{}, {"station": "Tag"}, {"missing": ("", "NA", "9999")}, {"missing": ("NA",)}, {"unit": "inch"}]
        )
    )  # fmt: skip
    return text.encode(encoding, "replace"), said


@given(file=files())
@settings(max_examples=400)
@example(file=(b"Tag,S,W,V\nA,1,2.5,1\nA,2,nan,1\n", {}))
@example(file=(b"Tag,S,W,V\nA,1,2.5,1\nA,1,2.50,1\n", {}))
@example(file=(b"Tag,S,W,V\nn,1,2.5,1\nn,2,2.50,1\n", {}))
@example(file=(b"Tag,S,W,V\nn,9998,2,1\nn,9999,9999,1\nn,10000,3,1\n", {"missing": ("", "9999")}))
@example(file=(b"Tag,S,W,V\nn,9998,2,1\nn,,9999,1\n", {"missing": ("", "9999")}))
@example(file=(b"Tag,S,W,V\nn,9998,2,1\nn,inf,9999,1\n", {"missing": ("", "9999")}))
@example(file=(b"Tag,S,W,V\nn, 9998,2,1\nn,9999 ,9999,1\n", {"missing": ("", "9999")}))
def test_both_ways_read_the_same(file: tuple[bytes, dict[str, Any]]) -> None:
    raw, said = file
    data = Data(
        role="run", gauge="g", file="f.csv", order="S", columns={"w": "W", "v": "V"}, **said
    )
    study = study_of(data)
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        path = Path(folder) / "f.csv"
        path.write_bytes(raw)
        found = outcome(study, data, path)
        patch.setattr(tables, "may_be_plain", lambda data: False)
        slow = outcome(study, data, path)
    if isinstance(slow, str) or isinstance(found, str):
        assert found == slow
        return
    pd.testing.assert_frame_equal(found[0], slow[0])
    assert found[1:] == slow[1:]


def test_plain_files_are_read_the_quick_way(monkeypatch: pytest.MonkeyPatch) -> None:
    read = []
    true = plain_rows.rows_of_a_run

    def noted(*words: Any) -> Any:
        read.append(true(*words))
        return read[-1]

    monkeypatch.setattr(tables, "rows_of_a_run", noted)
    data = Data(
        role="run",
        gauge="g",
        file="f.csv",
        order="S",
        columns={"w": "W", "v": "W"},
        station="Tag",
        missing=("", "NA", "9999"),
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "f.csv"
        for raw in (
            b"Tag,S,W\nA,1,2.5\nB,9999,NA\n",
            b"\xef\xbb\xbfMachine 4\r\nTag;S;W\r\n\xc3\xa9;1;2.5\r\n",
        ):
            path.write_bytes(raw)
            read_source(study_of(data), data, path)
    assert [frame.dtypes["W"] for frame in read] == ["float64", "float64"]
    assert read[0]["W"].isna().tolist() == [False, True]
