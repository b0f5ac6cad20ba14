"""What each room says of the sample study stays as it was; see `test_unchanged` for what that is worth."""

from __future__ import annotations

import importlib.util
import json
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from linestudy import open_study, read
from linestudy.core import Findings

HERE = Path(__file__).parent
ROOMS = ("gauges", "stability", "shape", "capability")


def _load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("unchanged", HERE / "test_unchanged.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["unchanged"] = module
    spec.loader.exec_module(module)
    return module


common = _load()


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
                        "record": common.told(item.record()),
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
    if common.WRITE:
        store.write_text(
            json.dumps(found, indent=0, ensure_ascii=False, sort_keys=True) + "\n", encoding="utf-8"
        )
        return
    assert not common.differences(json.loads(store.read_text(encoding="utf-8")), found)
