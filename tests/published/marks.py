"""Tests that say what they check and against what: `@pytest.mark.checks("Cgk", source="...", memory=True)`.

The marks are read from the source, not from a run, so that the register is the same whatever is run of the suite. What a
mark says are therefore literal texts.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]


@dataclass(frozen=True)
class Mark:
    """One mark.

    Attributes
    ----------
    file : str
        Below tests/.
    test : str
    what, source : str
    memory : bool
        Whether the expected number was written down from memory of the source.
    """

    file: str
    test: str
    what: str
    source: str
    memory: bool

    @property
    def room(self) -> str:
        """The folder the test stands in."""
        return self.file.partition("/")[0]


def _is_mark(node: ast.expr) -> bool:
    return (
        isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr == "checks"
        and ast.unparse(node.func) == "pytest.mark.checks"
    )


def of_source(source: str, file: str) -> Iterator[Mark]:
    """Marks of the test functions of one file; a mark that is not written out is a ValueError."""
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.FunctionDef):
            continue
        for call in filter(_is_mark, node.decorator_list):
            assert isinstance(call, ast.Call)
            place = f"{file}::{node.name}"
            named = {word.arg or "": ast.literal_eval(word.value) for word in call.keywords}
            what = [ast.literal_eval(word) for word in call.args]
            if len(what) != 1 or not what[0] or not named.get("source"):
                raise ValueError(f"{place}: a mark names what is checked, and source=")
            if named.keys() - {"source", "memory"}:
                raise ValueError(f"{place}: a mark knows source= and memory=, not {sorted(named)}")
            yield Mark(file, node.name, what[0], named["source"], bool(named.get("memory")))


def all_marks() -> list[Mark]:
    """Every mark below tests/, by room, subject and test."""
    found = [
        mark
        for file in TESTS.rglob("test_*.py")
        for mark in of_source(file.read_text(encoding="utf-8"), file.relative_to(TESTS).as_posix())
    ]
    return sorted(found, key=lambda mark: (mark.room, mark.what.lower(), mark.file, mark.test))
