"""Records that lie across are turned about; gauge sheets, which lie so on purpose, are not."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.records.infer.column_kinds import kinds
from linestudy.records.infer.notices.across import lies_across
from linestudy.records.text_table import TextTable

CHANCE = np.random.default_rng(4)


def _told(**columns: list[object]) -> str:
    cells = pd.DataFrame({name: [str(x) for x in column] for name, column in columns.items()})
    return lies_across(kinds(TextTable(cells)), len(cells))


def _columns(names: list[str], rows: int = 5) -> dict[str, list[object]]:
    return {name: CHANCE.normal(2.8, 0.01, rows).round(4).tolist() for name in names}


@pytest.mark.parametrize("layout", ["{:02d}.09.2026", "2026-09-{:02d}", "9/{}/2026", "{:02d}:00"])
def test_days_and_hours(layout: str) -> None:
    days = _columns([layout.format(n) for n in range(6, 12)])
    assert "dates or times" in _told(Sample=[1, 2, 3, 4, 5], **days)


@pytest.mark.parametrize("first", ["SN", "Part ", ""])
def test_parts_with_features_of_different_sizes(first: str) -> None:
    parts: dict[str, list[object]] = {
        f"{first}{n:03d}": [2.8 + n / 1000, 1 + n / 1000] for n in range(20)
    }
    assert "each part" in _told(Feature=["Width", "Gap"], **parts)


@pytest.mark.parametrize(
    "columns",
    [
        {"Part": [*"ABCDE"], **_columns([f"Trial {n}" for n in range(1, 16)])},
        {"Part": [1, 2, 3, 4, 5], **_columns([f"Anna {n}" for n in range(1, 16)])},
        {"Subgroup": [1, 2, 3, 4, 5], **_columns([f"x{n}" for n in range(1, 6)])},
        {"Feature": ["Width", "Gap"], "Part 1": [2.8, 1.0], "Part 2": [2.81, 1.01]},
        {"No": [1, 2, 3, 4, 5], "Width": [2.8] * 5, "Gap": [1.0] * 5, "Burr": [0.01] * 5},
    ],
)
def test_records_below_each_other(columns: dict[str, list[object]]) -> None:
    assert _told(**columns) == ""
