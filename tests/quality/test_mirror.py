"""`tests/` mirrors `lib/linestudy/`: the tests of a module stand in a file of its name.

The table holds, for each room, how many modules have no such file yet. It may only shrink: a new module comes with its
file, and whoever gives an old module one lowers the number. What tests a module elsewhere (a file for a whole
theme, the proof, the notebooks) does not count: a reader who looks for it by name does not find it.
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LIBRARY = ROOT / "lib" / "linestudy"
#: Modules of each room without a test file of their name.
WITHOUT: dict[str, int] = {}


def modules(room: str) -> list[Path]:
    """Modules of a room, its subfolders included; without `__init__`, `__main__` and those that only name things."""
    return sorted(
        file
        for file in (LIBRARY / room).rglob("*.py")
        if file.stem[:2] != "__" and _does_something(file)
    )


def _does_something(file: Path) -> bool:
    """Whether a module defines a function or a class."""
    body = ast.parse(file.read_text(encoding="utf-8")).body
    return any(isinstance(node, (ast.FunctionDef, ast.ClassDef)) for node in body)


def without_tests(room: str) -> list[str]:
    """Modules of a room that no test file of the room is called after; a leading underscore is left out."""
    there = {file.stem for file in (ROOT / "tests" / room).rglob("test_*.py")}
    return [
        str(file.relative_to(LIBRARY))
        for file in modules(room)
        if f"test_{file.stem.removeprefix('_')}" not in there
    ]


ROOMS = sorted(p.name for p in LIBRARY.iterdir() if p.is_dir() and any(p.glob("*.py")))


@pytest.mark.parametrize("room", ROOMS)
def test_no_more_modules_without_a_test_file_than_before(room: str) -> None:
    missing = without_tests(room)
    assert len(missing) <= WITHOUT.get(room, 0), (
        f"{len(missing)} modules of {room} have no test file of their name, {WITHOUT.get(room, 0)} had none: {missing}"
    )


def test_a_module_without_a_test_file_is_found() -> None:
    found = without_tests("results")
    assert "results/arguments.py" not in found
    assert "results/picture.py" in found or (ROOT / "tests/results/test_picture.py").exists()
