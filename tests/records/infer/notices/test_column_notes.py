"""What is left aside is said: clocks nobody can read, labels of several things, tables side by side, texts for numbers."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest
from proposals import TIMES, WIDTHS, delimited, draft_of


def _open(folder: Path, rows: list[list[object]]) -> str:
    return " | ".join(draft_of(folder, "run.csv", delimited(rows)).tables[0].said.open)


def test_a_clock_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    rows: list[list[object]] = [["No", "Time", "Width"]]
    rows += [[i, f"{t:%Y-%m-%d} shift 3 {t:%H:%M}", w] for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=True))]  # fmt: skip
    assert '"Time" is called a time, and cells such as "2026-09-03 shift 3 22:00"' in _open(tmp_path, rows)  # fmt: skip


def test_a_clock_that_can_be_read_is_not(tmp_path: Path) -> None:
    rows: list[list[object]] = [["No", "Time", "Width"]]
    rows += [[i, f"{t:%Y-%m-%d %H:%M}", w] for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=True))]  # fmt: skip
    assert _open(tmp_path, rows) == ""


@pytest.mark.parametrize("mark", ["-", "_", "/", " "])
def test_labels_that_join_part_person_and_trial_are_told(tmp_path: Path, mark: str) -> None:
    labels = [mark.join(each) for each in itertools.product(("Anna", "Ben"), [f"P{i:02}" for i in range(10)], "12")]  # fmt: skip
    rows: list[list[object]] = [["Sample", "Width"], *map(list, zip(labels, WIDTHS, strict=True))]
    assert '"Sample" joins 3 things in one label' in _open(tmp_path, rows)


@pytest.mark.parametrize("label", ["SN-2026-{:04}", "TE10/{:03}", "{}"])
def test_serial_numbers_join_nothing(tmp_path: Path, label: str) -> None:
    rows: list[list[object]] = [["Serial", "Width"]]
    rows += [[label.format(i), w] for i, w in enumerate(WIDTHS)]
    assert "joins" not in _open(tmp_path, rows)


def test_tables_side_by_side_of_other_parts_are_told(tmp_path: Path) -> None:
    order = np.random.default_rng(3).permutation(40)
    rows: list[list[object]] = [["Part", "Anna", "Part", "Ben"]]
    rows += [[i + 1, w, int(order[i]) + 1, WIDTHS[order[i]]] for i, w in enumerate(WIDTHS)]
    assert '"Part again" holds other entries than "Part"' in _open(tmp_path, rows)


@pytest.mark.parametrize("cell", ["3 of 16", "12°30'15\"", "2.801 ± 0.002"])
def test_texts_for_numbers_are_shown(tmp_path: Path, cell: str) -> None:
    rows: list[list[object]] = [["No", "Length"], *([i, cell.replace("3", str(3 + i))] for i in range(20))]  # fmt: skip
    told = _open(tmp_path, rows)
    assert "no column holds plain numbers" in told
    assert 'in "Length"' in told
