"""What the public functions find in fixed data stays as it was: the numbers, within a tolerance that is told.

Nothing here shows that a number is right; that is for the tests that name a source, and for the proof. These
hold still what no book prints. A change that is meant is written down by
``LINESTUDY_WRITE_UNCHANGED=1 pytest tests/unchanged`` and read in the difference before it is committed.
Functions and numbers that are new are not missed here; those that are gone are named.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from beside import load

HERE = Path(__file__).parent
stored = load("unchanged_stored", HERE / "stored.py")
tolerances = load("unchanged_tolerances", HERE / "tolerances.py")
SCENES = load("unchanged_scenes", HERE / "scenes.py").SCENES
for room in ("gauges", "stability", "shape", "capability"):
    load(f"unchanged_scenes_of_{room}", HERE / f"scenes_of_{room}.py")
STORED = stored.read_store().get("scenes", {})
FOUND: dict[str, Any] = {}


@pytest.mark.parametrize("name", SCENES if stored.WRITE else STORED)
def test_scene_is_unchanged(name: str) -> None:
    assert name in SCENES, "stored, but no scene of that name is left"
    found = stored.outcome(SCENES[name])
    if stored.WRITE:
        FOUND[name] = found
        if len(FOUND) == len(SCENES):
            stored.write_store("scenes", FOUND)
        return
    tolerance, _ = tolerances.of(name)
    assert stored.differences(STORED[name], found, tolerance) == []


def test_every_tolerance_is_of_a_scene() -> None:
    for start in tolerances.SEARCHED:
        assert any(name.startswith(start) for name in SCENES), start


def test_a_change_beyond_the_tolerance_is_seen() -> None:
    old = {"a": [1.0, 0.5, 1.5], "b": [0.0]}
    assert stored.differences(old, {"a": [1.0 + 9e-10, 0.5, 1.5], "b": [0.0]}, 1e-9) == []
    assert len(stored.differences(old, {"a": [1.0, 0.5, 1.5 + 2e-9], "b": [0.0]}, 1e-9)) == 1
    assert stored.differences(old, {**old, "new": [3.0]}, 1e-9) == []
    assert stored.differences(old, {"b": [0.0]}, 1e-9) == ["a: gone"]
    assert stored.differences("cannot judge", old, 1e-9) != []
