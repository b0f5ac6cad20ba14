"""Exports of five countries: each file, taken as it is proposed, gives back its truth with nothing typed."""

from __future__ import annotations

import random
import tomllib
from pathlib import Path

import pandas as pd
import pytest
from exports import Export, exports

from linestudy.intake import draft_study
from linestudy.records import infer_data_table, read
from linestudy.results import InputError
from linestudy.study.load import Study, _checked

FILES = exports()
#: In an ordinary run every country and kind in one dress; all of them with the proof.
EVERY = list(FILES)
ORDINARY = EVERY[::6]


def test_there_are_as_many_as_promised() -> None:
    assert len(EVERY) >= 300
    assert len(ORDINARY) >= 50


def assert_comes_back(folder: Path, export: Export) -> None:
    """Read a file as its proposal says and hold it against the truth."""
    (folder / "data").mkdir(exist_ok=True)
    path = folder / "data" / export.name
    path.write_bytes(export.content)
    draft = draft_study([path])
    (table,) = draft.tables
    assert table.said.role == export.role, table.said.why
    for question in draft.questions():
        if question.key.startswith(("gauge", "about")):
            draft.answer(question.key, "Camera")
    tables = [keys for keys, _ in draft.data_tables()]
    items = [
        {"id": item.id, "name": item.name, "unit": "mm", "lower": 1.0, "upper": 9.0}
        for item in draft.items
    ]
    gauges = [{"id": identity, "name": name} for identity, name in draft.gauges.items()]
    head = {"title": "t", "part": "p"}
    content = {"format": 1, "study": head, "characteristic": items, "gauge": gauges, "data": tables}
    records = read(Study(folder, _checked(content, "")))
    found = records.table(export.role, items[0]["id"])
    truth = export.truth
    assert found is not None
    if "levels" in tables[0]:
        truth = truth.rename(columns={"coil": tables[0]["levels"][0]})
    key = [name for name in truth if name not in ("value", "first", "second", "accepted")]
    found = found[list(truth)].sort_values([*key, *(set(truth) - set(key))], ignore_index=True)
    truth = truth.sort_values([*key, *(set(truth) - set(key))], ignore_index=True)
    pd.testing.assert_frame_equal(found, truth, check_dtype=False, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("name", ORDINARY)
def test_the_truth_comes_back(tmp_path: Path, name: str) -> None:
    assert_comes_back(tmp_path, FILES[name])


def spoilt(content: bytes, chance: random.Random) -> bytes:
    """Bytes flipped, dropped, doubled, or the end missing."""
    found = bytearray(content)
    for _ in range(chance.choice((1, 2, 5))):
        at = chance.randrange(len(found) or 1)
        kind = chance.randrange(4)
        if kind == 0 and found:
            found[at] ^= 1 << chance.randrange(8)
        elif kind == 1:
            del found[at : at + chance.choice((1, 7, 60))]
        elif kind == 2:
            found[at:at] = found[at : at + 30] * 2
        else:
            del found[max(at, 20) :]
    return bytes(found)


def described_or_refused(folder: Path, export: Export, chance: random.Random) -> bool:
    """Whether a spoilt file is described, every row of it accounted for, or refused in one line."""
    path = folder / export.name
    path.write_bytes(spoilt(export.content, chance) or b"x")
    told = told_of(path)
    # The second line of a refusal would be no TOML.
    return bool(tomllib.loads(told)) or told.startswith("# ")


def told_of(path: Path) -> str:
    """The proposal, or the refusal as a comment."""
    try:
        return infer_data_table(path)
    except InputError as refusal:
        return f"# {refusal}"


@pytest.mark.parametrize("name", EVERY[::7])
def test_a_spoilt_export_is_described_or_refused(tmp_path: Path, name: str) -> None:
    assert described_or_refused(tmp_path, FILES[name], random.Random(name))
