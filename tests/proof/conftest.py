"""Gives proof tests the harness, and writes or compares the report when all is done."""

from __future__ import annotations

import json
import os
import re
import sys
import time
import zlib
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from types import ModuleType

import pytest
from beside import load

HERE = Path(__file__).parent
_BEGIN = time.monotonic()


@pytest.fixture(autouse=True)
def _within_the_time_given() -> None:
    """Leave out what no time is left for, where LINESTUDY_PROOF_SECONDS says how much there is."""
    given = float(os.environ.get("LINESTUDY_PROOF_SECONDS", "inf"))
    if time.monotonic() - _BEGIN > given:
        pytest.skip(f"the {given:.0f} s given to the proof in this run are spent")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Give slow tests their time, and another order each day where it is short, so that every claim has its turn."""
    for item in items:
        if HERE in item.path.parents and item.get_closest_marker("timeout") is None:
            item.add_marker(pytest.mark.timeout(1500))
    if "LINESTUDY_PROOF_SECONDS" not in os.environ:
        return
    today = time.strftime("%Y-%m-%d")
    own = [item for item in items if HERE in item.path.parents]
    own.sort(key=lambda item: zlib.crc32(f"{today} {item.nodeid}".encode()))
    order = iter(own)
    items[:] = [next(order) if HERE in item.path.parents else item for item in items]


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
            if file.stem not in ("about", "false_signals"):
                rows = json.loads(file.read_text(encoding="utf-8"))
                # Others keep a table of their own kind there.
                for row in rows if isinstance(rows, list) else ():
                    known[row["room"], row["method"], row["scenario"]] = row

    def held(*args: object, **settings: object) -> dict:
        found: dict = module.measure(*args, **settings)
        for row in found.values():
            before = known.get((row.room, row.method, row.scenario))
            if before is None:
                continue
            # A rate far from what is claimed scatters more than one at it; an ordinary run takes few studies.
            share = before["rate"] * (1 - before["rate"])
            wider = (share * (1 / row.runs + 1 / before["runs"])) ** 0.5
            error = max((row.error**2 + before["mc_error"] ** 2) ** 0.5, wider)
            assert abs(row.rate - before["rate"]) <= 4 * error, (row, before["rate"])
        return found

    return held


@pytest.fixture(scope="session")
def count() -> Callable[..., object]:
    """The harness's ``count``, held to the committed report within Monte Carlo error."""
    module = _harness()
    known = {}
    file = HERE / "report" / "false_signals.json"
    if not os.environ.get("LINESTUDY_WRITE_PROOF") and file.is_file():
        for row in json.loads(file.read_text(encoding="utf-8")):
            known[row["room"], row["method"], row["scenario"]] = row

    def held(*args: object) -> object:
        row = module.count(*args)
        before = known.get((row.room, row.method, row.scenario))
        if before is not None:
            error = (row.error**2 + before["error"] ** 2) ** 0.5
            assert abs(row.found - before["found"]) <= 4 * error + 1e-9, (row, before["found"])
        return row

    return held


def _numbers(scenario: str) -> list[float]:
    """Numbers of a scenario, the last first: by size of the subgroups, then by how many."""
    return [float(text.replace(",", "")) for text in re.findall(r"[\d.,]*\d", scenario)][::-1]


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Write what was measured, one file per room, where LINESTUDY_WRITE_PROOF is set."""
    module = sys.modules.get("linestudy_proof_harness")
    if module is None or not os.environ.get("LINESTUDY_WRITE_PROOF"):
        return
    folder = HERE / "report"
    folder.mkdir(exist_ok=True)
    if module.COUNTS:
        counts = sorted(
            (asdict(row) for row in module.COUNTS),
            key=lambda row: (row["method"], _numbers(row["scenario"])),
        )
        text = json.dumps(counts, indent=1, sort_keys=True) + "\n"
        (folder / "false_signals.json").write_text(text, encoding="utf-8")
    if not module.TABLE:
        return
    rooms: dict[str, list[dict[str, object]]] = {}
    for row in module.TABLE:
        rooms.setdefault(row.room, []).append(row.as_row())
    for room, rows in rooms.items():
        # What was not measured again stays as it was, unless everything is written anew.
        new = {(row["method"], row["scenario"]) for row in rows}
        file = folder / f"{room}.json"
        if file.is_file() and os.environ["LINESTUDY_WRITE_PROOF"] != "all":
            kept = json.loads(file.read_text(encoding="utf-8"))
            rows += [row for row in kept if (row["method"], row["scenario"]) not in new]
    sys.path.insert(0, str(HERE))
    from report import versions

    sys.path.remove(str(HERE))
    text = json.dumps(versions(time.strftime("%Y-%m-%d")), indent=1, sort_keys=True) + "\n"
    (folder / "about.json").write_text(text, encoding="utf-8")
    for room, rows in rooms.items():
        file = folder / f"{room}.json"
        # A run of some methods leaves what was measured of the others.
        before = json.loads(file.read_text(encoding="utf-8")) if file.is_file() else []
        measured = {row["method"] for row in rows}
        rows += [row for row in before if row["method"] not in measured]
        rows.sort(key=lambda row: (str(row["method"]), str(row["scenario"])))
        file.write_text(json.dumps(rows, indent=1, sort_keys=True) + "\n", encoding="utf-8")
