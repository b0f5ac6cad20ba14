"""Files of every role without a single reading, with one row or a few: told, and nothing stumbles."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from linestudy import open_study
from linestudy.dossier.evaluation import evaluate
from linestudy.records.headers import columns_of_values
from linestudy.results import Unjudged
from linestudy.study.load import Study

SAMPLE = Path(__file__).parents[2] / "sample_data" / "fork_receptacle"
FILES = list(dict.fromkeys(data.file for data in open_study(SAMPLE).data))


def with_only(file: str, folder: Path, rows: int | None) -> Study:
    """The sample study with this file alone, cut to some rows or with marks for all its readings."""
    study = open_study(SAMPLE)
    data = tuple(each for each in study.data if each.file == file)
    place = folder / file
    place.parent.mkdir(parents=True)
    table = pd.read_csv(SAMPLE / file, dtype=str)
    if rows is None:
        for name in {name for each in data for name in columns_of_values(each)}:
            table[name] = next(mark for mark in data[0].missing if mark.strip())
    else:
        table = table.head(rows)
    table.to_csv(place, index=False)
    return replace(study, folder=folder, file=study.file.model_copy(update={"data": data}))


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("rows", [None, 1, 3])
@pytest.mark.parametrize("file", FILES)
def test_little_or_nothing_was_read(file: str, rows: int | None, tmp_path: Path) -> None:
    study = with_only(file, tmp_path, rows)
    found = evaluate(study, progress=lambda room: None).findings
    reasons = [item.reason for _, item in found.items() if isinstance(item, Unjudged)]
    counted = {data.role for data in study.data} <= {"attribute", "bins"}
    if rows is None and not counted:
        assert reasons
    assert all(reason.endswith(".") for reason in reasons)
    for _, item in found.items():
        assert item.statement
        item.record()
