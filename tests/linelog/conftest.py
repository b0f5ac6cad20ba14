"""A study of one run, written on the spot, so that each test knows what its daily files hold."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from line_days import DATA, day

from linestudy import open_study
from linestudy.study.load import Study

TOML = """format = 1
[study]
title = "A line log"
part = "P-1"
[[characteristic]]
id = "width"
name = "Width"
unit = "mm"
nominal = 2.8
lower = 2.75
upper = 2.85
[[characteristic]]
id = "gap"
name = "Gap"
unit = "mm"
lower = 0.5
upper = 0.7
[[gauge]]
id = "camera"
name = "Camera"
unit = "mm"
resolution = 0.001
[[data]]
file = "{name}"
gauge = "camera"
{data}
"""


@pytest.fixture
def make_study(tmp_path: Path) -> Callable[[str, str, str], Study]:
    """Write study.toml with its run and the run's file, and open it."""

    def make(name: str, content: str, data: str) -> Study:
        folder = tmp_path / "study"
        folder.mkdir(exist_ok=True)
        (folder / name).write_text(content, encoding="utf-8")
        text = TOML.format(name=name, data=data)
        (folder / "study.toml").write_text(text, encoding="utf-8")
        return open_study(folder)

    return make


@pytest.fixture
def line(make_study: Callable[[str, str, str], Study], tmp_path: Path) -> tuple[Study, Path]:
    """The study of a line, and an empty folder for its days."""
    study = make_study("run.csv", day(0), DATA)
    days = tmp_path / "days"
    days.mkdir()
    return study, days
