"""Study folders made on the spot, so that each test knows what its files hold."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from linestudy import open_study
from linestudy.study.load import Study

HEAD = """format = 1
[study]
title = "A study of ugly files"
part = "P-1"
[[characteristic]]
id = "width"
name = "Width"
unit = "mm"
nominal = 2.8
lower = 2.75
upper = 2.85
{characteristic}
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
{gauge}
[[gauge]]
id = "cmm"
name = "CMM"
{extra}
[[data]]
{data}
[[data]]
role = "nested"
file = "gap.csv"
levels = ["batch"]
columns = {{ gap = "Gap" }}
"""


@pytest.fixture
def make_study(tmp_path: Path) -> Callable[..., Study]:
    """Write study.toml with one [[data]] table and its file, and open it."""

    def make(
        name: str,
        content: bytes | str,
        data: str = 'role = "run"\ncolumns = { width = "Width" }\norder = "Stroke"',
        characteristic: str = "",
        gauge: str = "",
        extra: str = "",
    ) -> Study:
        folder = tmp_path / "study"
        folder.mkdir(exist_ok=True)
        raw = content if isinstance(content, bytes) else content.encode()
        (folder / name).write_bytes(raw)
        (folder / "gap.csv").write_text("batch,Gap\na,0.6\nb,0.61\n", encoding="utf-8")
        named = "gauge" in data.split("columns")[0] or "gauges" in data
        block = f'file = "{name}"\n{data}' + ("" if named else '\ngauge = "camera"')
        text = HEAD.format(characteristic=characteristic, gauge=gauge, extra=extra, data=block)
        (folder / "study.toml").write_text(text, encoding="utf-8")
        return open_study(folder)

    return make
