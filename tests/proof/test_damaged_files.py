"""Damaged files of every reader, as many as half a minute allows, of numbers that all passed once.

What fails here is therefore what a change broke. LINESTUDY_DAMAGED=N with LINESTUDY_FUZZ_SECONDS looks further.
"""

from __future__ import annotations

import os
import random
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest
from damaged_files import damaged, later_seeds, newest_seeds, recent_seeds, seeds, taken

from linestudy.cli import main

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


@pytest.mark.proof
@pytest.mark.parametrize("seeds_of", [later_seeds, newest_seeds, recent_seeds])
def test_readers_that_came_later_and_the_command(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    seeds_of: Callable[[Path], list[tuple[str, bytes]]],
) -> None:
    sound = seeds_of(tmp_path / "sound")
    until = time.monotonic() + float(os.environ.get("LINESTUDY_FUZZ_SECONDS", 20))
    found: Counter[str] = Counter()
    number = FIRST
    while time.monotonic() < until:
        try:
            found[taken(number, tmp_path / f"f{number}", sound)] += 1
            chance = random.Random(-1 - number)
            name, content = chance.choice(sound)
            file = tmp_path / f"c{number}" / name
            file.parent.mkdir()
            file.write_bytes(damaged(name, content, chance))
            code = main(["check", str(file)])
            assert code in (0, 2), f"exit {code}: {capsys.readouterr().err}"
            found[f"exit {code}"] += 1
        except Exception as error:
            raise AssertionError(f"LINESTUDY_DAMAGED={number}") from error
        number += 1
    assert min(found[each] for each in ("read", "refused", "exit 0", "exit 2")) > 5
