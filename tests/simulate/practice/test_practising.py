"""The commands for those who learn, with a teacher and without."""

from __future__ import annotations

from pathlib import Path

import pytest
from practice_students import expert

from linestudy.cli import main


def test_a_class_with_one_teachers_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    teacher = tmp_path / "class.toml"
    for seed in (1, 2):
        words = [
            "practice",
            str(tmp_path / f"s{seed}"),
            "--seed",
            str(seed),
            "--teacher",
            str(teacher),
        ]
        assert main(words) == 0
    expert(tmp_path / "s2")
    capsys.readouterr()
    assert main(["grade", str(tmp_path / "s2"), "--teacher", str(teacher)]) == 0
    assert "100%" in capsys.readouterr().out
    # The student has the folder alone.
    assert main(["grade", str(tmp_path / "s1")]) == 2
    assert "--teacher" in capsys.readouterr().err


def test_without_a_teacher(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "mine"
    assert main(["practice", str(folder), "--seed", "3", "--level", "2", "--self"]) == 0
    assert [path.name for path in tmp_path.iterdir()] == ["mine"]
    assert main(["grade", str(folder)]) == 0
    assert "0%" in capsys.readouterr().out


def test_the_teachers_file_lies_beside_the_folder_and_not_in_it(tmp_path: Path) -> None:
    assert main(["practice", str(tmp_path / "p"), "--seed", "3"]) == 0
    assert (tmp_path / "p.teacher.toml").is_file()
    assert main(["grade", str(tmp_path / "p")]) == 0
