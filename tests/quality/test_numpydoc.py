"""Docstrings of the public functions, held by numpydoc's own validator.

PR01 a parameter is not documented, PR02 an unknown one is, PR07 one has no description, RT03 the
return has none, SA01 no See Also, EX01 no example, SS05 the summary does not begin with a verb in
the infinitive. What is still missing is counted by room, and the count may only fall.
"""

from __future__ import annotations

import importlib
import inspect
from collections import Counter
from collections.abc import Iterator
from typing import Any

from numpydoc.validate import validate
from packages import PACKAGES

CODES = ("PR01", "PR02", "PR07", "RT03", "SA01", "EX01", "SS05")

#: Packages of tools, whose functions stand for themselves: no See Also is asked of them.
HELPING = {"results", "numerics"}


def public_functions() -> Iterator[tuple[str, str, Any]]:
    """Room, full name and function, for everything a room offers."""
    for room in sorted({*PACKAGES} - HELPING):
        try:
            package = importlib.import_module(f"linestudy.{room}")
        except ModuleNotFoundError:
            continue
        for name in package.__all__:
            thing = getattr(package, name)
            if inspect.isfunction(thing):
                yield room, f"{thing.__module__}.{thing.__qualname__}", thing


def faults() -> dict[str, list[str]]:
    """What numpydoc finds, by room."""
    found: dict[str, list[str]] = {}
    for room, name, _ in public_functions():
        errors = validate(name)["errors"]
        found.setdefault(room, []).extend(
            f"{name}: {code} {text}" for code, text in errors if code in CODES
        )
    return found


def test_docstrings_hold_everything() -> None:
    found = faults()
    print(Counter({room: len(lines) for room, lines in found.items()}))
    assert {room: lines for room, lines in found.items() if lines} == {}
