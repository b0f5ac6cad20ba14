"""One value a row: whose it is by one column or several, and in which unit."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.records.across.one_value import OWNER, widened
from linestudy.results import InputError
from linestudy.study.load import Study, _checked

TEXT = pd.DataFrame(
    {
        "Feature": ["Bore", "Bore", "Slot", ""],
        "Axis": ["X", "D", "X", ""],
        "Value": ["1.5", "2,8", "NA", "3"],
        "Unit": ["mm", "µm", "mm", ""],
    },
    dtype=str,
)


def _widened(**long: Any) -> tuple[pd.DataFrame, Any]:
    names = ("Bore X", "Bore D", "Bore")
    items = [{"id": name.lower().replace(" ", "_"), "name": name, "unit": "mm", "upper": 9.0} for name in names]  # fmt: skip
    data = {"role": "run", "file": "a.csv", "long": {"value": "Value", **long}}
    content = {"format": 1, "study": {"title": "t", "part": "p"}, "characteristic": items, "data": [data]}  # fmt: skip
    study = Study(Path(), _checked(content, ""))
    return widened(study, study.data[0], TEXT)


def test_two_columns_name_it_together() -> None:
    wide, data = _widened(characteristic=["Feature", "Axis"])
    assert wide[OWNER].tolist() == ["bore_x", "bore_d", "", ""]
    assert set(data.columns) == {"bore_x", "bore_d"}
    assert data.long is None


def test_the_unit_of_a_row_stands_behind_its_value() -> None:
    wide, data = _widened(characteristic="Feature", unit="Unit")
    np.testing.assert_array_equal(wide[data.columns["bore"]], ["1.5 mm", "2,8 µm", "", ""])


def test_columns_that_are_not_there_or_name_nothing() -> None:
    with pytest.raises(InputError, match='no column "Einheit"'):
        _widened(characteristic="Feature", unit="Einheit")
    with pytest.raises(InputError, match='column "Unit" names no characteristic'):
        _widened(characteristic="Unit")
