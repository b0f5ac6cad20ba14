"""A folder with one camera, a characteristic for each of several sets of gauge studies; sizes 4 to 6 mm, repeatability 0.01."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

HEAD = 'format = 1\n[study]\ntitle = "Gauges"\npart = "A"\n'
CAMERA = """
[[gauge]]
id = "cam"
name = "Camera"
resolution = 0.0001
unit = "mm"
[[gauge]]
id = "cmm"
name = "CMM"
"""
#: Columns of each role's file, and what study.toml says of them.
ROLES = {
    "crossed": ("p,o,t,y", 'gauge = "cam"\npart = "p"\nappraiser = "o"\ntrial = "t"\n', '"y"'),
    "cmm": ("p,o,t,y", 'gauge = "cmm"\npart = "p"\nappraiser = "o"\ntrial = "t"\n', '"y"'),
    "reference": ("r,y", 'gauge = "cam"\nreference = "r"\nreference_uncertainty = 0.001\n', '"y"'),
    "drift": ("n,r,y", 'gauge = "cam"\nreference = "r"\norder = "n"\n', '"y"'),
    "paired": ("p,a,b", 'gauges = ["cam", "cmm"]\npart = "p"\n', '["a", "b"]'),
}
Rows = list[tuple[Any, ...]]


def crossed(repeat: float = 0.01) -> Rows:
    draw = random.Random(1)
    parts = [draw.gauss(5, 0.25) for _ in range(10)]
    return [
        (p, o, t, parts[p] + draw.gauss(0, repeat))
        for p in range(10)
        for o in "XYZ"
        for t in (1, 2, 3)
    ]


def masters() -> Rows:
    draw = random.Random(2)
    return [
        (size, size + draw.gauss(0, 0.01)) for size in (4.0, 4.5, 5.0, 5.5, 6.0) for _ in range(12)
    ]


def drift(moved: Callable[[int], float] = lambda i: 0.0) -> Rows:
    draw = random.Random(5)
    return [(100 * i, 5.0, 5 + draw.gauss(0, 0.01) + moved(i)) for i in range(60)]


def paired(off: float = 0.0, shift: int = 0) -> Rows:
    """Thirty parts by camera and CMM; the rows of the CMM moved on by `shift`."""
    draw = random.Random(6)
    sizes = [draw.gauss(5, 0.25) for _ in range(30)]
    return [(i, size + off + draw.gauss(0, 0.01), sizes[i - shift]) for i, size in enumerate(sizes)]


def write_gauges(folder: Path, studies: dict[str, dict[str, Rows]], more: str = "") -> Path:
    text = HEAD + CAMERA
    for key, roles in studies.items():
        text += f'[[characteristic]]\nid = "{key}"\nname = "{key}"\nunit = "mm"\nlower = 4.0\nupper = 6.0\n'
        for role, rows in roles.items():
            header, said, column = ROLES[role]
            lines = [header, *(",".join(map(_cell, row)) for row in rows)]
            (folder / f"{key}_{role}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
            kind = "crossed" if role == "cmm" else role
            text += f'[[data]]\nrole = "{kind}"\nfile = "{key}_{role}.csv"\ncolumns = {{ {key} = {column} }}\n{said}'
    (folder / "study.toml").write_text(text + more, encoding="utf-8")
    return folder


def _cell(value: Any) -> str:
    return f"{value:.4f}" if isinstance(value, float) else str(value)
