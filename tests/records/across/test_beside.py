"""Columns of a run that study.toml does not name and that may be streams."""

from __future__ import annotations

import numpy as np
import pandas as pd

from linestudy.records.across.beside import BESIDE, labels_beside
from linestudy.study.model import Data


def data(column: str, **more: object) -> Data:
    return Data.model_validate({"role": "run", "file": "run.csv", "columns": {"w": column}} | more)


def text(**columns: object) -> pd.DataFrame:
    return pd.DataFrame(columns).astype(str)


def test_labels_are_columns_of_few_entries_none_of_them_rare() -> None:
    rows = np.arange(400)
    verdict = np.where(rows % 40 == 0, "NOK", "OK")
    frame = text(W=rows / 7, Lane=rows % 2, Serial=rows, Verdict=verdict, Shift=np.full(400, "A"))
    found = labels_beside(data("W"), frame)
    assert list(found) == [f"{BESIDE}Lane"]
    assert found[f"{BESIDE}Lane"].tolist()[:3] == [0, 1, 0]
    assert labels_beside(data("W", station="Lane"), frame) == {}
    assert labels_beside(data("W", subgroup="Lane"), frame) == {}
