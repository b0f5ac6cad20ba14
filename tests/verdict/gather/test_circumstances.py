"""What bears on a claim and is in no reading: streams that were not read, sorting, what was left out.

A good lane alone is not the tool, so streams that the readings do not show ask for the customer's approval.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

import numpy as np
import pandas as pd
import pytest

from linestudy import open_study, read
from linestudy.results import Finding, Findings, Interval, Unjudged
from linestudy.verdict import Circumstances
from linestudy.verdict.gather.circumstances import circumstances_of, wear_or_drift


@dataclass(frozen=True)
class Found(Finding):
    """An index of the process before sorting."""

    Ppk: Interval
    title: ClassVar[str] = "Before sorting"

    @property
    def statement(self) -> str:
        return "Ppk before sorting"


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
    # A lane that makes a part in every third stroke lacks none between them; of those it makes it may lack some.
    third = log[(log["Lane"] == "L") | (log["Stroke"] % 3 == 1)]
    for kept, said in ((third, ""), (third[~far.loc[third.index]], "R has no reading in")):
        kept.to_csv(tmp_path / "run.csv", index=False)
        around = circumstances_of(read(open_study(tmp_path)), Findings(), "w", "run")
        assert around.streams_unseen.startswith(said) if said else not around.streams_unseen


def test_an_event_of_the_stream_says_why_it_began_late(tmp_path: Path) -> None:
    assert "the first 140 of 200" in unseen(tmp_path, 2, {"L": 200, "R": 60})
    toml = tmp_path / "study.toml"
    said = '[[event]]\nname = "lane R set up"\nat = 141\nstream = "{}"\n'
    known = toml.read_text()
    for stream, told in (("L", True), ("R", False)):
        toml.write_text(known + said.format(stream))
        around = circumstances_of(read(open_study(tmp_path)), Findings(), "w", "run")
        assert bool(around.streams_unseen) is told


WIDE = """format = 1
[study]
title = "Wide"
part = "P"
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
lower = 9.0
upper = 11.0
[[data]]
role = "run"
file = "wide.csv"
columns = { w = ["1", "2", "3", "4"] }
order = "Sample"
"""


def test_a_share_left_out_of_a_wide_sheet_is_one_of_its_readings(tmp_path: Path) -> None:
    """Of 50 rows of four readings 30 readings are blank: 15 in 100, not 60."""
    values = np.random.default_rng(3).normal(10, 0.1, (50, 4)).round(3)
    frame = pd.DataFrame(values, columns=list("1234"))
    frame.insert(0, "Sample", np.arange(1, 51))
    frame.iloc[:30, 4] = np.nan
    frame.to_csv(tmp_path / "wide.csv", index=False)
    (tmp_path / "study.toml").write_text(WIDE)
    around = circumstances_of(read(open_study(tmp_path)), Findings(), "w", "run")
    (blank,) = around.left_out
    assert (blank.count, blank.share) == (30, pytest.approx(30 / 200))
    assert around.excluded == pytest.approx(30 / 200)


def test_what_is_left_out_is_told_beyond_one_in_a_hundred(tmp_path: Path) -> None:
    for blank, told in ((2, False), (3, True)):
        unseen(tmp_path, 2, {"L": 100, "R": 100})
        log = pd.read_csv(tmp_path / "run.csv").astype({"W": object})
        log.loc[50 : 49 + blank, "W"] = ""
        log.to_csv(tmp_path / "run.csv", index=False)
        around = circumstances_of(read(open_study(tmp_path)), Findings(), "w", "run")
        assert around.excluded == pytest.approx(blank / 200)
        assert around.set_aside == 0
        assert bool(around.left_out) is told
    assert [(one.count, one.named) for one in around.left_out] == [(3, False)]


def test_the_index_before_sorting_takes_the_place_of_one_that_is_refused(tmp_path: Path) -> None:
    """Where an index of the parts as they are is given, that one counts; a refusal is told without its full stop."""
    unseen(tmp_path, None, {"L": 200})
    records = read(open_study(tmp_path))
    before = Interval(0.6, 0.5, 0.7, 0.95, "example")

    def around(*, refused: bool) -> Circumstances:
        findings = Findings()
        if refused:
            findings.add("w", ("capability",), Unjudged("Capability", "Parts were sorted."))
        findings.add("w", ("capability", "before_sorting"), Found(before))
        return circumstances_of(records, findings, "w", "run")

    assert around(refused=True).before_sorting == before
    assert around(refused=True).refused == "Parts were sorted"
    assert around(refused=False).before_sorting is None
    assert around(refused=False).sorted_parts


@pytest.mark.parametrize(
    ("tool", "camera", "means"),
    [
        (0.0, 0.03, "it may be the gauge that moves, not the tool"),
        (0.05, 0.0, ""),
        (0.05, 0.02, "both move, and 0.0"),
        # A tool that wears as fast as its gauge drifts the other way is not seen to move, and does.
        (0.03, -0.03, "both move, and 0.0"),
        (0.0, 0.0, ""),
    ],
)
def test_a_master_read_along_the_run_tells_drift_of_the_gauge_from_wear(
    tool: float, camera: float, means: str
) -> None:
    from linestudy.gauges import drift_study
    from linestudy.stability import tool_wear

    rng, order = np.random.default_rng(6), np.arange(1.0, 4001)
    y = 10 + (tool + camera) * order / 1000 + 0.05 * rng.normal(size=order.size)
    at = order[::100]
    master = 10 + camera * at / 1000 + 0.004 * rng.normal(size=at.size)
    found = Findings()
    found.add("w", ("stability", "tool_wear"), tool_wear(y, order, lower=9, upper=11, unit="mm"))
    found.add("w", ("gauges", "camera", "drift"), drift_study(at, master, 10.0, unit="mm"))
    said = wear_or_drift(found, "w", "camera", "mm")
    assert len(said) == bool(means)
    assert all(means in text for text in said)
    assert all(text.startswith("per 1,000 strokes readings move by") for text in said)
    assert wear_or_drift(found, "w", "another", "mm") == []
