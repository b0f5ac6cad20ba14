"""Which resets a run's tool life is cut at: those named, else steps that take the wear back."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy import open_study, read
from linestudy.capability.evaluation import evaluate
from linestudy.capability.wear.of_run import and_found, found_resets, of_tool_life, wear_differently
from linestudy.capability.wear.tool_life_finding import ToolLifeStudy
from linestudy.gauges.evaluation import evaluate as of_gauges
from linestudy.results import Findings
from linestudy.stability.evaluation import of_characteristic
from linestudy.stability.said_of_run import events_of

STUDY = """format = 1
[study]
title = "Wear"
part = "P"
[[characteristic]]
id = "w"
name = "W"
unit = "mm"
lower = 9.0
upper = 11.0
[[data]]
role = "run"
file = "run.csv"
columns = { w = "W" }
order = "Hub"
"""
EVENT = '[[event]]\nname = "reground"\nat = %d\ncharacteristic = "w"\n'


def life(folder: Path, events: tuple[int, ...], wear: float = 0.4, more: str = "") -> Findings:
    order = np.arange(1, 4001)
    y = 10 + wear * ((order - 1) % 2000) / 1000 + np.random.default_rng(1).normal(0, 0.05, 4000)
    pd.DataFrame({"Hub": order, "W": y.round(4)}).to_csv(folder / "run.csv", index=False)
    (folder / "study.toml").write_text(STUDY + "".join(EVENT % at for at in events) + more)
    study = open_study(folder)
    records, item, new = read(study), study.characteristic("w"), Findings()
    found = of_characteristic(study, records, item)
    of_tool_life(records, item, records.table("run", "w"), found, new)
    return new


def test_named_regrinds_cut_the_run_into_lives(tmp_path: Path) -> None:
    found = life(tmp_path, (2001,)).get("w", "capability", "tool_life")
    assert [item.at for item in found.regrinds] == [2001]
    assert found.found == 0
    assert 0.4 in found.slope_per_thousand


def test_one_sentence_says_why_there_are_two_slopes(tmp_path: Path) -> None:
    why = "a level of its own between all named events"
    found = life(tmp_path, (2001,)).get("w", "capability", "tool_life")
    assert not any(why in note for note in found.cautions)
    # An event of the whole line is no regrind of this characteristic, and may change its level.
    found = life(tmp_path, (2001,), more='[[event]]\nname = "coil change"\nat = 1200\n')
    assert any(why in note for note in found.get("w", "capability", "tool_life").cautions)


def test_wear_that_events_take_back_is_told_where_none_is_said_to(tmp_path: Path) -> None:
    more = "".join(f'[[event]]\nname = "cleaned"\nat = {at}\n' for at in range(401, 4000, 400))
    order = np.arange(1, 4001)
    y = 10 + 0.2 * ((order - 1) % 400) / 400 + np.random.default_rng(1).normal(0, 0.05, 4000)
    pd.DataFrame({"Hub": order, "W": y.round(4)}).to_csv(tmp_path / "run.csv", index=False)
    (tmp_path / "study.toml").write_text(STUDY + more)
    study = open_study(tmp_path)
    records, item, new = read(study), study.characteristic("w"), Findings()
    of_tool_life(
        records, item, records.table("run", "w"), of_characteristic(study, records, item), new
    )
    reason = new.get("w", "capability", "tool_life").reason
    assert "something takes the wear back" in reason


def test_a_regrind_that_nobody_named_is_found_and_said(tmp_path: Path) -> None:
    found = life(tmp_path, ()).get("w", "capability", "tool_life")
    assert abs(found.regrinds[0].at - 2000) < 120
    assert found.found == 1
    assert any("named nowhere" in note for note in found.cautions)


@pytest.mark.parametrize("named", [(1001,), (1001, 3001)])
def test_regrinds_that_are_not_all_named_are_found_beside_those_that_are(
    named: tuple[int, ...],
) -> None:
    order = np.arange(1.0, 4001.0)
    y = 10 + 0.4 * ((order - 1) % 1000) / 1000 + np.random.default_rng(2).normal(0, 0.05, 4000)
    resets, unnamed = and_found(pd.DataFrame({"order": order, "value": y}), named)
    assert unnamed == 3 - len(named)
    assert np.allclose(resets, [1001, 2001, 3001], atol=120)
    assert set(named) < set(resets)


def test_where_all_are_named_none_is_found_beside_them() -> None:
    order = np.arange(1.0, 4001.0)
    for seed in range(5):
        noise = np.random.default_rng(seed).normal(0, 0.05, 4000)
        y = 10 + 0.4 * ((order - 1) % 1000) / 1000 + noise
        table = pd.DataFrame({"order": order, "value": y})
        assert and_found(table, (1001, 2001, 3001)) == ((1001, 2001, 3001), 0)


def test_an_event_at_a_reset_that_was_found_is_said(tmp_path: Path) -> None:
    event = '[[event]]\nname = "punch changed"\nat = 2001\n'
    found = life(tmp_path, (), more=event).get("w", "capability", "tool_life")
    assert any("lies at an event" in note and "punch changed" in note for note in found.cautions)


def test_without_wear_there_is_no_tool_life(tmp_path: Path) -> None:
    assert len(life(tmp_path, (2001,), wear=0.0)) == 0


def test_a_regrind_of_one_stream_is_no_regrind_of_the_other(tmp_path: Path) -> None:
    """Two lanes wear alike and are ground at strokes of their own: each life is its own, the worse one is the tool's."""
    n = 4000
    order, lane = np.repeat(np.arange(1, n + 1), 2), np.tile(["L", "R"], n)
    ground = {"L": 2000, "R": 1000}
    since = np.array(
        [(o - 1) if o <= ground[k] else o - 1 - ground[k] for o, k in zip(order, lane, strict=True)]
    )
    rng = np.random.default_rng(2)
    y = 9.6 + 0.2 * since / 1000 + 0.1 * (lane == "R") + rng.normal(0, 0.05, 2 * n)
    pd.DataFrame({"Hub": order, "Lane": lane, "W": y.round(4)}).to_csv(
        tmp_path / "run.csv", index=False
    )
    text = STUDY.replace('order = "Hub"', 'order = "Hub"\nstation = "Lane"')
    text += "".join(
        f'[[event]]\nname = "reground"\nat = {at + 1}\ncharacteristic = "w"\nstream = "{name}"\n'
        for name, at in ground.items()
    )
    (tmp_path / "study.toml").write_text(text)
    study = open_study(tmp_path)
    records = read(study)
    found = of_characteristic(study, records, study.characteristic("w"))
    found.update(evaluate(study, records, found))
    lives = {name: found.get("w", "streams", name, "tool_life") for name in ground}
    assert {name: [one.at for one in life.regrinds] for name, life in lives.items()} == {
        "L": [2001.0],
        "R": [1001.0],
    }
    assert all(0.2 in life.slope_per_thousand for life in lives.values())
    assert lives["R"].life == 3000
    tool = found.get("w", "capability", "tool_life")
    assert "life of R" in tool.cautions[0]
    assert "wear of a tool life" in found.get("w", "capability").method
    # Marks on the chart name the stream.
    assert ("reground (R)") in {name for _, name in events_of(study, study.characteristic("w"))}
    assert {name for _, name in events_of(study, study.characteristic("w"), "L")} == {"reground"}


@pytest.mark.parametrize(("left", "lives"), [(0.0, {"R"}), (-0.4, {"L", "R"}), (0.4, set())])
def test_lanes_that_wear_differently_have_lives_of_their_own(
    tmp_path: Path, left: float, lives: set[str]
) -> None:
    """One slope of both would be half of that of the lane that wears, and none where they wear against each other."""
    n, wear = 4000, {"L": left, "R": 0.4}
    order, lane = np.repeat(np.arange(1, n + 1), 2), np.tile(["L", "R"], n)
    slope = np.array([wear[name] for name in lane]) / 1000
    y = 10 + slope * ((order - 1) % 2000) + np.random.default_rng(2).normal(0, 0.05, 2 * n)
    frame = pd.DataFrame({"Hub": order, "Lane": lane, "W": y.round(4)})
    frame.to_csv(tmp_path / "run.csv", index=False)
    text = STUDY + 'station = "Lane"\n' + EVENT % 2001
    (tmp_path / "study.toml").write_text(text, encoding="utf-8")
    study = open_study(tmp_path)
    records, item, new = read(study), study.characteristic("w"), Findings()
    table = records.table("run", "w")
    streams = dict(iter(table.groupby("station")))
    assert wear_differently(streams, (2001,)) is bool(lives)
    found = of_characteristic(study, records, item)
    of_tool_life(records, item, table, found, new, streams)
    whole = new.get("w", "capability", "tool_life")
    assert 0.4 in whole.slope_per_thousand or -0.4 in whole.slope_per_thousand
    own = {name: new.get("w", "streams", name, "tool_life") for name in streams}
    assert {name for name, one in own.items() if isinstance(one, ToolLifeStudy)} == lives
    assert any("wear differently" in note for note in whole.cautions) is bool(lives)
    if lives == {"R"}:
        # 0.4 mm per 1,000 strokes from 10, and an index of 1.33 asks for 4 SD to 11.
        assert (11 - 10 - 3.99 * 0.05) / 0.0004 in whole.strokes_to_index


def test_a_run_without_coils_says_that_the_interval_of_its_wear_is_too_narrow(
    tmp_path: Path,
) -> None:
    said = "63 to 93 % of runs"
    found = life(tmp_path, (2001,)).get("w", "capability", "tool_life")
    assert any(said in note for note in found.cautions)
    frame = pd.read_csv(tmp_path / "run.csv")
    for coils, told in ((["C1"] * 4000, False), (["C1"] * 3000 + [""] * 1000, True)):
        frame.assign(Coil=coils).to_csv(tmp_path / "run.csv", index=False)
        text = STUDY + 'coil = "Coil"\n' + EVENT % 2001
        (tmp_path / "study.toml").write_text(text, encoding="utf-8")
        study = open_study(tmp_path)
        records, item, new = read(study), study.characteristic("w"), Findings()
        table, stability = records.table("run", "w"), of_characteristic(study, records, item)
        of_tool_life(records, item, table, stability, new)
        notes = new.get("w", "capability", "tool_life").cautions
        assert any(said in note for note in notes) is told


def test_wear_that_is_not_straight_is_told(tmp_path: Path) -> None:
    order = np.arange(1, 6001)
    age = ((order - 1) % 2000) / 2000
    noise = np.random.default_rng(1).normal(0, 0.05, 6000)
    study_text = STUDY + "".join(EVENT % at for at in (2001, 4001))
    for bent, y in ((True, 10 + 0.4 * age**4), (False, 10 + 0.4 * age)):
        pd.DataFrame({"Hub": order, "W": (y + noise).round(4)}).to_csv(
            tmp_path / "run.csv", index=False
        )
        (tmp_path / "study.toml").write_text(study_text)
        study = open_study(tmp_path)
        records, item, new = read(study), study.characteristic("w"), Findings()
        charted = of_characteristic(study, records, item)
        of_tool_life(records, item, records.table("run", "w"), charted, new)
        found = new.get("w", "capability", "tool_life")
        said = " ".join([getattr(found, "reason", ""), *getattr(found, "cautions", ())])
        assert ("Wear is not straight" in said) == bent


@pytest.mark.proof
def test_coils_that_nobody_named_are_no_regrinds() -> None:
    """Of 60 runs that do not wear, with coils of 0.3 to 0.6 standard deviations, one in nine had resets found by a slope alone."""
    found = 0
    for seed in range(60):
        rng = np.random.default_rng(seed)
        coil = np.arange(2000) // int(rng.integers(80, 600))
        level = rng.uniform(0.3, 0.6) * rng.normal(size=25)[coil]
        found += bool(found_resets(rng.normal(size=2000) + level, np.arange(2000.0)))
    assert found <= 3


@pytest.mark.proof
@pytest.mark.parametrize("lanes", [2, 5])
def test_regrinds_of_one_lane_that_nobody_named_are_found_in_that_lane(
    tmp_path: Path, lanes: int
) -> None:
    """One lane wears and is ground twice; among the others its slope is small, and nothing names the strokes."""
    n, names = 3000, [f"L{k}" for k in range(lanes)]
    order, lane = np.repeat(np.arange(1, n + 1), lanes), np.tile(names, n)
    y = 10 + 0.1 * np.random.default_rng(4).normal(size=n * lanes)
    y += 0.2 * (((order - 1) % 1000) / 1000) * (lane == "L1")
    frame = pd.DataFrame({"Hub": order, "Lane": lane, "W": y.round(4)})
    frame.to_csv(tmp_path / "run.csv", index=False)
    text = STUDY.replace('order = "Hub"', 'order = "Hub"\nstation = "Lane"')
    text = text.replace("[[char", f"[tool]\nparts_per_stroke = {lanes}\n[[char", 1)
    (tmp_path / "study.toml").write_text(text)
    study = open_study(tmp_path)
    records = read(study)
    found = of_characteristic(study, records, study.characteristic("w"))
    found.update(evaluate(study, records, found))
    life = found.get("w", "streams", "L1", "tool_life")
    assert isinstance(life, ToolLifeStudy)
    assert [round(one.at, -2) for one in life.regrinds] == [1000, 2000]
    assert 0.2 in life.slope_per_thousand
    assert "life of L1" in found.get("w", "capability", "tool_life").cautions[0]


DRIFT = """[[gauge]]
id = "camera"
name = "Camera"
resolution = 0.001
unit = "mm"
[[data]]
role = "drift"
gauge = "camera"
file = "master.csv"
columns = { w = "W" }
reference = 10.0
order = "Hub"
"""


@pytest.mark.parametrize(
    ("tool", "camera", "said"),
    [
        (0.0, 0.03, "may be the gauge, not the tool"),
        (0.05, 0.02, "readings move with it"),
        (0.05, 0.0, ""),
    ],
)
def test_drift_of_the_camera_is_told_from_wear_by_its_master(
    tmp_path: Path, tool: float, camera: float, said: str
) -> None:
    """Readings of a run move by wear and drift alike; the master that the camera reads each 200 strokes moves by drift alone."""
    rng, order = np.random.default_rng(6), np.arange(1, 8001)
    y = 10 + (tool + camera) * order / 1000 + 0.05 * rng.normal(size=8000)
    pd.DataFrame({"Hub": order, "W": y.round(3)}).to_csv(tmp_path / "run.csv", index=False)
    read_at = np.arange(1, 8001, 200)
    master = 10 + camera * read_at / 1000 + 0.004 * rng.normal(size=read_at.size)
    pd.DataFrame({"Hub": read_at, "W": master.round(3)}).to_csv(
        tmp_path / "master.csv", index=False
    )
    text = STUDY.replace('role = "run"', 'role = "run"\ngauge = "camera"')
    (tmp_path / "study.toml").write_text(text + DRIFT)
    study = open_study(tmp_path)
    records, item = read(study), study.characteristic("w")
    found = of_gauges(study, records)
    found.update(of_characteristic(study, records, item))
    found.tell_over_one_number()
    found.update(evaluate(study, records, found))
    drift = found.get("w", "gauges", "camera", "drift")
    assert camera in drift.slope_per_thousand
    life = found.get("w", "capability", "tool_life")
    assert tool + camera in life.slope_per_thousand
    notes = [note for note in life.cautions if "drifts on its master" in note]
    assert len(notes) == bool(said)
    assert all(said in note and note.count("per 1,000 strokes") >= 1 for note in notes)
    assert drift.over == life.over == found.get("w", "stability", "tool_wear").over == 1000


@pytest.mark.proof
def test_a_lane_that_does_not_wear_is_not_told_the_slope_of_the_tool(tmp_path: Path) -> None:
    """Lane R wears and is ground once, 40 strokes before the run ends; lane L does neither."""
    n = 4000
    order, lane = np.repeat(np.arange(1, n + 1), 2), np.tile(["L", "R"], n)
    since = np.where(order <= 3960, order, order - 3960)
    y = 10 + 0.1 * since / 1000 * (lane == "R") + np.random.default_rng(2).normal(0, 0.05, 2 * n)
    frame = pd.DataFrame({"Hub": order, "Lane": lane, "W": y.round(4)})
    frame.to_csv(tmp_path / "run.csv", index=False)
    text = STUDY.replace('order = "Hub"', 'order = "Hub"\nstation = "Lane"')
    (tmp_path / "study.toml").write_text(text + EVENT % 3961 + 'stream = "R"\n')
    study = open_study(tmp_path)
    records = read(study)
    found = of_characteristic(study, records, study.characteristic("w"))
    found.update(evaluate(study, records, found))
    assert "not seen to wear" in found.get("w", "streams", "L", "tool_life").reason
    life = found.get("w", "streams", "R", "tool_life")
    # Forty strokes after a regrind are no life; what was seen to last is.
    assert life.life == 3960
    assert life.Ppk_end.high < life.Ppk_start.low
