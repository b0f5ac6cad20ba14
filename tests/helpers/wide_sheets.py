"""A study of wide sheets: one characteristic, one position, and the file that a test lays out."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from linestudy import open_study
from linestudy.records import Records, read

HEAD = """format = 1
[study]
title = "t"
part = "p"
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
lower = 2.0
upper = 9.0
[[characteristic]]
id = "pos"
name = "Position"
upper = 9.0
position = { at = [0, 0] }
[[gauge]]
id = "g"
name = "Camera"
[[gauge]]
id = "h"
name = "CMM"
[[data]]
role = "run"
file = "pos.csv"
columns = { pos = ["x", "y"] }
[[data]]
role = "drift"
gauge = "g"
file = "w.csv"
columns = { w = "w" }
[[data]]
file = "f.csv"
"""


def records(folder: Path, text: str, keys: str) -> Records:
    (folder / "study.toml").write_text(HEAD + keys, encoding="utf-8")
    (folder / "f.csv").write_text(text, encoding="utf-8")
    (folder / "w.csv").write_text("w\n5\n", encoding="utf-8")
    (folder / "pos.csv").write_text("x,y\n1,1\n", encoding="utf-8")
    return read(open_study(folder))


def sheet(header: str, rows: int = 10, width: int = 6) -> tuple[str, np.ndarray]:
    """A sheet of `rows` parts with different readings in every cell."""
    values = 3 + np.arange(rows * width).reshape(rows, width) / 100
    lines = [f"{i + 1}," + ",".join(f"{v:.2f}" for v in row) for i, row in enumerate(values)]
    return "\n".join([header, *lines]) + "\n", values


CROSSED = """role = "crossed"
gauge = "g"
part = "Part"
columns = { w = { A = ["A1", "A2", "A3"], B = ["B1", "B2", "B3"] } }
"""
HEADER = "Part,A1,A2,A3,B1,B2,B3"
