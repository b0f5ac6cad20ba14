"""Holds every printed number to its decimals, and REGISTER.md to the table of cases."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest
from beside import load

HERE = Path(__file__).parent


CASES: list[Any] = [
    *load("linestudy_published_cases", HERE / "cases.py").cases(),
    *load("linestudy_published_process_cases", HERE / "cases_of_the_process.py").cases(),
]
HEAD = """# Numbers from outside, and what we get

Made by `LINESTUDY_WRITE_REGISTER=1 python -m pytest tests/published`; a test holds this page to the
table it is made from (`cases*.py`), and every number to the decimals its source prints. *From memory*
means that the number was written down from memory and then checked by recomputing it.

| room | what | source | from memory | printed | ours | digits | why a difference |
|---|---|---|---|---|---|---|---|
"""


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c.room}: {c.what}")
def test_every_printed_number(case: Any) -> None:
    assert case.holds(case.ours()), (case.printed, case.ours())


def test_the_register_is_what_was_computed() -> None:
    rows = []
    for case in CASES:
        value = case.ours()
        # One more digit than printed shows what rounding hides, and no more than machines agree on.
        shown = f"{value:.{min(len(case.printed.strip('-').replace('.', '')) + 1, 14)}g}"
        digits = case.digits(value)
        rows.append(
            f"| {case.room} | {case.what} | {case.source} | {'yes' if case.memory else 'no'} | {case.printed} "
            f"| {shown} | {min(digits, 14)} | {case.note} |"
        )
    text = HEAD + "\n".join(rows) + "\n"
    file = HERE / "REGISTER.md"
    if os.environ.get("LINESTUDY_WRITE_REGISTER"):
        file.write_text(text, encoding="utf-8")
    assert file.read_text(encoding="utf-8") == text


def test_there_are_enough_of_them_in_every_room() -> None:
    assert len(CASES) >= 25
    assert {case.room for case in CASES} >= {"core", "gauges", "stability", "shape", "capability"}
