"""Floors stay small, modules do not import in circles, functions do not hide their modules."""

from __future__ import annotations

import ast
import inspect
import re
from collections import Counter
from pathlib import Path

import linestudy

ROOT = Path(__file__).resolve().parents[2]
LIBRARY = ROOT / "lib" / "linestudy"
MOST = 12
#: Floors that still hold more modules than that; a number here may only fall.
CROWDED: dict[str, int] = {}


def modules() -> dict[str, Path]:
    """Full name and file of every module, packages by their own name."""
    found = {}
    for file in sorted(LIBRARY.rglob("*.py")):
        parts = ("linestudy", *file.relative_to(LIBRARY).with_suffix("").parts)
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = file
    return found


def imports(file: Path, known: set[str]) -> set[str]:
    """Modules of the kit that a module imports when it is loaded; what only type checkers see does not count."""
    found: set[str] = set()

    def walk(body: list[ast.stmt]) -> None:
        for node in body:
            if isinstance(node, ast.ImportFrom) and node.module:
                for name in node.names:
                    full = f"{node.module}.{name.name}"
                    found.add(full if full in known else node.module)
            elif isinstance(node, ast.Import):
                found.update(name.name for name in node.names)
            elif isinstance(node, ast.If) and "TYPE_CHECKING" not in ast.dump(node.test):
                walk(node.body + node.orelse)
            elif isinstance(node, ast.Try):
                walk(node.body)

    walk(ast.parse(file.read_text(encoding="utf-8")).body)
    return found & known


def circles() -> list[list[str]]:
    """Chains of modules that come back to where they began."""
    found = modules()
    known = {name for name, file in found.items() if file.stem != "__init__"}
    graph = {name: imports(found[name], known) - {name} for name in known}
    state: dict[str, int] = {}
    back: list[list[str]] = []

    def visit(name: str, way: list[str]) -> None:
        state[name] = 1
        for other in sorted(graph[name]):
            if state.get(other) == 1:
                back.append([*way[way.index(other) :], other] if other in way else [name, other])
            elif other not in state:
                visit(other, [*way, other])
        state[name] = 2

    for name in sorted(graph):
        if name not in state:
            visit(name, [name])
    return back


def test_no_module_imports_in_a_circle() -> None:
    assert circles() == []


def test_no_floor_is_crowded() -> None:
    count = Counter(
        file.parent.relative_to(LIBRARY).as_posix()
        for file in modules().values()
        if file.stem not in ("__init__", "__main__")
    )
    over = {floor: n for floor, n in count.items() if n > CROWDED.get(floor, MOST)}
    assert over == {}


def test_a_public_function_hides_no_module() -> None:
    """A function by the name of its module makes the module unreachable; each package's ``evaluate`` alone may."""
    hidden = []
    for room in linestudy.__all__:
        package = getattr(linestudy, room)
        if not hasattr(package, "__path__"):
            continue
        for name in package.__all__:
            thing = getattr(package, name)
            if inspect.isfunction(thing) and name != "evaluate":
                module = inspect.unwrap(thing).__module__
                hidden += [f"{room}.{name}"] if name in module.split(".")[2:] else []
    assert hidden == []


def test_the_map_names_every_floor() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    plan = text[text.index("## The map") : text.index("## The story of one value")]
    floors = {file.parent for file in modules().values()} - {LIBRARY}
    missing = [
        floor.relative_to(LIBRARY).as_posix()
        for floor in sorted(floors)
        if f"`{floor.name}`" not in plan and f"{floor.name}/`" not in plan
    ]
    assert missing == []


def test_files_of_the_story_are_there() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    story = text[text.index("## The story of one value") : text.index("## Results look alike")]
    named = {
        part for part in re.findall(r"`([a-z_/]+\.py)`", story) if not part.startswith("__init__")
    }
    assert len(named) >= 15
    known = {file.relative_to(LIBRARY).as_posix() for file in modules().values()}
    assert {name for name in named if not any(full.endswith(name) for full in known)} == set()
