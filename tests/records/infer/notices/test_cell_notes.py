"""Words behind numbers are units, or are told."""

from __future__ import annotations

from pathlib import Path

import pytest
from proposals import WIDTHS, delimited, draft_of, records_of

from linestudy.results import InputError


@pytest.mark.parametrize(("word", "every"), [("OK", 1), ("NG", 5), ("Aug", 7)])
def test_a_word_behind_a_number_is_told_and_refused_by_name(tmp_path: Path, word: str, every: int) -> None:  # fmt: skip
    rows: list[list[object]] = [["No", "Width"]]
    rows += [[i, f"{w} {word}" if i % every == 0 else w] for i, w in enumerate(WIDTHS)]
    draft = draft_of(tmp_path, "run.csv", delimited(rows))
    assert any(f'{word}", bear a word behind a number' in each for each in draft.tables[0].said.open)  # fmt: skip
    with pytest.raises(InputError, match=f'"{word}" is no unit known here'):
        records_of(tmp_path, draft)


@pytest.mark.parametrize("unit", ["mm", "µm", "inch"])
def test_units_behind_numbers_are_none(tmp_path: Path, unit: str) -> None:
    rows: list[list[object]] = [["No", "Width"], *([i, f"{w} {unit}"] for i, w in enumerate(WIDTHS))]  # fmt: skip
    assert draft_of(tmp_path, "run.csv", delimited(rows)).tables[0].said.open == ()
