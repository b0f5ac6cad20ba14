"""Columns that hold what looks like readings and that no one reads: the other lane of a wide file."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy import open_study, read
from linestudy.records.across.unread import (
    NAMESAKE,
    UNREAD_NUMBERS,
    UNREAD_STREAM,
    WORKED_OUT,
)
from linestudy.records.stream_names import differ_by_stream_only
from linestudy.results import Findings
from linestudy.verdict.gather.circumstances import circumstances_of
from linestudy.verdict.gather.of_files import limits_of_files, unread_numbers, worked_out

STUDY = """format = 1
[study]
title = "Unread"
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
columns = {{ w = {columns} }}
order = "Stroke"
"""
DRAW = np.random.default_rng(11)
#: Of 300 strokes: a lane and its twin, which lies off; other things that a camera writes.
COLUMNS = {
    "Stroke": np.arange(1, 301),
    "Width_L": 10 + 0.1 * DRAW.normal(size=300).round(2),
    "Width_R": 10.4 + 0.12 * DRAW.normal(size=300).round(2),
    "Width_R text": np.repeat(["bright", "dull", "grey"], 100),
    "Height": 10.1 + 0.1 * DRAW.normal(size=300).round(2),
    "Temperature": 23 + DRAW.normal(size=300).round(1),
    "Exposure_L": np.full(300, 10.0),
    "Lot": np.repeat([9, 10, 11], 100),
}


def looked_at(folder: Path, *names: str, columns: str = '"Width_L"', **more: object) -> object:
    frame = pd.DataFrame({name: COLUMNS[name] for name in ("Stroke", "Width_L", *names)} | more)
    frame.to_csv(folder / "run.csv", index=False)
    (folder / "study.toml").write_text(STUDY.format(columns=columns), encoding="utf-8")
    return read(open_study(folder))


def kinds(records: object) -> set[str]:
    return {one.what for _, one in records.screening.seen} & {UNREAD_NUMBERS, UNREAD_STREAM}  # type: ignore[attr-defined]


def test_the_other_lane_asks_for_approval_and_is_told_by_check(tmp_path: Path) -> None:
    records = looked_at(tmp_path, "Width_R", "Temperature")
    assert kinds(records) == {UNREAD_STREAM}
    said = circumstances_of(records, Findings(), "w", "run").streams_unseen
    assert said.startswith('the column "Width_R" is read by no characteristic')
    assert 'it holds 300 readings like those of "Width_L" (run.csv)' in said


def test_both_lanes_read_leave_nothing_to_tell(tmp_path: Path) -> None:
    records = looked_at(tmp_path, "Width_R", columns='["Width_L", "Width_R"]')
    assert kinds(records) == set()


def test_numbers_like_the_readings_are_told_and_nothing_is_asked(tmp_path: Path) -> None:
    raw = COLUMNS["Width_L"] + 0.02
    records = looked_at(tmp_path, "Height", Raw=raw, Width_L_2=raw)
    assert kinds(records) == {UNREAD_NUMBERS}
    (said,) = unread_numbers(list(records.sources), "w")
    assert 'columns "Height", "Raw" (row by row, r = 1.00), "Width_L_2" (row by row' in said
    assert circumstances_of(records, Findings(), "w", "run").streams_unseen == ""


def test_what_else_stands_in_a_file_is_no_reading(tmp_path: Path) -> None:
    others = [name for name in COLUMNS if name not in ("Stroke", "Width_L", "Width_R", "Height")]
    assert kinds(looked_at(tmp_path, *others)) == set()


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        ("WidthL", "WidthR", True),
        ("Breite links [mm]", "Breite rechts [mm]", True),
        ("Gap 1", "Gap 12", True),
        ("S1_Width", "S2_Width", True),
        ("Width", "Width_2", True),
        ("Width", "Width R", True),
        ("Width", "Width raw", False),
        ("Offset X", "Offset Y", False),
        ("Width_min", "Width_max", False),
        ("Width 1", "Height 2", False),
        ("L", "R", False),
        ("Width", "Width", False),
    ],
)
def test_names_of_the_same_reading(one: str, other: str, apart: bool) -> None:
    assert differ_by_stream_only(one, other) is apart
    assert differ_by_stream_only(other, one) is apart


RAW = 10 + 0.1 * np.random.default_rng(4).normal(size=300).round(2)
SLOW = (RAW + 0.15 * np.sin(np.arange(300) / 40)).round(3)
WORKED = {
    "times a factor": (RAW, 10 + 0.7 * (RAW - 10)),
    "averaged over neighbours": (RAW, np.convolve(np.pad(RAW, 1, "edge"), np.ones(3) / 3, "valid")),
    "stretches of rows": (SLOW, SLOW - np.repeat(SLOW.reshape(-1, 50).mean(1), 50) + 10),
    "in the place of some": (RAW, np.where(np.abs(RAW - 10) > 0.12, 10.0, RAW)),
}


@pytest.mark.parametrize("how", list(WORKED))
def test_readings_worked_out_of_a_column_are_told(tmp_path: Path, how: str) -> None:
    raw, readings = WORKED[how]
    study = looked_at(tmp_path, Width_L=readings.round(3), Untreated=raw)
    ((doubt),) = worked_out(list(study.sources), "w")
    assert how in doubt.evidence
    assert doubt.p == 0.0


@pytest.mark.parametrize(
    "other",
    [
        RAW + 0.012,
        10 + 1.3 * (RAW - 10) + 0.02 * DRAW.normal(size=300).round(2),
        10 + 0.13 * DRAW.normal(size=300).round(2),
    ],
    ids=["an offset", "another gauge", "another size"],
)
def test_another_reading_of_the_part_was_not_worked_out(tmp_path: Path, other: object) -> None:
    study = looked_at(tmp_path, Width_L=RAW, Untreated=other)
    assert not [item for item in study.sources[0].seen if item.what == WORKED_OUT]


def test_a_column_of_the_characteristics_name_is_told_where_another_is_read(tmp_path: Path) -> None:
    study = looked_at(tmp_path, Width=RAW, columns='"Width_L"')
    ((said,), _) = limits_of_files(list(study.sources), "w")
    assert said.startswith('run.csv has a column "Width", as the characteristic is called')
    far = looked_at(tmp_path, Width=RAW + 50)
    assert not [item for item in far.sources[0].seen if item.what == NAMESAKE]
