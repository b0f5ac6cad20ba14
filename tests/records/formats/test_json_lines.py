"""JSON lines and arrays of objects as tables; what is none is refused with its line."""

from __future__ import annotations

import json

import pytest

from linestudy.records.formats.json_lines import json_cells
from linestudy.results import InputError
from linestudy.study.model import Data

DATA = Data(role="run", file="f.jsonl", columns={"w": "width"})
ROWS = [
    {"part": 1, "width": 2.80, "pos": {"x": 0.1, "y": -0.2}},
    {"part": 2, "ok": True, "r": [1, 2.5]},
]


@pytest.mark.parametrize("whole", [False, True])
def test_objects_become_rows(whole: bool) -> None:
    text = json.dumps(ROWS) if whole else "\n\n".join(map(json.dumps, ROWS)) + "\n"
    table = json_cells(text.encode(), DATA)
    assert list(table) == ["part", "width", "pos.x", "pos.y", "ok", "r.1", "r.2"]
    assert table["width"].tolist() == ["2.8", ""]
    assert table["r.2"].tolist() == ["", "2.5"]
    assert table.index.tolist() == ([1, 2] if whole else [1, 3])


def test_numbers_are_written_as_the_file_is_said_to_be() -> None:
    comma = DATA.model_copy(update={"decimal": ","})
    assert json_cells(b'{"width": 2.8}', comma)["width"].tolist() == ["2,8"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('{"a": 1}\n{"a": }', "line 2: is not JSON"),
        ('{"a": NaN}', "line 1: is not JSON"),
        ("[1, 2]", "line 1: is no object"),
        ("3", "line 1: is no object"),
        ("[]", "holds no row"),
        ("[" * 100_000, "is not JSON"),
        ('{"a":' * 20 + "1" + "}" * 20, "nests too deeply"),
    ],
)
def test_what_is_none(text: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        json_cells(text.encode(), DATA)
