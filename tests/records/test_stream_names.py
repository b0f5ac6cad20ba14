"""What is said of the names of streams, on files as plants write them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from linestudy import open_study, read
from linestudy.records.stream_names import parts_named_several_ways, people_named_several_ways

STUDY = """format = 1
[study]
title = "Names"
part = "P"
[tool]
parts_per_stroke = 2
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
lower = 9.0
upper = 11.0
[[data]]
role = "run"
file = "run.csv"
columns = { w = "W" }
order = "Stroke"
station = "Lane"
"""
EVENT = '[[event]]\nname = "reground"\nat = 20\ncharacteristic = "w"\nstream = "%s"\n'


def noticed(folder: Path, lanes: list[str], more: str = "") -> dict[str, str]:
    rng = np.random.default_rng(1)
    rows = [
        f"{stroke},{lanes[(2 * stroke + k) % len(lanes)]},{10 + 0.1 * rng.normal():.3f}"
        for stroke in range(1, 61)
        for k in range(2)
    ]
    (folder / "run.csv").write_text("\n".join(["Stroke,Lane,W", *rows]))
    (folder / "study.toml").write_text(STUDY + more)
    return {seen.what: seen.evidence for seen in read(open_study(folder)).sources[0].seen}


@pytest.mark.parametrize(
    ("lanes", "kind", "said"),
    [
        (["1", "2", "01", "2.0"], "streams named in several ways", "01, 1; 2, 2.0"),
        (["L", "R", "l", "r"], "streams named in several ways", "L, l; R, r"),
        (["Nest 1", "Nest 2", "Nest1"], "streams named in several ways", "Nest 1, Nest1"),
        (["Left", "Right", "links", "rechts"], "streams named in several ways", "Left, links"),
        (["A", "B", "C"], "more streams than parts", "3 streams are named"),
        (["L", ""], "rows without a stream", "60 rows of 120 name no stream"),
    ],
)
def test_odd_names_are_told(tmp_path: Path, lanes: list[str], kind: str, said: str) -> None:
    assert said in noticed(tmp_path, lanes)[kind]


@pytest.mark.parametrize("lanes", [["L", "R"], ["1", "10"], ["0", "00A"], ["1", "1A"]])
def test_plain_names_are_left_alone(tmp_path: Path, lanes: list[str]) -> None:
    assert not set(noticed(tmp_path, lanes)) & {
        "streams named in several ways",
        "more streams than parts",
        "rows without a stream",
    }


def test_an_event_of_a_stream_that_is_not_there_is_told(tmp_path: Path) -> None:
    found = noticed(tmp_path, ["L", "R"], EVENT % "Rechts")
    assert (
        "names Rechts, which is no stream of this file (L, R)"
        in found["event of an unknown stream"]
    )
    assert "event of an unknown stream" not in noticed(tmp_path, ["L", "R"], EVENT % "R")


@pytest.mark.parametrize(
    ("names", "groups"),
    [
        (["P01", "p1", "1", "2"], [["P01", "p1", "1"]]),
        (["Teil 3", "3", "Teil 4"], [["Teil 3", "3"]]),
        (["W7", "7", "W8"], [["W7", "7"]]),
        (["A1", "B1", "1"], []),
        (["A1", "B1", "a1"], [["A1", "a1"]]),
        (["P1", "P10", "P11"], []),
        (["1", "2", "10", "12"], []),
        (["A-1", "A-2"], []),
    ],
)
def test_parts_under_several_names(names: list[str], groups: list[list[str]]) -> None:
    assert parts_named_several_ways(names) == groups


@pytest.mark.parametrize(
    ("names", "groups"),
    [
        (["Ana Souza", "A. Souza", "ANA SOUZA", "Souza, Ana"], [["Ana Souza", "A. Souza", "ANA SOUZA", "Souza, Ana"]]),
        (["Müller", "Mueller", "Meier"], [["Müller", "Mueller"]]),
        (["Jan Kowalski", "JK", "Kowalski", "Anna Nowak"], [["Jan Kowalski", "JK", "Kowalski"]]),
        (["A. Souza", "B. Souza"], []),
        (["Ana Souza", "Alba Souza", "A. Souza"], []),
        (["A", "B", "C"], []),
        (["Anna", "Bert", "Carla"], []),
        (["Operator 1", "Operator 2"], []),
        (["김", "이", "박"], []),
    ],
)  # fmt: skip
def test_people_under_several_names(names: list[str], groups: list[list[str]]) -> None:
    assert people_named_several_ways(names) == groups
