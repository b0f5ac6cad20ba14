"""The form with the raw files of a plant read into it; no browser is needed to press its buttons."""

from __future__ import annotations

import html
import re
from pathlib import Path
from typing import Any

import pytest
from plant_files import write_plant_files

from linestudy.study_form import open_form


def said(step: Any) -> str:
    """What a step or a card answers, without its markup."""
    return html.unescape(re.sub(r"<[^>]+>", " ", step.says.widget.value)).strip()


@pytest.fixture
def filled(tmp_path: Path) -> Any:
    """A form whose files have been read; a folder for the study is not there yet."""
    write_plant_files(tmp_path / "raw", strokes=40)
    form = open_form(tmp_path / "study")
    form.files.folder.value = str(tmp_path / "raw")
    form.files.found.value = tuple(value for _, value in form.files.found.options)
    form.files.read.click()
    form.said = said
    return form
