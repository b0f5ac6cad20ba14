"""What a call gave, as JSON holds it, and where two of these differ."""

from __future__ import annotations

import dataclasses
import math
import os
import warnings
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd

from linestudy.results import Absent, CannotJudge, Finding, Interval

#: Write what is found instead of comparing it.
WRITE = bool(os.environ.get("LINESTUDY_WRITE_UNCHANGED"))
#: Searches for a maximum end where they end; beyond this many digits two machines may differ.
DIGITS = 2e-4


def told(value: Any) -> Any:
    """Anything as JSON holds it: findings with their record, sentences and table."""
    if isinstance(value, Finding):
        table = value.shown()
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


def outcome(call: Callable[[], Any]) -> Any:
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
