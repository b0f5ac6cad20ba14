"""The starter study: whole or not at all, never over something, and one that opens."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy import find_study, open_study, read, start_study
from linestudy.results import InputError


def test_it_opens_and_reads_without_a_remark(tmp_path: Path) -> None:
    study = open_study(start_study(tmp_path / "a" / "study"))
    records = read(study)
    assert [account.rows_read for account in records.ledger.accounts] == [150, 90]
    assert not records.ledger.cautions
    assert not records.screening.seen


def test_nothing_is_written_over(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(InputError, match="exists already and is not empty"):
        start_study(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_an_empty_folder_is_taken(tmp_path: Path) -> None:
    (tmp_path / "study").mkdir()
    assert (start_study(tmp_path / "study") / "study.toml").is_file()
    assert [path.name for path in tmp_path.iterdir()] == ["study"]


def test_the_study_a_notebook_is_about(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    study = start_study(tmp_path / "study")
    (study / "notebooks").mkdir(exist_ok=True)
    monkeypatch.delenv("LINESTUDY_STUDY", raising=False)
    monkeypatch.chdir(study / "notebooks")
    assert find_study().resolve() == study.resolve()
    monkeypatch.setenv("LINESTUDY_STUDY", "elsewhere")
    assert find_study() == Path("elsewhere")
