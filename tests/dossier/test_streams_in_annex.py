"""A study whose annex speaks of single streams: gauge study, short run, process before sorting, tool life and position by stream."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy import evaluate
from linestudy.dossier.content.contents import build
from linestudy.dossier.content.elements import Table

STUDY = """format = 1
[study]
title = "Two lanes"
part = "P"
[tool]
parts_per_stroke = 2
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
lower = -3.0
upper = 3.0
[[characteristic]]
id = "blade"
name = "Blade"
unit = "mm"
upper = 30.0
[[characteristic]]
id = "pos"
name = "Hole"
unit = "mm"
upper = 10.0
position = { at = [0.0, 0.0] }
[[gauge]]
id = "cam"
name = "Camera"
resolution = 0.001
unit = "mm"
[[data]]
role = "run"
gauge = "cam"
file = "run.csv"
columns = { w = "W", blade = "B", pos = ["X", "Y"] }
order = "Stroke"
station = "Lane"
[[data]]
role = "machine"
gauge = "cam"
file = "machine.csv"
columns = { w = "W" }
order = "No"
station = "Lane"
[[data]]
role = "crossed"
gauge = "cam"
file = "msa.csv"
columns = { w = "W" }
part = "Part"
appraiser = "App"
trial = "Trial"
station = "Lane"
[[event]]
name = "punch reground"
at = 1501
characteristic = "blade"
"""


def write(folder: Path) -> Path:
    rng, n = np.random.default_rng(4), 3000
    stroke, lane = np.repeat(np.arange(1, n + 1), 2), np.tile(["L", "R"], n)
    w, x, y = rng.normal(size=(3, 2 * n))
    # One lane wears, and parts beyond the limits of the width were taken out.
    blade = rng.normal(size=2 * n) + np.where(lane == "R", 0.01 * ((stroke - 1) % 1500), 0)
    run = pd.DataFrame({"Stroke": stroke, "Lane": lane, "W": 1.9 * w, "B": blade, "X": x, "Y": y})
    run[run["W"].abs() < 3].round(4).to_csv(folder / "run.csv", index=False)
    short = {"No": np.tile(np.arange(60), 2), "Lane": np.repeat(["L", "R"], 60), "W": w[:120]}
    pd.DataFrame(short).round(4).to_csv(folder / "machine.csv", index=False)
    rows = [
        (f"{of}{part}", of, who, trial, part / 2 - 2 + 0.05 * rng.normal())
        for of in "LR"
        for part in range(8)
        for who in "AB"
        for trial in (1, 2)
    ]
    crossed = pd.DataFrame(rows, columns=["Part", "Lane", "App", "Trial", "W"])
    crossed.round(4).to_csv(folder / "msa.csv", index=False)
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    return folder


@pytest.mark.proof
def test_the_annex_tells_of_every_stream_under_one_kind_of_name(tmp_path: Path) -> None:
    found = evaluate(write(tmp_path), progress=lambda _: None)
    tables = {
        block.caption: block.rows
        for section in build(found).sections
        for block in section.blocks
        if isinstance(block, Table) and block.caption.endswith("stream by stream")
    }
    width = [name for name, _ in tables["Width: stream by stream"]]
    for what in ("Crossed gauge study", "Machine performance of a short run"):
        assert {f"{what}, stream L", f"{what}, stream R"} <= set(width)
    assert sum("efore sorting, stream" in name for name in width) == 2
    blade = dict(tables["Blade: stream by stream"])
    # Lane R wears by 10 mm in 1,000 strokes, lane L not at all.
    slope = found.findings.get("blade", "streams", "R", "tool_life").slope_per_thousand
    assert 10.0 in slope
    assert "not seen to wear" in blade["Tool life, stream L"]
    holes = [name for name, _ in tables["Hole: stream by stream"]]
    assert holes == ["Position, stream L", "Position, stream R"]
    assert not any("one stream" in name for name in (*width, *blade, *holes))
