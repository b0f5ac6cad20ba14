"""What a public function must tell its reader: arguments with shapes, what comes back, errors, source, example.

The public interface is what the rooms export (`__all__`) and what `linestudy` itself offers. Rules of
the house (DEVELOPERS.md, "Habits"); sections are those of the NumPy docstring standard.
"""

from __future__ import annotations

import importlib
import inspect
import re
from collections.abc import Callable
from typing import Any

import pytest

import linestudy

#: Rooms whose functions compute: for these a source is due.
STATISTICS = ("gauges", "stability", "shape", "capability", "plan")
ROOMS = (*STATISTICS, "study", "records", "verdict", "dossier", "simulate")
#: A standard, a body that writes them, a year in brackets, or the admission that there is none.
SOURCE = re.compile(
    r"\b(ISO|AIAG|VDA|JCGM|GUM|ASTM|NIST|RFC|ASME|Western Electric)\b|\((?:[^()]*\s)?(?:18|19|20)\d\d\)"
    r"|\b(?:19|20)\d\d\b|common practice|no source|from memory|definition"
)


def exported() -> dict[str, Callable[..., Any]]:
    """Public functions by name; a room's module or class is not among them."""
    found = {}
    for room in ROOMS:
        module = importlib.import_module(f"linestudy.{room}")
        for name in module.__all__:
            thing = getattr(module, name)
            if inspect.isfunction(thing):
                found[f"{room}.{name}"] = thing
    return found


FUNCTIONS = exported()


def section(doc: str, title: str) -> str:
    """The text of one section of a NumPy docstring; empty where there is none."""
    match = re.search(rf"^{title}\n-+\n(.*?)(?=^\w[^\n]*\n-+\n|\Z)", doc, re.M | re.S)
    return match.group(1) if match else ""


def lacks(function: Callable[..., Any], computes: bool) -> list[str]:
    """What a docstring does not say, in words."""
    doc = inspect.getdoc(function) or ""
    module = inspect.getmodule(inspect.unwrap(function))
    missing = []
    described = section(doc, "Parameters")
    for name in inspect.signature(function).parameters:
        if not re.search(
            rf"^(?:[\w*, ]+, )?\*{{0,2}}{re.escape(name)}(?:, [\w*, ]+)?(?: :.*)?$", described, re.M
        ):
            missing.append(f"argument {name}")
    if not (section(doc, "Returns") or section(doc, "Yields")):
        missing.append("what it returns")
    shapes = re.findall(r"\b(?:array_like|ndarray)\b[^\n]*", described + section(doc, "Returns"))
    if any("shape" not in line and "scalar" not in line for line in shapes):
        missing.append("shape of an array")
    if raises(function) and not section(doc, "Raises"):
        missing.append("errors")
    if computes and not SOURCE.search(doc + (inspect.getdoc(module) or "")):
        missing.append("source")
    example = section(doc, "Examples")
    elsewhere = re.search(r"``(?:notebooks/|linestudy |python -m linestudy)", example)
    if ">>>" not in example and elsewhere is None:
        missing.append("example")
    return missing


def raises(function: Callable[..., Any]) -> bool:
    """Whether its own lines raise."""
    return bool(re.search(r"^\s+raise \w", inspect.getsource(function), re.M))


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_a_public_function_says_what_its_reader_needs(name: str) -> None:
    room, function = name.split(".")
    # These compute nothing themselves: they hand tables to the methods, or show what was found.
    computes = room in STATISTICS and function not in ("evaluate", "explore", "review")
    assert lacks(FUNCTIONS[name], computes) == []


def test_the_check_sees_what_is_missing() -> None:
    def silent(values: Any, limit: float) -> float:
        """Do something.

        Parameters
        ----------
        values : array_like of float
        """
        if limit < 0:
            raise ValueError("no")
        return limit

    found = lacks(silent, computes=True)
    assert found[0] == "argument limit"
    assert {"what it returns", "shape of an array", "errors", "example"} <= set(found)


def test_everything_public_is_reached_from_the_top() -> None:
    for room in ROOMS:
        assert room in linestudy.__all__
        module = importlib.import_module(f"linestudy.{room}")
        for name in module.__all__:
            assert getattr(module, name) is not None
    for name in linestudy.__all__:
        assert getattr(linestudy, name) is not None
