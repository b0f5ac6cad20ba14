"""Files are picked, found in a folder, and one that cannot be read keeps none of the others out."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from linestudy.study_form import open_form


@pytest.mark.proof
def test_a_file_that_cannot_be_read_is_left_out(filled: Any, tmp_path: Path) -> None:
    step = filled.files
    (tmp_path / "raw" / "broken.xlsx").write_bytes(b"no workbook")
    step.look()
    step.found.value = tuple(value for _, value in step.found.options)
    step.read.click()
    assert "5 files read, 5 tables found" in filled.said(step)
    assert "Left out: broken.xlsx" in filled.said(step)


def test_nothing_chosen_and_no_folder(tmp_path: Path, filled: Any) -> None:
    form = open_form(tmp_path / "other")
    form.files.read.click()
    assert "not chosen yet" in filled.said(form.files)
    form.files.folder.value = str(tmp_path / "nowhere")
    assert "is no folder" in filled.said(form.files)


def test_a_picked_file_stays_inside(tmp_path: Path, filled: Any) -> None:
    form = open_form(tmp_path / "other")
    content = memoryview(b"No,Width\n1,2.8\n2,2.81\n")
    picked = {
        "name": "..\\..\\a.csv",
        "type": "",
        "size": 1,
        "content": content,
        "last_modified": datetime(2026, 1, 1),
    }
    form.files.upload.set_trait("value", (picked,))
    assert [file.name for file in form.files.chosen()] == ["a.csv"]
    form.files.read.click()
    assert "1 file read, 1 table found" in filled.said(form.files)
