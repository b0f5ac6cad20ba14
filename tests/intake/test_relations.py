"""Factors of 25.4, 1,000 and 39.37 between what belongs together are named before anything is computed."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy import open_study
from linestudy.intake import unit_doubts
from linestudy.records import read

TOML = """format = 1
[study]
title = "t"
part = "p"
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
lower = 2.7
upper = 2.9
[[gauge]]
id = "g"
name = "Camera"
[[gauge]]
id = "h"
name = "CMM"
[[data]]
role = "{role}"
file = "f.csv"
{keys}
"""
FACTORS = [1 / 25.4, 1 / 1000, 1000.0, 1 / 39.37]


def told(folder: Path, role: str, keys: str, text: str) -> str:
    (folder / "study.toml").write_text(TOML.format(role=role, keys=keys), encoding="utf-8")
    (folder / "f.csv").write_text(text, encoding="utf-8")
    return "\n".join(unit_doubts(read(open_study(folder))))


@pytest.mark.parametrize("factor", FACTORS)
def test_readings_against_the_drawing(tmp_path: Path, factor: float) -> None:
    text = "W\n" + "".join(f"{2.8 * factor * (1 + i / 1e4)!r}\n" for i in range(9))
    assert "the drawing" in told(tmp_path, "run", 'columns = { w = "W" }', text)


def test_masters_in_another_unit_than_their_readings(tmp_path: Path) -> None:
    text = "M,W\n" + "".join(f"{m},{m / 25.4:.5f}\n" for m in (2.7, 2.8, 2.9) for _ in range(4))
    found = told(tmp_path, "reference", 'gauge = "g"\nreference = "M"\ncolumns = { w = "W" }', text)
    assert "the masters' values there" in found
    assert "inch" in found


def test_two_gauges(tmp_path: Path) -> None:
    text = "P,A,B\n" + "".join(
        f"{i},{2.8 + i / 1000},{(2.8 + i / 1000) / 25.4}\n" for i in range(9)
    )
    keys = 'gauges = ["g", "h"]\npart = "P"\ncolumns = { w = ["A", "B"] }'
    assert "the second" in told(tmp_path, "paired", keys, text)


def test_sound_files_are_not_doubted(tmp_path: Path) -> None:
    text = "M,W\n" + "".join(f"{m},{m + 0.001}\n" for m in (2.7, 2.8, 2.9) for _ in range(4))
    keys = 'gauge = "g"\nreference = "M"\ncolumns = { w = "W" }'
    assert told(tmp_path, "reference", keys, text) == ""
    inches = "M [mm],W [in]\n" + "".join(f"{m},{m / 25.4:.6f}\n" for m in (2.7, 2.8, 2.9))
    keys = 'gauge = "g"\nreference = "M [mm]"\ncolumns = { w = "W [in]" }'
    assert told(tmp_path, "reference", keys, inches) == ""
