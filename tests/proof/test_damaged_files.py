"""Damaged files of every reader, as many as half a minute allows, of numbers that all passed once.

What fails here is therefore what a change broke. LINESTUDY_DAMAGED=N with LINESTUDY_FUZZ_SECONDS looks further.
"""

from __future__ import annotations

import os
import time
from collections import Counter
from pathlib import Path

import pytest
from damaged_files import seeds, taken

#: LINESTUDY_DAMAGED names the first number, and LINESTUDY_FUZZ_SECONDS how long.
FIRST = int(os.environ.get("LINESTUDY_DAMAGED", "0"))


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
