"""Which gauges a folder lets be compared: two on the same parts, one again after maintenance, levels of a factor."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from linestudy import open_study
from linestudy import read as read_files
from linestudy.gauges import evaluate

HEAD = """format = 1
[study]
title = "t"
part = "p"
seed = 1
[[characteristic]]
id = "width"
name = "Width"
unit = "mm"
lower = 4.0
upper = 6.0
[[gauge]]
id = "left"
name = "Left camera"
[[gauge]]
id = "right"
name = "Right camera"
"""


def write(
    folder: Path, name: str, gauge: str, seed: int, sd: float, more: str = "", column: str = ""
) -> None:
    draw = np.random.default_rng(seed)
    size = np.random.default_rng(9).normal(5, 0.3, 8)
    lines = ["Part,Who,Value" + (",Station" if column else "")]
    for part in range(8):
        for who in "AB":
            for station in ("S1", "S2") if column else ("",):
                for _ in range(2):
                    value = size[part] + 0.05 * (station == "S2") + sd * draw.normal()
                    lines.append(f"{part},{who},{value:.4f}" + (f",{station}" if column else ""))
    (folder / f"{name}.csv").write_text("\n".join(lines) + "\n")
    toml = folder / "study.toml"
    text = toml.read_text() if toml.exists() else HEAD
    toml.write_text(
        f'{text}[[data]]\nrole = "crossed"\ngauge = "{gauge}"\nfile = "{name}.csv"\npart = "Part"\n'
        f'appraiser = "Who"\ncolumns = {{ width = "Value" }}\n{more}\n'
    )


def test_what_is_compared(tmp_path: Path) -> None:
    write(tmp_path, "old", "left", 1, 0.08, 'occasion = "before maintenance"')
    write(tmp_path, "new", "left", 2, 0.02, 'occasion = "after maintenance"')
    write(tmp_path, "right", "right", 3, 0.02, 'factor = "Station"', column="Station")
    study = open_study(tmp_path)
    records = read_files(study)
    assert list(records.occasions("width", "left")) == ["before maintenance", "after maintenance"]
    found = evaluate(study, records)
    # The last study holds.
    assert (
        0.01 < found.get("width", "gauges", "left", "crossed").components["grr"].sd.estimate < 0.04
    )
    over_time = found.get("width", "gauges", "left", "over_time")
    assert list(over_time.systems) == ["before maintenance", "after maintenance"]
    assert over_time.pairs[0].repeatability_ratio.high < 0.9
    assert (
        "repeated worse in the study before maintenance than in the last one"
        in over_time.cautions[0]
    )
    stations = found.get("width", "gauges", "right", "by_factor").pairs[0]
    assert 0.05 in stations.bias
    assert stations.bias.low > 0
    assert stations.bias_equivalent is True
    two = found.get("width", "systems", "left~right")
    assert list(two.systems) == ["Left camera", "Right camera"]
    assert two.pairs[0].parts == 8


def test_studies_that_name_their_dates_are_in_the_order_of_these(tmp_path: Path) -> None:
    """A study that came out well and stands last in study.toml is not the last one for that."""
    write(tmp_path, "worse", "left", 1, 0.08, 'occasion = "2026-02-10 after the crash"')
    write(tmp_path, "better", "left", 2, 0.02, 'occasion = "2026-01"')
    write(tmp_path, "german", "left", 3, 0.05, 'occasion = "31.01.2026"')
    records = read_files(open_study(tmp_path))
    named = ["2026-01", "31.01.2026", "2026-02-10 after the crash"]
    assert list(records.occasions("width", "left")) == named
    decided = records.table("crossed", "width", "left")
    assert decided is not None
    assert decided["value"].equals(records.occasions("width", "left")[named[-1]]["value"])
