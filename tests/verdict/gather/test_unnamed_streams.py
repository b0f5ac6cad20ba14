"""Streams that no line of study.toml names and that the readings show all the same."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy import open_study, read
from linestudy.results import Findings
from linestudy.verdict.gather.circumstances import circumstances_of

STUDY = """format = 1
[study]
title = "Unnamed"
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
"""


def of_rows(folder: Path, columns: dict[str, object], w: str = "W") -> str:
    """What is said of the streams of a run of rows in these columns, of which study.toml names one."""
    pd.DataFrame(columns).to_csv(folder / "run.csv", index=False)
    text = STUDY.replace('"W"', f'"{w}"')
    (folder / "study.toml").write_text(text, encoding="utf-8")
    return circumstances_of(read(open_study(folder)), Findings(), "w", "run").streams_unseen


@pytest.mark.parametrize("lanes", [2, 8])
def test_a_lane_that_only_the_place_in_the_stroke_or_a_left_out_column_shows(
    tmp_path: Path, lanes: int
) -> None:
    place = np.arange(2400) % lanes
    unit = np.random.default_rng(3).normal(size=2400)
    wide = 10 + unit * np.where(place == lanes - 1, 0.2, 0.1)
    assert f"among every {lanes} parts" in of_rows(tmp_path, {"W": wide})
    said = of_rows(tmp_path, {"W": wide, "Cavity": place + 1})
    assert f'the column "Cavity" ({lanes} labels)' in said
    # Its own index, of the normal distribution: 1 to a limit, in three standard deviations of 0.2.
    assert float(said.split("about ")[1].split(" ")[0]) == pytest.approx(1 / 0.6, rel=0.06)
    assert of_rows(tmp_path, {"W": 10 + 0.1 * unit, "Cavity": place + 1}) == ""


def test_what_follows_from_the_readings_or_moves_with_time_is_no_stream(tmp_path: Path) -> None:
    rng = np.random.default_rng(4)
    w = 10 + 0.1 * rng.normal(size=2400)
    halves = np.where(w < 10, "small", "large")
    assert of_rows(tmp_path, {"W": w, "Class": halves}) == ""
    # Two tools after each other are not streams beside each other, and a slow wave is none of the stroke.
    slow = w + 0.2 * np.sin(np.arange(2400) / 300)
    assert of_rows(tmp_path, {"W": slow, "Tool": np.arange(2400) // 1200}) == ""


def test_two_lanes_under_one_name_are_told_apart_by_their_place(tmp_path: Path) -> None:
    """Four cavities, and two names for them: each name holds a good one and another one."""
    place = np.arange(4800) % 4
    unit = np.random.default_rng(6).normal(size=4800)
    rows = {"W": 10 + unit * np.where(place == 3, 0.2, 0.1), "Lane": np.where(place % 2, "B", "A")}
    pd.DataFrame(rows).to_csv(tmp_path / "run.csv", index=False)
    text = STUDY + 'station = "Lane"\n'
    (tmp_path / "study.toml").write_text(text, encoding="utf-8")
    said = circumstances_of(read(open_study(tmp_path)), Findings(), "w", "run").streams_unseen
    assert "among every 4 parts" in said
    rows["W"] = 10 + 0.1 * unit * np.where(place % 2, 2, 1)
    pd.DataFrame(rows).to_csv(tmp_path / "run.csv", index=False)
    # What the names themselves tell is no stream without a name.
    assert circumstances_of(read(open_study(tmp_path)), Findings(), "w", "run").streams_unseen == ""
