"""Damaged files of every reader, as many as half a minute allows; another stretch of numbers each day."""

from __future__ import annotations

import datetime
import os
import time
from collections import Counter
from pathlib import Path

import pytest
from damaged_files import seeds, taken

#: LINESTUDY_DAMAGED names the first number, and LINESTUDY_FUZZ_SECONDS how long.
FIRST = int(os.environ.get("LINESTUDY_DAMAGED", datetime.date.today().toordinal() * 1000))


@pytest.mark.proof
def test_a_damaged_file_is_read_or_refused_in_one_line(tmp_path: Path) -> None:
    sound = seeds(tmp_path)
    until = time.monotonic() + float(os.environ.get("LINESTUDY_FUZZ_SECONDS", 25))
    found: Counter[str] = Counter()
    number = FIRST
    while time.monotonic() < until:
        try:
            found[taken(number, tmp_path / f"f{number}", sound)] += 1
        except Exception as error:
            raise AssertionError(f"LINESTUDY_DAMAGED={number}") from error
        number += 1
    # Both ends must have been reached, or the files test nothing.
    assert min(found["read"], found["refused"]) > 5
