"""`tests/` mirrors `lib/linestudy/`: the tests of a module stand in a file of its name.

What tests a module elsewhere (a file for a whole theme, the proof, the notebooks) does not count: a reader who looks
for it by name does not find it.
"""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LIBRARY = ROOT / "lib" / "linestudy"


def modules(library: Path) -> list[Path]:
    """Modules of the packages; without `__init__`, `__main__` and those that only name things."""
    return sorted(
        file
        for file in library.rglob("*.py")
        if file.stem[:2] != "__" and file.parent != library and _does_something(file)
    )


def _does_something(file: Path) -> bool:
    """Whether a module defines a function or a class."""
    body = ast.parse(file.read_text(encoding="utf-8")).body
    return any(isinstance(node, (ast.FunctionDef, ast.ClassDef)) for node in body)


def without_tests(library: Path, tests: Path) -> list[str]:
    """Modules that no test file in the folder of their own is called after; a leading underscore is left out."""
    own = [(file.relative_to(library), file.stem.removeprefix("_")) for file in modules(library)]
    return [
        file.as_posix()
        for file, name in own
        if not (tests / file.parent / f"test_{name}.py").exists()
    ]


def test_every_module_has_a_test_file_of_its_name_in_the_folder_of_its_name() -> None:
    assert without_tests(LIBRARY, ROOT / "tests") == []


def test_a_module_without_a_test_file_is_found(tmp_path: Path) -> None:
    for file, text in (
        ("a/one.py", "def f(): ..."),
        ("a/b/two.py", "class C: ..."),
        ("a/names.py", "X = 1"),
    ):
        path = tmp_path / "lib" / file
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    (tmp_path / "tests/a").mkdir(parents=True)
    (tmp_path / "tests/a/test_one.py").touch()
    (tmp_path / "tests/a/test_two.py").touch()
    assert without_tests(tmp_path / "lib", tmp_path / "tests") == ["a/b/two.py"]
