"""Types are real: the library and a user's script are checked strictly, and mistakes in the script are found."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

HERE = Path(__file__).parent

#: What a user may get wrong, the right text first, and what a type checker calls it.
MISTAKES = (
    ("tolerance=0.2)\n    share", 'tolerance="wide")\n    share', "arg-type"),
    ("control_chart", "controll_chart", "attr-defined"),
    ("found.Cg.low", "found.Cg.lower", "attr-defined"),
    ("found.statement", "found.sentence", "attr-defined"),
    ("7.9, 8.1, unit", "7.9, 8.1, 8.0, unit", "call-arg|misc"),
    ("isinstance(index, Interval)", "True", "union-attr"),
    ("chart.plot(left)", "chart.plot(left, right)", "call-arg"),
)


def check(file: Path, root: Path) -> str:
    """What mypy says of a file under the library's own configuration."""
    words = [sys.executable, "-m", "mypy", "--strict", "--config-file", "lib/pyproject.toml"]
    done = subprocess.run(
        [*words, str(file)], cwd=root, capture_output=True, text=True, check=False
    )
    return done.stdout


def test_the_library_is_checked_strictly(root: Path) -> None:
    """``test_habits`` runs the checker (marker ``types``); here, that its configuration leaves nothing out."""
    content = tomllib.loads((root / "lib/pyproject.toml").read_text(encoding="utf-8"))
    settings = content["tool"]["mypy"]
    assert settings["strict"] is True
    weaker = {
        name for name, value in settings.items() if name.startswith(("disallow", "warn", "no_"))
    }
    assert not weaker
    assert "overrides" not in settings


@pytest.mark.types
def test_a_users_script_is_typed(root: Path) -> None:
    assert "Success" in check(HERE / "user_script.py", root)


@pytest.mark.types
def test_mistakes_in_it_are_found(root: Path, tmp_path: Path) -> None:
    text = (HERE / "user_script.py").read_text(encoding="utf-8")
    for number, (right, wrong, _) in enumerate(MISTAKES):
        assert right in text
        (tmp_path / f"wrong_{number}.py").write_text(text.replace(right, wrong), encoding="utf-8")
    said = check(tmp_path, root).splitlines()
    for number, (_, wrong, kinds) in enumerate(MISTAKES):
        lines = [line for line in said if f"wrong_{number}.py" in line]
        if not any(f"[{kind}]" in line for line in lines for kind in kinds.split("|")):
            pytest.fail(f"{wrong}: {lines}")
