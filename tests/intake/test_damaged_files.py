"""Damaged files of every reader are read or refused in one line; thousands of them are taken by the proof."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from damaged_files import damaged, seeds, taken

#: Numbers that once ended in an error nobody foresaw, and some others.
NUMBERS = (21, 1022, 1825, 21147, 901011, 3, 4, 5)


@pytest.mark.proof
def test_damaged_files_end_in_records_or_in_one_line(tmp_path: Path) -> None:
    sound = seeds(tmp_path)
    for number in NUMBERS:
        assert taken(number, tmp_path / f"f{number}", sound) in ("read", "refused")


def test_every_reader_has_its_files(tmp_path: Path) -> None:
    sound = seeds(tmp_path)
    endings = {name.rsplit(".", 1)[1] for name, _ in sound}
    assert endings == {"csv", "txt", "tsv", "jsonl", "xlsx", "xls", "qif"}
    assert {"floor crossed.xlsx", "floor drift.xlsx", "list.csv"} <= {name for name, _ in sound}
    # Damage does something.
    chance = random.Random(1)
    assert sum(damaged(name, raw, chance) != raw for name, raw in sound[::40]) > 5
