"""Grades by eye are judgements in their order, whatever stands behind them; other words are not."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from proposals import delimited, draft_of, records_of

WORDS = {
    "de": ("frei", "leicht", "stark"),
    "en": ("none", "slight", "moderate", "severe"),
    "zh": ("无", "轻微", "严重"),
    "own": ("g7", "a2", "k4"),
}


def sheet(words: tuple[str, ...], measured: bool) -> list[list[object]]:
    """Twelve parts, three people, twice each; the grade rises with what was measured."""
    rng = np.random.default_rng(8)
    head = ["Part", "Operator", "Trial", "Grade", "Reference", *(["Burr"] if measured else [])]
    rows: list[list[object]] = [head]
    for part in range(12):
        true = part % len(words)
        for person in ("Ann", "Ben", "Cy"):
            for trial in (1, 2):
                seen = min(
                    max(true + int(rng.integers(-1, 2)) * (rng.random() < 0.2), 0), len(words) - 1
                )
                size = [round(0.01 * true + 0.011 + float(rng.normal(0, 0.001)), 4)]
                rows.append(
                    [part + 1, person, trial, words[seen], words[true], *(size if measured else [])]
                )
    return rows


@pytest.mark.parametrize("language", WORDS)
@pytest.mark.parametrize("measured", [True, False])
def test_grades_are_recognised_in_their_order(
    tmp_path: Path, language: str, measured: bool
) -> None:
    words = WORDS[language]
    draft = draft_of(
        tmp_path, "eye.csv", delimited(sheet(words, measured)), {"accept": ", ".join(words[:2])}
    )
    (table,) = draft.tables
    assert table.said.role == "attribute"
    known = measured or language != "own"
    assert table.said.key("grades") == (list(words) if known else sorted(words))
    if known:
        found = records_of(tmp_path, draft).table("attribute", draft.items[0].id)
        assert set(found["grade"] if "grade" in found else found["judgement"])
        assert len(found) == 72


def test_which_grades_accept_is_asked_and_blank_leaves_the_sheet_out(tmp_path: Path) -> None:
    draft = draft_of(tmp_path, "eye.csv", delimited(sheet(WORDS["de"], True)))
    (question,) = [q for q in draft.questions() if q.key.startswith("accept")]
    assert question.choices == ["frei", "leicht", "stark"]
    with pytest.raises(ValueError, match="nothing is judged"):
        draft.answer(question.key, "frei, leicht, stark")
    draft.answer(question.key, "")
    assert not draft.used
    draft = draft_of(tmp_path, "eye.csv", delimited(sheet(WORDS["de"], True)), {"accept": "frei"})
    assert draft.data_tables()[0][0]["accept"] == ["frei"]


def test_materials_of_a_run_are_no_grades(tmp_path: Path) -> None:
    rows = [
        ["Part", "Operator", "Material", "Width"],
        *([i % 10 + 1, "AB"[i % 2], ("x1", "x2", "x3")[i % 3], 2.8 + i / 1e4] for i in range(60)),
    ]
    assert draft_of(tmp_path, "r.csv", delimited(rows)).tables[0].said.role == "crossed"
