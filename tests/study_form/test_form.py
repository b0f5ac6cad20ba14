"""The whole form: an untouched study is not touched, and a corrected one says what was corrected."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from linestudy import open_study, start_study
from linestudy.study_form import open_form


def test_later_steps_appear_once_files_are_read(tmp_path: Path, filled: Any) -> None:
    empty = open_form(tmp_path / "other")
    assert [step.widget.layout.display for step in empty.steps] == [None] + ["none"] * 6
    assert {step.widget.layout.display for step in filled.steps} == {None}
    assert all(step.title and step.purpose for step in filled.steps)


def test_what_was_written_by_hand_stays(tmp_path: Path) -> None:
    folder = start_study(tmp_path / "study")
    mine = (folder / "study.toml").read_text()
    form = open_form(folder)
    form.write.write.click()
    assert (folder / "study.toml").read_text() == mine
    form.grid.rows[0].fields["upper"].value = "6,36"
    form.write.write.click()
    assert (folder / "study.toml").read_text() == mine.replace("upper = 6.35", "upper = 6.36")
    assert open_study(folder).characteristics[0].upper == 6.36


def test_text_of_a_file_is_never_markup(tmp_path: Path) -> None:
    rows = "".join(f"{i},2.8{i}\n" for i in range(9))
    (tmp_path / "a.csv").write_text("No,<img src=x onerror=alert(1)>\n" + rows)
    form = open_form(tmp_path / "study")
    form.files.folder.value = str(tmp_path)
    form.files.found.value = (str(tmp_path / "a.csv"),)
    form.files.read.click()

    def walk(widget: Any) -> Any:
        yield widget
        for child in getattr(widget, "children", ()):
            yield from walk(child)

    shown = [w.value for w in walk(form.widget) if type(w).__name__ == "HTML"]
    assert any("&lt;img" in text for text in shown)
    assert not any("<img" in text for text in shown)


def test_keys_stay_in_the_form(filled: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """JupyterLab's own mark for it is set around the form; the browser test presses the keys."""
    shown: list[Any] = []
    monkeypatch.setattr("IPython.display.display", lambda what, **_: shown.append(what))
    filled._ipython_display_()
    widget, script = shown
    assert widget is filled.widget
    assert "data-lm-suppress-shortcuts" in script["application/javascript"]
    assert script["text/plain"] == ""
