"""Holds every printed number to its decimals, and REGISTER.md to the table of cases and to the marks of the tests."""

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
AGAIN: dict[str, Any] = load(
    "linestudy_published_first_principles", HERE / "first_principles.py"
).recomputed()
marks = load("linestudy_published_marks", HERE / "marks.py")
HEAD = """# Numbers from outside, and what we get

Made by `LINESTUDY_WRITE_REGISTER=1 python -m pytest tests/published`; a test holds this page to the
table it is made from (`cases*.py`), and every number to the decimals its source prints; where more may lie
between, the last column says why. *From memory* means that the number was written down from memory. Each of
those was computed once more without the kit (`first_principles.py`), in the way the column *recomputed* names.

| room | what | source | from memory | printed | recomputed | ours | digits | why a difference |
|---|---|---|---|---|---|---|---|---|
"""
MARKED = """
## Tests that name their source

What a test holds against something outside, as its mark says: `@pytest.mark.checks("Cgk", source="…", memory=True)`.
Tests without a mark name theirs in a comment.

| room | what | source | from memory | test |
|---|---|---|---|---|
"""


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c.room}: {c.what}")
def test_every_printed_number(case: Any) -> None:
    assert case.holds(case.ours()), (case.printed, case.ours())


@pytest.mark.parametrize("case", [c for c in CASES if c.what in AGAIN], ids=lambda c: c.what)
def test_every_number_recomputed_from_first_principles(case: Any) -> None:
    again, ours = AGAIN[case.what], case.ours()
    value = again.value()
    if again.simulated:
        # Four standard errors: one in 16,000 by chance, and the seed is fixed.
        assert abs(ours - value) <= 4 * again.near
        assert abs(float(case.printed) - value) <= 4 * again.near + 0.005
    else:
        assert ours == pytest.approx(value, rel=again.near)
        assert case.holds(value), (case.printed, value)


def test_every_number_from_memory_is_recomputed() -> None:
    names = [case.what for case in CASES]
    assert len(set(names)) == len(names)
    assert [case.what for case in CASES if case.memory and case.what not in AGAIN] == []
    assert set(AGAIN) <= set(names)


def test_slack_beyond_the_printed_digit_is_explained() -> None:
    assert [case.what for case in CASES if case.slack > 0.5 and not case.note] == []


def shown(case: Any, value: float) -> str:
    # One more digit than printed shows what rounding hides, and no more than machines agree on.
    return f"{value:.{min(len(case.printed.strip('-').replace('.', '')) + 1, 14)}g}"


def row(case: Any) -> str:
    value, again = case.ours(), AGAIN.get(case.what)
    anew = ""
    if again is not None:
        error = f" ± {again.near:.2g}" if again.simulated else ""
        anew = f"{shown(case, again.value())}{error} ({again.how})"
    cells = [case.room, case.what, case.source, "yes" if case.memory else "no", case.printed]
    cells += [anew, shown(case, value), str(min(case.digits(value), 14)), case.note]
    return "| " + " | ".join(cells) + " |"


def mark_row(mark: Any) -> str:
    cells = [mark.room, mark.what, mark.source, "yes" if mark.memory else "no"]
    return "| " + " | ".join([*cells, f"`{mark.file}::{mark.test}`"]) + " |"


def test_the_register_is_what_was_computed() -> None:
    text = HEAD + "\n".join(map(row, CASES)) + "\n"
    text += MARKED + "\n".join(map(mark_row, marks.all_marks())) + "\n"
    file = HERE / "REGISTER.md"
    if os.environ.get("LINESTUDY_WRITE_REGISTER"):
        file.write_text(text, encoding="utf-8")
    assert file.read_text(encoding="utf-8") == text


def test_there_are_enough_of_them_in_every_room() -> None:
    assert len(CASES) >= 25
    assert {case.room for case in CASES} >= {"core", "gauges", "stability", "shape", "capability"}
    assert {mark.room for mark in marks.all_marks()} >= {"gauges", "stability", "capability"}


def test_a_mark_says_what_and_where_from() -> None:
    written = "@pytest.mark.checks({})\ndef test_x() -> None: ...\n"
    good = written.format('"Cgk", source="a book", memory=True')
    assert list(marks.of_source(good, "gauges/test_x.py")) == [
        marks.Mark("gauges/test_x.py", "test_x", "Cgk", "a book", True)
    ]
    for bad in ('"Cgk"', 'source="a book"', '"Cgk", source=""', '"Cgk", source="a", page=3'):
        with pytest.raises(ValueError, match="a mark"):
            list(marks.of_source(written.format(bad), "f"))
