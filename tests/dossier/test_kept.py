"""A study is evaluated once; whatever changes in it, or in the kit, is evaluated anew."""

from __future__ import annotations

import os
import pickle
import shutil
from pathlib import Path
from typing import Any

import pytest

from linestudy.dossier import Evaluation, kept
from linestudy.intake import record_action
from linestudy.results import Findings


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[str]:
    """A cache of its own, and an evaluation that only says that it was made."""
    (tmp_path / "cache").mkdir(mode=0o700)
    monkeypatch.setenv(kept.VARIABLE, str(tmp_path / "cache"))
    made: list[str] = []

    def evaluate(study: Any, **_: Any) -> Evaluation:
        made.append(study.head.title)
        return Evaluation(study, None, Findings())  # type: ignore[arg-type]

    monkeypatch.setattr(kept, "evaluate", evaluate)
    return made


@pytest.fixture
def folder(starter: Evaluation, tmp_path: Path) -> Path:
    return Path(shutil.copytree(starter.study.folder, tmp_path / "study"))


def test_once_for_the_same_content_and_anew_for_any_other(
    counted: list[str], folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for _ in range(3):
        kept.evaluate_once(folder)
    assert len(counted) == 1
    data = folder / "data" / "run.csv"
    data.write_bytes(data.read_bytes().replace(b"6.3", b"6.4", 1))
    kept.evaluate_once(folder)
    assert len(counted) == 2
    record_action(folder, "wipe the lens", by="A", date="2026-05-03")
    found = kept.evaluate_once(folder)
    assert len(counted) == 3
    assert found.study.file.action[0].by == "A"
    monkeypatch.setattr(kept, "_source", lambda: "another kit")
    kept.evaluate_once(folder)
    assert len(counted) == 4


def test_an_opened_study_is_read_anew(counted: list[str], folder: Path) -> None:
    study = kept.evaluate_once(folder).study
    record_action(folder, "wipe the lens", by="A", date="2026-05-03")
    assert len(kept.evaluate_once(study).study.file.action) == 1
    assert len(counted) == 2


@pytest.mark.parametrize("broken", [b"", b"no pickle", pickle.dumps({"a": 1})])
def test_what_cannot_be_read_back_is_evaluated_anew(
    counted: list[str], folder: Path, broken: bytes, tmp_path: Path
) -> None:
    kept.evaluate_once(folder)
    (file,) = (tmp_path / "cache").glob("*.evaluation")
    file.write_bytes(broken)
    kept.evaluate_once(folder)
    kept.evaluate_once(folder)
    assert len(counted) == 2


def test_few_are_kept(counted: list[str], folder: Path, tmp_path: Path) -> None:
    for number in range(9):
        record_action(folder, f"action {number}", by="A", date="2026-05-03")
        kept.evaluate_once(folder)
    assert len(list((tmp_path / "cache").iterdir())) == kept._MOST
    assert len(counted) == 9


def test_nothing_is_kept_where_it_is_not_wanted_or_not_safe(
    counted: list[str], folder: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv(kept.VARIABLE, "")
    kept.evaluate_once(folder)
    if os.name == "posix":
        # A folder that others may write into could hand over code of theirs.
        (tmp_path / "open").mkdir()
        (tmp_path / "open").chmod(0o777)
        monkeypatch.setenv(kept.VARIABLE, str(tmp_path / "open"))
        kept.evaluate_once(folder)
        assert list((tmp_path / "open").iterdir()) == []
    kept.evaluate_once(folder)
    assert len(counted) == 2 + (os.name == "posix")


def test_what_is_kept_is_what_was_found(starter: Evaluation) -> None:
    again = pickle.loads(pickle.dumps(starter))
    assert again.results() == starter.results()
