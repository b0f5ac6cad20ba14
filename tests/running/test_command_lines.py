"""Command lines that are printed reach a shell as they were meant."""

from __future__ import annotations

import os
import shlex
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.running import command_lines
from linestudy.running.command_lines import command_line


@pytest.mark.skipif(os.name == "nt", reason="quoted by other rules there")
@given(st.lists(st.text(st.characters(blacklist_categories=("Cs", "Cc")), max_size=12), max_size=4))
def test_a_shell_takes_the_words_apart_again(words: list[str]) -> None:
    assert shlex.split(command_line("check", *words)) == ["linestudy", "check", *words]


def test_plain_words_stay_plain() -> None:
    assert (
        command_line("new", Path("Prüfung_1"), "--from", "a.csv")
        == "linestudy new Prüfung_1 --from a.csv"
    )
    assert " ".join(command_line("check", "my study").split()[2:]).strip("'\"") == "my study"


def test_windows_has_its_own_quotes(monkeypatch: pytest.MonkeyPatch) -> None:
    class Windows:
        name = "nt"

    monkeypatch.setattr(command_lines, "os", Windows)
    assert command_line("check", r"C:\my study") == r'linestudy check "C:\my study"'
