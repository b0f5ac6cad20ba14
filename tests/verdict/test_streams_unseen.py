"""Streams of a tool that the readings do not show ask for the customer's approval: a good lane alone is not the tool."""

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
title = "Unseen"
part = "P"
{tool}
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
lower = 9.0
upper = 11.0
[[data]]
role = "run"
file = "run.csv"
columns = {{ w = "W" }}
order = "Stroke"
{station}
"""
TOOL = "[tool]\nparts_per_stroke = {}"


def unseen(folder: Path, parts: int | None, lanes: dict[str, int], *, station: bool = True) -> str:
    """What is said of a run in which each lane made the last so many of 200 strokes."""
    rows = [
        (stroke, lane)
        for stroke in range(1, 201)
        for lane, count in lanes.items()
        if stroke > 200 - count
    ]
    frame = pd.DataFrame(rows, columns=["Stroke", "Lane"])
    frame["W"] = 10 + 0.1 * np.random.default_rng(1).normal(size=len(frame))
    frame.to_csv(folder / "run.csv", index=False)
    tool = "" if parts is None else TOOL.format(parts)
    named = 'station = "Lane"' if station else ""
    (folder / "study.toml").write_text(STUDY.format(tool=tool, station=named))
    return circumstances_of(read(open_study(folder)), Findings(), "w", "run").streams_unseen


@pytest.mark.parametrize(
    ("parts", "lanes", "said"),
    [
        (2, {"L": 200, "R": 15}, "only 1 stream of them has readings enough (R: 15)"),
        (4, {"1": 200, "2": 200}, "a stroke makes 4 parts and only 2 streams"),
        (2, {"L": 200}, "only 1 stream"),
        (2, {"L": 200, "": 200}, "only 1 stream"),
        (None, {"L": 200, "R": 15}, "readings enough"),
        (2, {"L": 200, "R": 200}, ""),
        (2, {"L": 200, "R": 190}, ""),
        (2, {"L": 200, "R": 60}, "R has no reading in the first 140 of 200 strokes"),
        (2, {"L": 200, "R": 200, "?": 1}, ""),
        (8, {f"C{k}": 16 for k in range(8)}, ""),
        (8, {f"C{k}": 16 for k in range(7)}, "a stroke makes 8 parts and only 7 streams"),
        (None, {"L": 200, "R": 200}, ""),
    ],
)
def test_what_no_stream_stands_for(
    tmp_path: Path, parts: int | None, lanes: dict[str, int], said: str
) -> None:
    found = unseen(tmp_path, parts, lanes)
    assert said in found if said else found == ""


def test_parts_of_a_stroke_that_no_column_tells_apart(tmp_path: Path) -> None:
    assert "no stream is named" in unseen(tmp_path, 2, {"L": 200}, station=False)
    assert unseen(tmp_path, None, {"L": 200}, station=False) == ""


def test_a_lane_that_lacks_what_lies_far_off_is_told(tmp_path: Path) -> None:
    unseen(tmp_path, 2, {"L": 200, "R": 200})
    log = pd.read_csv(tmp_path / "run.csv")
    far = (log["Lane"] == "R") & ((log["W"] - 10).abs() > 0.15)
    log[~far].to_csv(tmp_path / "run.csv", index=False)
    around = circumstances_of(read(open_study(tmp_path)), Findings(), "w", "run")
    assert f"R has no reading in {int(far.sum())} of " in around.streams_unseen
    # Lanes that are measured in turns lack as many each, and nothing is said.
    log[(log["Stroke"] % 2 == 0) == (log["Lane"] == "L")].to_csv(tmp_path / "run.csv", index=False)
    turns = circumstances_of(read(open_study(tmp_path)), Findings(), "w", "run")
    assert turns.streams_unseen == ""


def test_an_event_of_the_stream_says_why_it_began_late(tmp_path: Path) -> None:
    assert "the first 140 of 200" in unseen(tmp_path, 2, {"L": 200, "R": 60})
    toml = tmp_path / "study.toml"
    said = '[[event]]\nname = "lane R set up"\nat = 141\nstream = "{}"\n'
    known = toml.read_text()
    for stream, told in (("L", True), ("R", False)):
        toml.write_text(known + said.format(stream))
        around = circumstances_of(read(open_study(tmp_path)), Findings(), "w", "run")
        assert bool(around.streams_unseen) is told


def test_the_rule_asks_for_approval() -> None:
    from linestudy.verdict import Tags, decide, resolve
    from linestudy.verdict.facts import Circumstances, GaugeFacts

    y = np.random.default_rng(2).normal(size=1000)
    for around, least in ((Circumstances(), False), (Circumstances(streams_unseen="of 2 …"), True)):
        found = decide(
            y, Tags(), GaugeFacts(), resolve(), lower=-8.0, upper=8.0, circumstances=around
        )
        sample = next(item for item in found.rulings if item.rule == "sample")
        assert (sample.effect == "customer approval required") is least
