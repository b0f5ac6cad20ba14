"""What the public functions say of fixed data stays as it was, to the digit and the word.

Nothing here shows that a number is right; that is for the tests that name a source, and for the proof. These
hold everything else still: a caution, a sentence, the order of a branch, a number no book prints.
A change that is meant is written down by ``LINESTUDY_WRITE_UNCHANGED=1 pytest tests/unchanged`` and read in
the difference before it is committed.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from beside import load

HERE = Path(__file__).parent
STORE = HERE / "scenes.json"
stored = load("unchanged_stored", HERE / "stored.py")
SCENES = load("unchanged_scenes", HERE / "scenes.py").SCENES
for room in ("gauges", "stability", "shape", "capability"):
    load(f"unchanged_scenes_of_{room}", HERE / f"scenes_of_{room}.py")
STORED = json.loads(STORE.read_text(encoding="utf-8")) if STORE.exists() else {}


@pytest.mark.parametrize("name", SCENES)
def test_scene_is_unchanged(name: str) -> None:
    found = json.loads(json.dumps(stored.outcome(SCENES[name])))
    if stored.WRITE:
        STORED[name] = found
        kept = {key: STORED[key] for key in sorted(STORED) if key in SCENES}
        STORE.write_text(json.dumps(kept, indent=0, ensure_ascii=False) + "\n", encoding="utf-8")
        return
    assert name in STORED, "not stored yet; see the top of this file"
    assert not stored.differences(STORED[name], found)


def test_nothing_is_stored_that_is_no_scene() -> None:
    assert STORED.keys() == SCENES.keys()
