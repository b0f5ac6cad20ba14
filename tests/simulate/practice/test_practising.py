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
    assert "100 %" in capsys.readouterr().out
    # The student has the folder alone.
    assert main(["grade", str(tmp_path / "s1")]) == 2
    assert "--teacher" in capsys.readouterr().err


def test_without_a_teacher(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "mine"
    assert main(["practice", str(folder), "--seed", "3", "--level", "2", "--self"]) == 0
    assert [path.name for path in tmp_path.iterdir()] == ["mine"]
    assert main(["grade", str(folder), "--open"]) == 0
    assert " 0 %." in capsys.readouterr().out


def test_the_teachers_file_lies_beside_the_folder_and_not_in_it(tmp_path: Path) -> None:
    assert main(["practice", str(tmp_path / "p"), "--seed", "3"]) == 0
    assert (tmp_path / "p.teacher.toml").is_file()
    assert main(["grade", str(tmp_path / "p")]) == 0


def test_a_gap_in_the_form_keeps_the_truth_shut(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "mine"
    assert main(["practice", str(folder), "--seed", "3", "--self"]) == 0
    capsys.readouterr()
    # Nobody at the keyboard: told, not shown.
    assert main(["grade", str(folder)]) == 1
    said = capsys.readouterr().out
    assert "width, height, burr, appearance, record" in said
    assert "a sentence of 5 words or more" not in said
    # Somebody at it is asked, and no is no.
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    for answer, code in (("", 1), ("no", 1), ("yes", 0)):
        monkeypatch.setattr("builtins.input", lambda _, answer=answer: answer)
        assert main(["grade", str(folder)]) == code
        assert ("a sentence of 5 words or more" in capsys.readouterr().out) == (code == 0)
    # One decision is left: that one is named.
    expert(folder)
    form = folder / "decisions.toml"
    text = form.read_text(encoding="utf-8")
    form.write_text(
        text.replace('[decision.burr]\ndecision = "', '[decision.burr]\nold = "'), encoding="utf-8"
    )
    monkeypatch.setattr("builtins.input", lambda _: "")
    assert main(["grade", str(folder)]) == 1
    assert "decisions.toml: burr." in capsys.readouterr().out
    form.write_text(text, encoding="utf-8")
    assert main(["grade", str(folder)]) == 0
    lines = capsys.readouterr().out.splitlines()
    # From the left, each column under its name; whose study it was, and that nobody watched.
    assert lines[0].startswith("what")
    assert all(line[:1].strip() for line in lines if line)
    assert "seed 3 and level 1" in lines[-1]
    assert "without a teacher" in lines[-1]


def test_a_folder_by_any_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert main(["practice", str(tmp_path / "p"), "--seed", "3"]) == 0
    monkeypatch.chdir(tmp_path / "p")
    # The teacher's file beside the folder is found from inside it too.
    assert main(["grade", "."]) == 0
    monkeypatch.chdir(tmp_path / "p" / "data")
    assert main(["grade", ".."]) == 0
    capsys.readouterr()
    assert main(["grade", "."]) == 2
    assert "is no practice study" in capsys.readouterr().err


def test_anothers_form_and_truth_are_seen(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Who copies a neighbour's folder hands in the neighbour's seed."""
    teacher = str(tmp_path / "class.toml")
    for seed in (1, 2):
        folder = str(tmp_path / f"s{seed}")
        assert main(["practice", folder, "--seed", str(seed), "--teacher", teacher]) == 0
    expert(tmp_path / "s1")
    for name in ("truth.sealed", "decisions.toml"):
        (tmp_path / "s2" / name).write_bytes((tmp_path / "s1" / name).read_bytes())
    capsys.readouterr()
    assert main(["grade", str(tmp_path / "s2"), "--teacher", teacher]) == 0
    said = capsys.readouterr().out.splitlines()[-1]
    assert "seed 1" in said
    assert "Changed since it was handed out: " in said
    # A truth of one's own making does not open with the teacher's salt.
    assert main(["practice", str(tmp_path / "own"), "--seed", "1", "--self"]) == 0
    (tmp_path / "s2" / "truth.sealed").write_bytes((tmp_path / "own" / "truth.sealed").read_bytes())
    assert main(["grade", str(tmp_path / "s2"), "--teacher", teacher]) == 2
