"""What the public functions say of fixed data stays as it was, to the digit and the word.

Nothing here shows that a number is right; that is for the tests that name a source, and for the proof. These
hold everything else still: a caution, a sentence, the order of a branch, a number no book prints.
A change that is meant is written down by ``LINESTUDY_WRITE_UNCHANGED=1 pytest tests/unchanged`` and read in
the difference before it is committed.
"""

from __future__ import annotations

import dataclasses
import importlib.util
import json
import math
import os
import sys
import warnings
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.core import Absent, CannotJudge, Finding, Interval

HERE = Path(__file__).parent
STORE = HERE / "scenes.json"
WRITE = bool(os.environ.get("LINESTUDY_WRITE_UNCHANGED"))
#: Searches for a maximum end where they end; beyond this many digits two machines may differ.
DIGITS = 2e-4


def _load(name: str, file: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, HERE / f"{file}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


SCENES = _load("unchanged_scenes", "scenes").SCENES
for room in ("gauges", "stability", "shape", "capability"):
    _load(f"unchanged_scenes_of_{room}", f"scenes_of_{room}")
STORED = json.loads(STORE.read_text(encoding="utf-8")) if STORE.exists() else {}


def told(value: Any) -> Any:
    """Anything as JSON holds it: findings with their record, sentences and table."""
    if isinstance(value, Finding):
        table = value.table()
        return {
            "record": told(value.record()),
            "statement": value.statement,
            "cautions": list(value.cautions),
            "table": [[str(cell) for cell in row] for row in table.itertuples(index=False)]
            if len(table) <= 40
            else len(table),
        }
    if isinstance(value, (Interval, Absent)):
        return told(value.record())
    if isinstance(value, (np.floating, float)):
        number = float(value)
        return float(f"{number:.7g}") if math.isfinite(number) else str(number)
    if isinstance(value, (np.bool_, np.integer)):
        return value.item()
    if isinstance(value, (np.ndarray, pd.Series)):
        array = np.asarray(value)
        # Long arrays by a few of their numbers; a change shows in one of them.
        if array.size > 60:
            array = np.r_[array.ravel()[:: array.size // 20], array.sum(), array.min(), array.max()]
        return told(array.tolist())
    if isinstance(value, dict):
        return {str(key): told(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [told(item) for item in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: told(getattr(value, f.name)) for f in dataclasses.fields(value)}
    return value if isinstance(value, (str, int, bool, type(None))) else str(value)


def outcome(call: Any) -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("error", RuntimeWarning)
        try:
            return told(call())
        except CannotJudge as stop:
            return {"cannot judge": stop.reason}
        except ValueError as error:
            return {"refused": str(error)}


def differences(old: Any, new: Any, where: str = "") -> list[str]:
    """Places where two outcomes are not the same."""
    if isinstance(old, dict) and isinstance(new, dict):
        if old.keys() != new.keys():
            return [f"{where}: keys {sorted(old.keys() ^ new.keys())}"]
        return [line for key in old for line in differences(old[key], new[key], f"{where}/{key}")]
    if isinstance(old, list) and isinstance(new, list):
        if len(old) != len(new):
            return [f"{where}: {len(old)} became {len(new)}"]
        pairs = enumerate(zip(old, new, strict=True))
        return [line for i, (a, b) in pairs for line in differences(a, b, f"{where}/{i}")]
    numbers = (int, float)
    if isinstance(old, numbers) and isinstance(new, numbers) and type(old) is not bool:
        same = abs(old - new) <= DIGITS * max(abs(old), abs(new)) + 1e-12
    else:
        same = old == new
    return [] if same else [f"{where}: {old!r} became {new!r}"]


@pytest.mark.parametrize("name", SCENES)
def test_scene_is_unchanged(name: str) -> None:
    found = json.loads(json.dumps(outcome(SCENES[name])))
    if WRITE:
        STORED[name] = found
        kept = {key: STORED[key] for key in sorted(STORED) if key in SCENES}
        STORE.write_text(json.dumps(kept, indent=0, ensure_ascii=False) + "\n", encoding="utf-8")
        return
    assert name in STORED, "not stored yet; see the top of this file"
    assert not differences(STORED[name], found)


def test_nothing_is_stored_that_is_no_scene() -> None:
    assert STORED.keys() == SCENES.keys()
