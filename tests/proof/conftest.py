"""Gives proof tests the harness, and writes or compares the report when all is done."""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest
from beside import load

HERE = Path(__file__).parent


def _harness() -> ModuleType:
    """The harness by its path: worker processes must be able to import it by one name."""
    return load("linestudy_proof_harness", HERE / "harness.py")


@pytest.fixture(scope="session")
def measure() -> Callable[..., dict]:
    """The harness's ``measure``, held to the committed report within Monte Carlo error."""
    module = _harness()
    writing = bool(os.environ.get("LINESTUDY_WRITE_PROOF"))
    known = {}
    if not writing:
        for file in (HERE / "report").glob("*.json"):
            if file.stem != "about":
                for row in json.loads(file.read_text(encoding="utf-8")):
                    known[row["room"], row["method"], row["scenario"]] = row

    def held(*args: object, **settings: object) -> dict:
        found: dict = module.measure(*args, **settings)
        for row in found.values():
            before = known.get((row.room, row.method, row.scenario))
            if before is None:
                continue
            error = (row.error**2 + before["mc_error"] ** 2) ** 0.5
            assert abs(row.rate - before["rate"]) <= 4 * error, (row, before["rate"])
        return found

    return held


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Write what was measured, one file per room, where LINESTUDY_WRITE_PROOF is set."""
    module = sys.modules.get("linestudy_proof_harness")
    if module is None or not module.TABLE or not os.environ.get("LINESTUDY_WRITE_PROOF"):
        return
    folder = HERE / "report"
    folder.mkdir(exist_ok=True)
    rooms: dict[str, list[dict[str, object]]] = {}
    for row in module.TABLE:
        rooms.setdefault(row.room, []).append(row.as_row())
    sys.path.insert(0, str(HERE))
    from report import versions

    sys.path.remove(str(HERE))
    text = json.dumps(versions(time.strftime("%Y-%m-%d")), indent=1, sort_keys=True) + "\n"
    (folder / "about.json").write_text(text, encoding="utf-8")
    for room, rows in rooms.items():
        rows.sort(key=lambda row: (str(row["method"]), str(row["scenario"])))
        text = json.dumps(rows, indent=1, sort_keys=True) + "\n"
        (folder / f"{room}.json").write_text(text, encoding="utf-8")
