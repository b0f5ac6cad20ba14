"""Parameters of public functions bear the names of one table, mean one thing, and are options by keyword only."""

from __future__ import annotations

import importlib
import inspect
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from packages import PACKAGES
from parameter_names import BY_POSITION, NAMES

import linestudy

#: Data and what belongs to them; more positional arguments than this nobody keeps in mind.
MOST_BY_POSITION = 6


def public() -> dict[str, Callable[..., Any]]:
    """Functions that the kit and its rooms export, each once."""
    found: dict[Callable[..., Any], str] = {}
    for room in ("", *PACKAGES):
        module = importlib.import_module(f"linestudy.{room}".rstrip("."))
        for name in module.__all__:
            thing = getattr(module, name)
            if inspect.isfunction(thing):
                found.setdefault(thing, f"{room}.{name}".lstrip("."))
    return {name: thing for thing, name in found.items()}


FUNCTIONS = public()


def named(function: Callable[..., Any]) -> Iterator[inspect.Parameter]:
    """Parameters that a caller can name."""
    unnamed = (
        inspect.Parameter.POSITIONAL_ONLY,
        inspect.Parameter.VAR_POSITIONAL,
        inspect.Parameter.VAR_KEYWORD,
    )
    return (p for p in inspect.signature(function).parameters.values() if p.kind not in unnamed)


def type_of(parameter: inspect.Parameter) -> str:
    """The annotation without None, which only says that the parameter may be left out."""
    text = str(parameter.annotation).replace('"', "'")
    text = text[1:-1] if re.fullmatch(r"'[^']*'", text) else text
    return " | ".join(x for x in re.split(r" \| (?![^\[]*\])", text) if x != "None")


def complaints(function: Callable[..., Any]) -> list[str]:
    """What the table does not have, and options that may be given by position."""
    found = []
    for parameter in named(function):
        if parameter.name not in NAMES:
            found.append(f"{parameter.name}: not in the table")
        elif type_of(parameter) not in NAMES[parameter.name][0]:
            found.append(f"{parameter.name}: {type_of(parameter)} is not among its types")
    by_position = [p for p in named(function) if p.kind is p.POSITIONAL_OR_KEYWORD]
    options = {p.name for p in by_position if p.default is not p.empty}
    found += [f"{name}: an option, by keyword only" for name in sorted(options - BY_POSITION)]
    if len(by_position) > MOST_BY_POSITION:
        found.append(f"{len(by_position)} parameters by position")
    return found


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_a_public_function_keeps_to_the_table(name: str) -> None:
    assert complaints(FUNCTIONS[name]) == []


def test_the_table_holds_nothing_that_no_function_takes() -> None:
    taken: dict[str, set[str]] = {}
    for function in FUNCTIONS.values():
        for parameter in named(function):
            taken.setdefault(parameter.name, set()).add(type_of(parameter))
    assert set(NAMES) == set(taken)
    for name, (types, meaning) in NAMES.items():
        assert types == taken[name], name
        assert meaning == meaning.strip()
        assert meaning[-1] not in ".,;"
    meanings = [meaning for _, meaning in NAMES.values()]
    assert len(set(meanings)) == len(meanings)
    assert set(NAMES) >= BY_POSITION
    assert linestudy.evaluate in FUNCTIONS.values()


def test_other_names_types_and_positions_are_found() -> None:
    def other(values: list[float], chart: str = "p", kind: str = "p", *, lower: str = "") -> None:
        """Take a chart under another name, and options by position."""

    assert complaints(other) == [
        "values: list[float] is not among its types",
        "chart: not in the table",
        "lower: str is not among its types",
        "chart: an option, by keyword only",
        "kind: an option, by keyword only",
    ]
