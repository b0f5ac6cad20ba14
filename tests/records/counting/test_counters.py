"""Counters that begin anew, and days that nothing numbers, without a clock."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from proposals import WIDTHS, delimited, draft_of, records_of

from linestudy.intake import draft_study

TEXTS = [f"{width:.4f}" for width in WIDTHS]


def _two_days(twice: bool = False) -> list[list[object]]:
    rows = [[i % 20 + 1, TEXTS[i % 20 if twice else i]] for i in range(40)]
    return [["No", "Width"], *rows]


def test_a_counter_that_begins_anew_without_a_clock(tmp_path: Path) -> None:
    draft = draft_of(tmp_path, "log.csv", delimited(_two_days(), ";"))
    records = records_of(tmp_path, draft)
    table = records.table("run", "width")
    assert table is not None
    assert np.allclose(table["value"], WIDTHS)
    assert any("No clock says so" in seen.evidence for seen in records.sources[0].seen)


def test_rows_that_stand_there_twice_are_no_new_day(tmp_path: Path) -> None:
    draft = draft_of(tmp_path, "log.csv", delimited(_two_days(twice=True), ";"))
    table = records_of(tmp_path, draft).table("run", "width")
    assert table is not None
    assert len(table) == 20


@pytest.mark.parametrize("counted", [True, False])
def test_days_without_a_clock_follow_each_other(tmp_path: Path, counted: bool) -> None:
    (tmp_path / "data").mkdir()
    for day in range(2):
        rows = [([i + 1] if counted else []) + [TEXTS[20 * day + i]] for i in range(20)]
        head = ["No", "Width"] if counted else ["Width"]
        path = tmp_path / "data" / f"day {day + 1}.csv"
        path.write_bytes(delimited([head, *rows], ";"))
    draft = draft_study(sorted((tmp_path / "data").iterdir()))
    for question in draft.questions():
        if question.key.startswith("gauge"):
            draft.answer(question.key, "Camera")
    records = records_of(tmp_path, draft)
    table = records.table("run", "width")
    assert table is not None
    assert np.allclose(table["value"], WIDTHS)
    assert any("No clock and no counter" in seen.evidence for seen in records.sources[-1].seen)
