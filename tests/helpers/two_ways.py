"""What comes of reading one file of a run, to compare two ways of reading it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from linestudy.records.read_files import read_source
from linestudy.results import InputError
from linestudy.study.load import Study, _checked
from linestudy.study.model import Data

TOML = {
    "format": 1,
    "study": {"title": "t", "part": "p"},
    "characteristic": [
        {"id": "w", "name": "w", "unit": "mm", "lower": 0.0, "upper": 10.0},
        {"id": "v", "name": "v", "unit": "mm", "lower": 0.0, "upper": 10.0, "bound": 0.0},
    ],
    "gauge": [{"id": "g", "name": "g"}],
}


def study_of(data: Data) -> Study:
    """A study of this one file, with two characteristics."""
    return Study(Path(), _checked({**TOML, "data": [data.model_dump(exclude_none=True)]}, ""))


def outcome(study: Study, data: Data, path: Path) -> Any:
    """The rows, the account of all rows and what was noticed; or the one line of a refusal."""
    try:
        source = read_source(study, data, path)
    except InputError as error:
        return str(error)
    return source.frame, source.frame.attrs, source.account, source.seen
