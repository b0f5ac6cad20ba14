"""Coils of one name, and rows of one order number that a column tells apart."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy import open_study, read
from linestudy.records.rows.again import coils_again, streams_alike

STUDY = """format = 1
[study]
title = "Again"
part = "P"
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
lower = 9.0
upper = 11.0
[[data]]
role = "run"
file = "run.csv"
columns = { w = "W" }
order = "Stroke"
"""


def run_of(coils: str, each: int = 60, lanes: str = "L") -> pd.DataFrame:
    coil = np.repeat(list(coils), each * len(lanes))
    return pd.DataFrame({"coil": coil, "station": list(lanes) * (coil.size // len(lanes))})


@pytest.mark.parametrize("lanes", ["L", "LR"])
def test_a_name_that_comes_again_is_another_coil(lanes: str) -> None:
    coil, told = coils_again(run_of("AABCAB", lanes=lanes))
    assert coil is not None
    assert list(dict.fromkeys(coil)) == ["A", "B", "C", "A (2)", "B (2)"]
    assert told[0][1] == 2


def test_rows_of_the_next_coil_that_came_early_are_none() -> None:
    frame = run_of("AB")
    frame.loc[[50, 55, 70], "coil"] = ["B", "B", "A"]
    assert coils_again(frame) == (None, [])
    # Two coils at once, one on each lane.
    lanes = run_of("AABB", lanes="LR")
    lanes.loc[lanes["station"] == "R", "coil"] = "C"
    assert coils_again(lanes) == (None, [])


def test_the_columns_that_tell_rows_of_one_number_apart_are_named(tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    rows = [
        (stroke, lane, head, round(10 + 0.1 * rng.normal(), 4))
        for stroke in range(1, 101)
        for lane in "LR"
        for head in "ab"
    ]
    pd.DataFrame(rows, columns=["Stroke", "Lane", "Head", "W"]).to_csv(
        tmp_path / "run.csv", index=False
    )
    for named, said in (
        ("", 'station = ["Lane", "Head"]'),
        ('station = "Lane"\n', 'station = ["Lane", "Head"]'),
        ('station = ["Lane", "Head"]\n', ""),
    ):
        (tmp_path / "study.toml").write_text(STUDY + named)
        seen = read(open_study(tmp_path)).sources[0].seen
        assert said in "".join(
            one.evidence for one in seen if one.what == "rows of one order number"
        )
        assert bool(said) == any(one.what == "rows of one order number" for one in seen)


def test_two_streams_that_read_one_part_are_told() -> None:
    rng = np.random.default_rng(2)
    order = np.repeat(np.arange(1, 201), 2)
    one = rng.normal(10, 0.1, 200).round(3)
    other = np.where(np.arange(200) < 150, one, rng.normal(10, 0.1, 200).round(3))
    frame = pd.DataFrame({"order": order, "station": np.tile(["L", "R"], 200)})
    frame["w"] = np.column_stack([one, other]).ravel()
    # Coarse steps are equal by chance, and are none of that.
    frame["v"] = rng.integers(0, 2, 400) + 5.0
    told = streams_alike(frame, ["w", "v"])
    assert len(told) == 1
    assert "read alike in 150 of 200 strokes" in told[0][2]
    # Parts that take turns have no stroke in common.
    assert streams_alike(frame.assign(order=np.arange(400)), ["w"]) == []
