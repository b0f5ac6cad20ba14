"""Which study the form is about."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy import start_study
from linestudy.study_form import open_form, own_folder


def test_the_folder_above_a_new_one_or_what_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("LINESTUDY_STUDY", raising=False)
    start_study(tmp_path / "study")
    monkeypatch.chdir(tmp_path)
    assert own_folder() == Path("my_study")
    monkeypatch.chdir(tmp_path / "study" / "data")
    assert own_folder() == Path("..")
    monkeypatch.setenv("LINESTUDY_STUDY", "elsewhere")
    assert own_folder() == Path("elsewhere")


def test_a_plain_install_is_told_what_it_lacks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name, *_: None)
    with pytest.raises(Exception, match=r"pip install .linestudy\[notebooks\]"):
        open_form("somewhere")
