"""The habits of the project, kept by tools: lint, format, types, layers, lock, notebooks."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from packages import PACKAGES

PYTHON = sys.executable
TOOLS = Path(sys.executable).parent


def run(words: list[str], root: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(words, cwd=root, capture_output=True, text=True, check=False)


def test_lint(root: Path) -> None:
    done = run(
        [PYTHON, "-m", "ruff", "check", "--config", "lib/pyproject.toml", "lib", "tests"], root
    )
    assert done.returncode == 0, done.stdout[-4000:]


def test_format(root: Path) -> None:
    done = run(
        [
            PYTHON,
            "-m",
            "ruff",
            "format",
            "--check",
            "--config",
            "lib/pyproject.toml",
            "lib",
            "tests",
        ],
        root,
    )
    assert done.returncode == 0, done.stdout[-4000:]


def test_layers(root: Path) -> None:
    done = run(
        [
            PYTHON,
            "-c",
            "from importlinter.cli import lint_imports_command as c; c()",
            "--config",
            "lib/pyproject.toml",
            "--no-cache",
        ],
        root,
    )
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-1000:]
    assert "KEPT" in done.stdout


@pytest.mark.types
def test_types(root: Path) -> None:
    done = run([PYTHON, "-m", "mypy", "--config-file", "lib/pyproject.toml", "lib/linestudy"], root)
    assert done.returncode == 0, done.stdout[-4000:]


def test_import_costs_next_to_nothing(root: Path) -> None:
    code = "import linestudy, sys; print([m for m in ('numpy', 'pandas', 'pydantic') if m in sys.modules])"
    assert run([PYTHON, "-c", code], root).stdout.strip() == "[]"


def test_every_lazy_name_loads() -> None:
    import linestudy

    for name in linestudy.__all__:
        assert getattr(linestudy, name) is not None
    for room in PACKAGES:
        module = __import__(f"linestudy.{room}", fromlist=["__all__"])
        for name in module.__all__:
            assert getattr(module, name) is not None, f"{room}.{name}"


def test_lock_is_exact_and_covers_every_dependency(root: Path) -> None:
    lock = [
        line.split(";")[0].strip()
        for line in (root / "requirements.txt").read_text().splitlines()
        if line and not line.startswith("#")
    ]
    assert lock[-1] == "-e ./lib"
    names = set()
    for line in lock[:-1]:
        assert re.fullmatch(r"[A-Za-z0-9_.\-\[\],]+==[A-Za-z0-9_.!+\-]+", line), line
        names.add(re.split(r"[\[=]", line)[0].lower().replace("_", "-"))
    project = tomllib.loads((root / "lib/pyproject.toml").read_text())["project"]
    extras = project["optional-dependencies"]
    wanted = [
        *project["dependencies"],
        *(n for e in ("notebooks", "log", "test") for n in extras[e]),
    ]
    for requirement in wanted:
        name = re.split(r"[\[><=]", requirement)[0].lower()
        assert name in names, f"{name} is not in the lock"


def notebooks(root: Path) -> list[Path]:
    return [p for p in (root / "notebooks").rglob("*.ipynb") if ".ipynb_checkpoints" not in p.parts]


def test_notebooks_are_stored_clean(root: Path) -> None:
    found = notebooks(root)
    assert found
    for file in found:
        for number, cell in enumerate(json.loads(file.read_text(encoding="utf-8"))["cells"]):
            if cell["cell_type"] != "code":
                continue
            assert not cell["outputs"], f"{file.name} cell {number} has stored outputs"
            assert cell["execution_count"] is None, f"{file.name} cell {number} has been run"
            lines = "".join(cell["source"]).splitlines()
            assert len(lines) <= 10, f"{file.name} cell {number} has {len(lines)} lines"


def test_top_level_is_as_designed(root: Path) -> None:
    done = run(["git", "ls-files"], root)
    if done.returncode != 0:
        pytest.skip("not a git checkout")
    top = {line.split("/")[0] for line in done.stdout.splitlines()}
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "requirements.txt",
        "notebooks",
        "lib",
        "tests",
        "sample_data",
    }
    assert {name for name in top if not name.startswith(".")} <= allowed


def test_nothing_grows_out_of_hand(root: Path) -> None:
    for file in [*(root / "lib").rglob("*.py"), *(root / "tests").rglob("*.py")]:
        if ".venv" in file.parts:
            continue
        lines = len(file.read_text(encoding="utf-8").splitlines())
        assert lines <= 450, f"{file.relative_to(root)} has {lines} lines; redraw the room"
