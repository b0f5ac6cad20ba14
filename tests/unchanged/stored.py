"""The numbers of what a call gave, as lines of the store, and where two of these differ.

Numbers only: no sentence, caution or cell of a table. A finding gives the numbers of its record; an interval is one
line of estimate and ends; a column of equal things (rows of a table, points of a chart) is one line of four:
how many, the first, the last and the mean size.
"""

from __future__ import annotations

import dataclasses
import json
import math
import os
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from linestudy.results import Absent, CannotJudge, Finding, Interval

#: Write what is found instead of comparing it.
WRITE = bool(os.environ.get("LINESTUDY_WRITE_UNCHANGED"))
STORE = Path(__file__).parent / "stored.json"
#: Longer columns are told by four numbers.
LONG = 4
#: What a record holds besides, and what follows from another line: a variance's share from that of the spread.
LEFT_OUT = {"confidence", "share_of_variance"}

Line = list[float]


def plain(value: Any) -> Any:
    """Anything as dicts, lists and numbers."""
    if isinstance(value, (Finding, Interval, Absent)):
        return plain(value.record())
    if isinstance(value, (np.ndarray, pd.Series)):
        return np.asarray(value).tolist()
    if isinstance(value, (np.floating, np.integer)):
        return value.item()
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    return value


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def _leaves(value: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Line]]:
    """Names and numbers in order; intervals as one, columns of a list of dicts as one."""
    if isinstance(value, dict):
        if "estimate" in value:
            # Pingouin rounds both ends of this one to two decimals: nothing to hold still.
            ends = ("estimate",) if path[-1:] == ("icc",) else ("estimate", "low", "high")
            yield path, [float(value[end]) for end in ends if _is_number(value.get(end))]
            return
        for key, item in value.items():
            if key not in LEFT_OUT:
                yield from _leaves(item, (*path, key))
    elif isinstance(value, list):
        columns: dict[tuple[str, ...], Line] = {}
        for item in value:
            for inner, numbers in _leaves(item, ()):
                columns.setdefault(inner, []).extend(numbers)
        for inner, numbers in columns.items():
            yield (*path, *inner), numbers
    elif _is_number(value):
        yield path, [float(value)]


def lines(value: Any) -> dict[str, Line]:
    """The lines of the store for one thing: a name and at most four numbers of ten digits."""
    found = {}
    for path, numbers in _leaves(plain(value), ()):
        if len(numbers) > LONG:
            numbers = [
                len(numbers),
                numbers[0],
                numbers[-1],
                sum(map(abs, numbers)) / len(numbers),
            ]
        if numbers:
            found["/".join(path) or "value"] = [float(f"{number:.10g}") for number in numbers]
    return found


def outcome(call: Callable[[], Any]) -> dict[str, Line] | str:
    """The lines of what a call gives, or in one word how it refused."""
    with warnings.catch_warnings():
        warnings.simplefilter("error", RuntimeWarning)
        try:
            return lines(call())
        except CannotJudge:
            return "cannot judge"
        except (ValueError, TypeError):
            return "refused"


def headline(value: Any, most: int = 6) -> dict[str, Line]:
    """The estimates that stand first in a finding; the functions' own scenes hold the rest."""
    found = lines(value)
    near = [name for name in found if name.count("/") < 2][:most]
    return {name: found[name][:1] for name in near}


def differences(
    old: dict[str, Line] | str, new: dict[str, Line] | str, tolerance: float
) -> list[str]:
    """Lines of the store that are gone or hold other numbers; what is new is no difference.

    A number may differ by `tolerance` of the largest of its line: the ends of an interval that
    reaches over zero are as uncertain as the interval is wide.
    """
    if isinstance(old, str) or isinstance(new, str):
        return [] if old == new else [f"was {_shown(old)}, is {_shown(new)}"]
    found = []
    for name, before in old.items():
        if name not in new:
            found.append(f"{name}: gone")
            continue
        after = new[name]
        bound = tolerance * max(map(abs, before)) + 1e-12
        if len(before) != len(after) or any(
            abs(a - b) > bound for a, b in zip(before, after, strict=True)
        ):
            found.append(f"{name}: {before} became {after}")
    return found


def _shown(outcome_: dict[str, Line] | str) -> str:
    return outcome_ if isinstance(outcome_, str) else f"{len(outcome_)} numbers"


def read_store() -> dict[str, dict[str, Any]]:
    """Stored outcomes, by part of the store and name."""
    if not STORE.exists():
        return {}
    stored: dict[str, dict[str, Any]] = json.loads(STORE.read_text(encoding="utf-8"))
    return stored


def write_store(part: str, found: dict[str, Any]) -> None:
    """Put outcomes in the place of one part: a line for each name of numbers."""
    store = read_store() | {part: found}
    text = ["{"]
    for head in sorted(store):
        text.append(f"{json.dumps(head)}: {{")
        for name in sorted(store[head]):
            item = store[head][name]
            key = json.dumps(name, ensure_ascii=False)
            if isinstance(item, str):
                text.append(f" {key}: {json.dumps(item)},")
            elif head == "sample study":
                text.append(f" {key}: {json.dumps(item, ensure_ascii=False)},")
            else:
                text.append(f" {key}: {{")
                text += [f"  {json.dumps(k)}: {json.dumps(v)}," for k, v in item.items()]
                text[-1] = text[-1].rstrip(",")
                text.append(" },")
        text[-1] = text[-1].rstrip(",")
        text.append("},")
    text[-1] = "}"
    STORE.write_text("\n".join([*text, "}"]) + "\n", encoding="utf-8")
