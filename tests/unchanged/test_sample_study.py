"""The first numbers at each place of the sample study stay as they were; see `test_unchanged` for what that is worth.

Only places that are stored are compared: a method that comes later breaks nothing here, one that is gone is named.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from beside import load

from linestudy.results import Unjudged

HERE = Path(__file__).parent
stored = load("unchanged_stored", HERE / "stored.py")
tolerances = load("unchanged_tolerances", HERE / "tolerances.py")
PART = "sample study"
KEPT = stored.read_store().get(PART, {})


@pytest.fixture(scope="module")
def found(evaluation: Any) -> dict[str, Any]:
    return {
        "/".join((place.characteristic or "study", *place.path)): "cannot judge"
        if isinstance(item, Unjudged)
        else stored.headline(item)
        for place, item in evaluation.findings.items()
    }


@pytest.mark.parametrize("part", sorted({name.split("/")[1] for name in KEPT}))
def test_places_are_unchanged(found: dict[str, Any], part: str) -> None:
    if stored.WRITE:
        pytest.skip("written, not compared")
    changed = {
        name: stored.differences(item, found[name], tolerances.SEARCHED_NUMBERS)
        if name in found
        else ["gone"]
        for name, item in KEPT.items()
        if name.split("/")[1] == part
    }
    assert {name: lines for name, lines in changed.items() if lines} == {}


def test_every_room_is_held(found: dict[str, Any]) -> None:
    if stored.WRITE:
        stored.write_store(
            PART, {name: item for name, item in found.items() if item and "/verdict" not in name}
        )
        pytest.skip("written, not compared")
    assert {"gauges", "stability", "shape", "capability"} <= {n.split("/")[1] for n in KEPT}
