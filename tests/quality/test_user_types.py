"""Types are real: a user's script is checked strictly, and mistakes in it are found."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent


def check(file: Path, root: Path) -> str:
    words = [
        sys.executable,
        "-m",
        "mypy",
        "--strict",
        "--config-file",
        "lib/pyproject.toml",
        str(file),
    ]
    done = subprocess.run(words, cwd=root, capture_output=True, text=True, check=False)
    return done.stdout


def test_a_users_script_is_typed(root: Path) -> None:
    found = [
        line
        for line in check(HERE / "user_script.py", root).splitlines()
        if "user_script.py" in line
    ]
    assert found == []


def test_a_mistake_in_it_is_found(root: Path, tmp_path: Path) -> None:
    text = (HERE / "user_script.py").read_text(encoding="utf-8")
    wrong = tmp_path / "wrong_script.py"
    wrong.write_text(
        text.replace("tolerance=0.2", 'tolerance="wide"').replace("grr_anova", "grr_anova"),
        encoding="utf-8",
    )
    assert "arg-type" in check(wrong, root)
    wrong.write_text(text.replace("control_chart", "controll_chart"), encoding="utf-8")
    assert "attr-defined" in check(wrong, root)
