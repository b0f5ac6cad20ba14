"""A two-out study, file to findings: every stream has its index, chart and place, and the worst decides."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy import open_study, read
from linestudy.capability.streams.by_stream import _families, differ, streams_of
from linestudy.dossier.evaluation import evaluate
from linestudy.results import Findings
from linestudy.shape.selection import select_distribution

STUDY = """format = 1
[study]
title = "Two out"
part = "P"
line_rate = 300
[tool]
parts_per_stroke = 2
[[characteristic]]
id = "height"
name = "Height"
unit = "mm"
lower = 9.94
upper = 10.06
[[characteristic]]
id = "place"
name = "Place"
unit = "mm"
upper = 0.1
position = { at = [0.0, 0.0] }
[[data]]
role = "run"
file = "run.csv"
columns = { height = "H", place = ["X", "Y"] }
order = "Hub"
station = "Lane"
subgroup = { size = 5, every = 50 }
"""


def write(folder: Path, n: int = 1500) -> Path:
    rng = np.random.default_rng(1)
    order, lane = np.repeat(np.arange(1, n + 1), 2), np.tile(["L", "R"], n)
    right = lane == "R"
    table = pd.DataFrame(
        {
            "Hub": order,
            "Lane": lane,
            "H": np.round(rng.normal(10, 0.01, 2 * n) + 0.012 * right, 4),
            "X": rng.normal(0, 0.008, 2 * n) + 0.02 * right,
            "Y": rng.normal(0, 0.008, 2 * n),
        }
    )
    table.to_csv(folder / "run.csv", index=False)
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def findings(tmp_path_factory: pytest.TempPathFactory) -> Findings:
    return evaluate(write(tmp_path_factory.mktemp("two"))).findings


@pytest.mark.proof
def test_every_stream_has_its_index_and_its_truth(findings: Findings) -> None:
    for name, truth in (("L", 2.0), ("R", 1.6)):
        found = findings.get("height", "streams", name, "capability")
        assert truth == pytest.approx(found.Ppk.estimate, rel=0.06)
        assert truth in found.Ppk
        assert findings.get("height", "streams", name, "chart").subgroup_size == 5
        assert findings.get("place", "streams", name, "position").n == 1500
    whole = findings.get("height", "capability")
    assert "mixture of streams" in whole.method
    assert 1.5 < whole.Ppk.estimate < 1.7
    assert findings.get("height", "capability", "streams").worst == "R"


def test_the_decision_names_the_stream(findings: Findings) -> None:
    verdict = findings.get("height", "verdict")
    assert verdict.stream == "R"
    assert verdict.record()["stream"] == "R"
    index = next(item for item in verdict.rulings if item.rule == "index")
    assert "(R)" in index.reason
    assert "(L: 1.9" in index.reason


def test_one_chart_of_all_parts_does_not_take_streams_for_movement(findings: Findings) -> None:
    chart = findings.get("height", "stability")
    assert len(chart.signals) <= 3
    assert any("each stream's distance" in note for note in chart.cautions)
    assert findings.get("height", "stability", "stations").paired


def test_streams_that_are_alike_are_left_pooled() -> None:
    rng = np.random.default_rng(3)
    table = pd.DataFrame({"station": np.tile(["a", "b"], 200), "value": rng.normal(size=400)})
    assert not differ(table)
    assert differ(table.assign(value=table["value"] + (table["station"] == "b")))
    assert list(streams_of(table)) == ["a", "b"]
    assert streams_of(table.assign(station="a")) == {}


def test_a_stream_with_heavy_tails_is_not_given_the_index_of_a_normal_one(tmp_path: Path) -> None:
    draw = np.random.default_rng(5).standard_t(4, 1600)
    text = STUDY.partition('[[characteristic]]\nid = "place"')[0]
    (tmp_path / "study.toml").write_text(
        text + '[[data]]\nrole = "run"\nfile = "r.csv"\ncolumns = { height = "H" }\n'
    )
    item = open_study(tmp_path).characteristic("height")
    part = pd.DataFrame({"value": 10 + 0.006 * draw})
    shape = select_distribution(10 + 0.006 * np.random.default_rng(6).standard_t(4, 3200))
    found = _families(open_study(tmp_path), item, part, shape, alike=True)
    assert all(one.family != "normal" for one in found)


def test_a_stream_of_the_study_can_be_read(tmp_path: Path) -> None:
    records = read(open_study(write(tmp_path, 30)))
    table = records.table("run", "height")
    assert table is not None
    assert table.attrs["parts_per_stroke"] == 2


SORTED = (
    STUDY.replace(
        'station = "Lane"', 'station = "Lane"\nverdict = "V"\naccept = ["ok"]\nreject = ["nok"]'
    )
    + """set_aside_verdict = { nok = "sorted out" }
[[gauge]]
id = "cam"
name = "Camera"
[[data]]
role = "crossed"
gauge = "cam"
file = "msa.csv"
columns = { height = "H" }
station = "Lane"
part = "Part"
trial = "Trial"
"""
)


@pytest.mark.proof
def test_joint_share_sorting_and_gauge_are_by_stream(tmp_path: Path) -> None:
    write(tmp_path, 600)
    table = pd.read_csv(tmp_path / "run.csv")
    table["H"] = table["H"] + 0.03 * (table["Lane"] == "R")
    table["V"] = np.where(table["H"].between(9.94, 10.06), "ok", "nok")
    table.to_csv(tmp_path / "run.csv", index=False)
    rng = np.random.default_rng(3)
    parts = [(lane, f"{lane}{k}", t) for lane in "LR" for k in range(10) for t in (1, 2, 3)]
    size = {f"{lane}{k}": rng.normal(10, 0.02) for lane in "LR" for k in range(10)}
    noise = {"L": 0.001, "R": 0.006}
    rows = [(a, b, t, round(size[b] + rng.normal(0, noise[a]), 4)) for a, b, t in parts]
    pd.DataFrame(rows, columns=["Lane", "Part", "Trial", "H"]).to_csv(
        tmp_path / "msa.csv", index=False
    )
    (tmp_path / "study.toml").write_text(
        SORTED.replace('name = "Height"', 'name = "Height"\nnominal = 10'), encoding="utf-8"
    )
    found = evaluate(tmp_path).findings
    right = found.get("height", "streams", "R", "before_sorting")
    # 10.042 with 0.01 about it: 3.6 % lay beyond 10.06.
    assert right.rejected.estimate == pytest.approx(0.036, rel=0.6)
    assert found.get(None, "streams", "L", "joint").n == 600
    grr = {name: found.get("height", "streams", name, "crossed", "cam") for name in "LR"}
    sd = {name: one.components["grr"].sd.estimate for name, one in grr.items()}
    assert sd["R"] > 3 * sd["L"]


@pytest.mark.proof
def test_the_bonus_of_a_position_is_in_the_decision(tmp_path: Path) -> None:
    """Holes 0.05 larger than their most material size widen the zone by 0.05: index and decision hold that."""
    n = 2000
    rng = np.random.default_rng(4)
    hole = rng.normal(1.05, 0.002, n)
    pd.DataFrame(
        {
            "Hub": range(1, n + 1),
            "X": rng.normal(0, 0.012, n),
            "Y": rng.normal(0, 0.012, n),
            "D": hole.round(4),
        }
    ).to_csv(tmp_path / "run.csv", index=False)
    text = """format = 1
[study]
title = "M"
part = "P"
[[characteristic]]
id = "hole"
name = "Hole"
unit = "mm"
lower = 1.0
upper = 1.1
[[characteristic]]
id = "place"
name = "Place"
unit = "mm"
upper = 0.05
position = { at = [0.0, 0.0]%s }
[[data]]
role = "run"
file = "run.csv"
columns = { place = ["X", "Y"], hole = "D" }
order = "Hub"
"""
    indices = []
    for more in ("", ', size = "hole", most_material = 1.0'):
        (tmp_path / "study.toml").write_text(text % more, encoding="utf-8")
        found = evaluate(tmp_path)
        index = found.findings.get("place", "capability")
        decided = found.findings.get("place", "verdict").facts.index
        indices.append((index.Ppk.estimate, decided.estimate))
        outside = index.observed.above
    place = found.findings.get("place", "capability", "position")
    assert place.with_bonus.observed.outside == outside
    for without, with_bonus in zip(*indices, strict=True):
        assert with_bonus > without + 0.4
