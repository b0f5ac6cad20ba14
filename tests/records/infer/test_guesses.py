"""Columns are claimed once; what nobody claims are the readings."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from linestudy.records import infer_data_table
from linestudy.records.infer.column_kinds import ColumnKind
from linestudy.records.infer.guesses import Guess, Table, common_name, is_label, number_rows


def column(name: str, numbers: list[float], rising: float = 0.0) -> ColumnKind:
    return ColumnKind(name, "numbers", len(numbers), len(set(numbers)), np.array(numbers), rising)


def test_a_column_is_claimed_once() -> None:
    table = Table([column("Stroke", [1, 2, 3], 1.0), column("Width", [2.8, 2.9, 2.7])], 3, "f.csv")
    guess = Guess("run", "")
    number_rows(table, guess)
    assert guess.keys[0][:2] == ("order", "Stroke")
    assert [each.name for each in table.free("numbers")] == ["Width"]
    number_rows(table, guess)
    assert len(guess.keys) == 1


def test_labels_and_common_names() -> None:
    assert is_label(column("Part", [1, 2]))
    assert not is_label(column("Part", [1.5, 2]))
    assert not is_label(column("Width", [1, 2]))
    assert common_name([column("Width 1", [1]), column("Width 2", [1])]) == "Width"
    assert common_name([column("x1", [1]), column("x2", [1])]) == "value"


def test_a_counter_that_begins_anew_with_each_job(tmp_path: Path) -> None:
    rows = "".join(
        f"J{job},{stroke},2.8{stroke % 10}\n" for job in (1, 2, 3) for stroke in range(1, 61)
    )
    (tmp_path / "log.csv").write_text("Job,Counter,Width\n" + rows)
    assert 'order = ["Job", "Counter"]' in infer_data_table(tmp_path / "log.csv")
    on = "".join(f"J{i // 60},{i},2.8{i % 10}\n" for i in range(180))
    (tmp_path / "on.csv").write_text("Job,Counter,Width\n" + on)
    assert 'order = "Counter"' in infer_data_table(tmp_path / "on.csv")
