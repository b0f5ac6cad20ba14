"""Limits that a file of readings says itself, against those of study.toml."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linestudy import open_study, read
from linestudy.records.across.limits_said import NARROWER, WIDER
from linestudy.verdict.gather.of_files import limits_of_files

STUDY = """format = 1
[study]
title = "Said"
part = "P"
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
lower = 9.0
{upper}
[[data]]
role = "run"
file = "run.csv"
columns = {{ w = "Width" }}
order = "Stroke"
{more}
"""
VALUES = 10 + 0.1 * np.random.default_rng(3).normal(size=60).round(2)


def seen(folder: Path, head: str, *below: str, upper: str = "upper = 11.0", more: str = "") -> Any:
    names = head.split(",")
    cells = {"Width": VALUES, "Stroke": np.arange(1, 61)}
    rows = [
        ",".join(
            str(cells[n.split("=")[0]][k]) if n.split("=")[0] in cells else n.split("=")[1]
            for n in names
        )
        for k in range(60)
    ]
    heads = ",".join(n.split("=")[0] for n in names)
    (folder / "run.csv").write_text("\n".join([heads, *below, *rows]), encoding="utf-8")
    text = STUDY.format(upper=upper, more=more)
    (folder / "study.toml").write_text(text, encoding="utf-8")
    records = read(open_study(folder))
    return [
        (item.what, item.evidence) for item in records.sources[0].seen if "says" in item.evidence
    ]


@pytest.mark.parametrize("name", ["USL", "Width USL", "Width_max", "Obere Grenze"])
def test_a_column_beside_the_readings_says_a_limit(tmp_path: Path, name: str) -> None:
    ((what, said),) = seen(tmp_path, f"Stroke,Width,{name}=10.5")
    assert what == WIDER
    assert said == "run.csv says an upper limit of 10.5, study.toml 11"


def test_rows_below_the_header_say_limits(tmp_path: Path) -> None:
    found = seen(tmp_path, "Stroke,Width", "USL,10.5", "LSL,8.5", more="")
    assert [what for what, _ in found] == [NARROWER, WIDER]


def test_a_limit_that_study_toml_has_not_is_told(tmp_path: Path) -> None:
    ((what, said),) = seen(tmp_path, "Stroke,Width,USL=10.5", upper="")
    assert (what, said.split(", ")[1]) == (WIDER, "study.toml no upper limit")


def test_a_nominal_with_deviations_says_limits(tmp_path: Path) -> None:
    found = seen(tmp_path, "Stroke,Width,Nominal=10,Tol +=0.5,Tol -=-1.5")
    assert found == [
        (NARROWER, "run.csv says a lower limit of 8.5, study.toml 9"),
        (WIDER, "run.csv says an upper limit of 10.5, study.toml 11"),
    ]


def test_a_file_with_one_reading_a_row_says_the_limits_of_each(tmp_path: Path) -> None:
    rows = [
        f"{k},{name},{value},{usl}"
        for k in range(30)
        for name, value, usl in (("w", 10.1, 10.5), ("h", 4, 7))
    ]
    (tmp_path / "run.csv").write_text(
        "\n".join(["Stroke,Feature,Value,USL", *rows]), encoding="utf-8"
    )
    text = STUDY.format(upper="upper = 11.0", more="").replace(
        'columns = { w = "Width" }', 'long = { characteristic = "Feature", value = "Value" }'
    )
    (tmp_path / "study.toml").write_text(text, encoding="utf-8")
    found = read(open_study(tmp_path)).sources[0].seen
    assert [item.evidence for item in found if item.what == WIDER] == [
        "run.csv says an upper limit of 10.5, study.toml 11"
    ]


@pytest.mark.parametrize(
    "head",
    [
        "Stroke,Width,Max=300",
        "Stroke,Width,Min=0",
        "Stroke,Width,USL=11.00",
        "Stroke,Width,Height USL=4.5",
        "Stroke,Width,Speed max=300",
    ],
)
def test_the_same_limits_and_those_of_others_say_nothing(tmp_path: Path, head: str) -> None:
    assert not seen(tmp_path, head)


def test_converted_readings_are_left_alone(tmp_path: Path) -> None:
    assert not seen(tmp_path, "Stroke,Width,USL=1.05", more='unit = "cm"')


def test_what_was_noticed_is_told_apart() -> None:
    class Source:
        seen = ()

    assert limits_of_files([Source()], "w") == ((), [])  # type: ignore[list-item]
