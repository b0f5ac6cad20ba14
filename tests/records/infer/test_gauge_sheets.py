"""Sheets of gauge studies are told by their columns; what each column is stands in the proposal."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest

from linestudy.records import infer_data_table

RNG = np.random.default_rng(24)


def readings(n: int, width: int, size: float = 2.8) -> list[str]:
    return [",".join(f"{x:.4f}" for x in row) for row in RNG.normal(size, 0.01, (n, width))]


def rows(labels: list[str], width: int, size: float = 2.8) -> str:
    return "\n".join(
        f"{a},{b}" for a, b in zip(labels, readings(len(labels), width, size), strict=True)
    )


NUMBERS = [str(i) for i in range(1, 11)]
CASES = {
    "crossed, wide": ("Part,A1,A2,B1,B2\n" + rows(NUMBERS, 4), "crossed", {"part": "Part", "across": ["appraiser", "trial"]}),
    "crossed, several characteristics": (
        "Teil," + ",".join(f"{q} {who}{t}" for q in ("Contact height", "Gap") for who in "AB" for t in (1, 2)) + "\n"
        + "\n".join(f"{i},{a},{b}" for i, (a, b) in enumerate(zip(readings(10, 4), readings(10, 4, 0.5), strict=True), 1)),
        "crossed",
        {"part": "Teil", "across": ["appraiser", "trial"]},
    ),
    "crossed, trials only": ("Part,1,2,3\n" + rows(NUMBERS, 3), "crossed", {"across": ["trial"]}),
    "crossed, long": (
        "Teil,Prüfer,Versuch,Maß\n" + rows([f"{p},{a},{t}" for p in range(1, 6) for a in "AB" for t in (1, 2)], 1),
        "crossed",
        {"part": "Teil", "appraiser": "Prüfer", "trial": "Versuch"},
    ),
    "crossed, parts across": (
        "Operator,Trial,1,2,3,4\n" + rows([f"{a},{t}" for a in "ABC" for t in (1, 2)], 4),
        "crossed",
        {"appraiser": "Operator", "trial": "Trial", "across": ["part"]},
    ),
    "masters": (
        "Master,Reading\n" + rows([m for m in ("2.7", "2.8", "2.9") for _ in range(8)], 1),
        "reference",
        {"reference": "Master"},
    ),
    "masters across": ("No,Master 1,Master 2\n" + rows(NUMBERS, 2), "reference", {"across": ["part"]}),
    "two gauges": (
        "Part,Camera,CMM\n" + "\n".join(f"{i},{2 + i / 100:.3f},{2.0003 + i / 100:.4f}" for i in range(1, 31)),
        "paired",
        {"part": "Part"},
    ),
    "two gauges, one in inches": (
        "Part,Camera,CMM\n" + "\n".join(f"{i},{2 + i / 100:.3f},{(2 + i / 100) / 25.4:.5f}" for i in range(1, 31)),
        "paired",
        {},
    ),
    "coils": ("Coil,Specimen,Force\n" + rows([f"{c},{i}" for c in "ABC" for i in range(1, 9)], 1), "nested", {"levels": ["Coil"]}),
    "coils across": ("No,Coil 1,Coil 2,Coil 3\n" + rows(NUMBERS, 3), "nested", {"across": ["coil"], "levels": ["coil"]}),
    "judgements, wide": (
        "Part,Ref,A1,A2,B1,B2\n" + "\n".join(f"{i},{'OK' if i % 3 else 'NG'},OK,OK,NG,OK" for i in range(1, 21)),
        "attribute",
        {"reference": "Ref", "accept": ["OK"], "reject": ["NG"], "judgement": {"A": ["A1", "A2"], "B": ["B1", "B2"]}},
    ),
    "judgements, long": (
        "Part,Inspector,Trial,Judgement\n"
        + "\n".join(f"{i},{a},{t},{'pass' if i % 3 else 'fail'}" for i in range(1, 11) for a in "AB" for t in (1, 2)),
        "attribute",
        {"part": "Part", "appraiser": "Inspector", "judgement": "Judgement"},
    ),
    "subgroups": (
        "Subgroup,x1,x2,x3,x4,x5,X-bar,R\n" + rows([str(i) for i in range(1, 26)], 7),
        "run",
        {"across": ["order"]},
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_role_and_keys(tmp_path: Path, name: str) -> None:
    text, role, keys = CASES[name]
    (tmp_path / "f.csv").write_text(text + "\n", encoding="utf-8")
    told = infer_data_table(tmp_path / "f.csv")
    (found,) = tomllib.loads(told)["data"]
    assert found["role"] == role
    assert {key: found.get(key) for key in keys} == keys
    # Every key that is proposed says why.
    for line in told.splitlines():
        if "=" in line and not line.startswith(("#", "file")):
            assert "   # " in line


def test_averages_are_no_readings(tmp_path: Path) -> None:
    text = CASES["subgroups"][0]
    (tmp_path / "f.csv").write_text(text, encoding="utf-8")
    (found,) = tomllib.loads(infer_data_table(tmp_path / "f.csv"))["data"]
    assert found["columns"] == {"CHARACTERISTIC_1": ["x1", "x2", "x3", "x4", "x5"]}
