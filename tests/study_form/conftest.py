"""The form with the raw files of a plant read into it; no browser is needed to press its buttons."""

from __future__ import annotations

import copy
import html
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from plant_files import write_plant_files

from linestudy.intake import Draft, draft_study
from linestudy.study_form import open_form


def said(step: Any) -> str:
    """What a step or a card answers, without its markup."""
    return html.unescape(re.sub(r"<[^>]+>", " ", step.says.widget.value)).strip()


@pytest.fixture(scope="session")
def drafted(tmp_path_factory: pytest.TempPathFactory) -> Draft:
    """The files of a plant, read once for all."""
    raw = tmp_path_factory.mktemp("plant") / "raw"
    write_plant_files(raw, strokes=40)
    return draft_study(sorted(raw.iterdir()))


@pytest.fixture
def filled(tmp_path: Path, drafted: Draft) -> Any:
    """A form whose files have been read; a folder for the study is not there yet."""
    draft = copy.deepcopy(drafted)
    shutil.copytree(draft.tables[0].path.parent, tmp_path / "raw")
    form = open_form(tmp_path / "study")
    form.files.folder.value = str(tmp_path / "raw")
    form._take(draft)
    form.said = said
    return form
