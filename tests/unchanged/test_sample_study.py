"""What each room says of the sample study stays as it was; see `test_unchanged` for what that is worth."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from beside import load

from linestudy import open_study, read
from linestudy.results import Findings

HERE = Path(__file__).parent
ROOMS = ("gauges", "stability", "shape", "capability")


stored = load("unchanged_stored", HERE / "stored.py")


class Rooms:
    """The rooms of one study in their order, each entered once."""

    def __init__(self, folder: Path) -> None:
        self.study = open_study(folder)
        self.records = read(self.study)
        self.findings = Findings()
        self.said: dict[str, dict[str, Any]] = {}

    def enter(self, room: str) -> dict[str, Any]:
        from importlib import import_module

        for name in ROOMS[: ROOMS.index(room) + 1]:
            if name not in self.said:
                evaluate = import_module(f"linestudy.{name}").evaluate
                new = evaluate(self.study, self.records, self.findings)
                self.findings.update(new)
                self.said[name] = {
                    " / ".join((place.characteristic or "study", *place.path)): {
                        "record": stored.told(item.record()),
                        "cautions": list(item.cautions),
                    }
                    for place, item in new.items()
                }
        return self.said[room]


@pytest.fixture(scope="module")
def rooms(sample_study: Path) -> Rooms:
    return Rooms(sample_study)


@pytest.mark.parametrize("room", ROOMS)
def test_room_is_unchanged(rooms: Rooms, room: str) -> None:
    found = json.loads(json.dumps(rooms.enter(room)))
    store = HERE / f"{room}.json"
    if stored.WRITE:
        store.write_text(
            json.dumps(found, indent=0, ensure_ascii=False, sort_keys=True) + "\n", encoding="utf-8"
        )
        return
    assert not stored.differences(json.loads(store.read_text(encoding="utf-8")), found)
