"""Nothing is written before the last button, and what is missing is said before it."""

from __future__ import annotations

from pathlib import Path
from typing import Any


def test_checking_writes_nothing_and_says_what_is_missing(filled: Any, tmp_path: Path) -> None:
    filled.check.check.click()
    told = filled.said(filled.check)
    assert "each with its reason in the data record" in told
    assert "For a complete submission is missing: a crossed study of Camera K2 for Burr" in told
    assert not (tmp_path / "study").exists()


def test_an_open_question_keeps_the_study_back(filled: Any, tmp_path: Path) -> None:
    filled.write.write.click()
    assert "Part number: is not given yet." in filled.said(filled.write)
    assert not (tmp_path / "study").exists()
    assert filled.write.dossier.disabled
    filled.head.fields["part"].value = "P 1"
    filled.write.write.click()
    assert "Written:" in filled.said(filled.write)
    assert not filled.write.dossier.disabled


def test_a_folder_that_is_no_study_is_refused(filled: Any, tmp_path: Path) -> None:
    filled.head.fields["part"].value = "P 1"
    filled.write.folder.value = str(tmp_path / "raw")
    filled.write.write.click()
    assert "exists already and is no study" in filled.said(filled.write)


def test_units_mixed_up_are_told_by_the_check(filled: Any) -> None:
    card = next(c for c in filled.tables.cards if c.table.named.startswith("msa.xlsx, Contact"))
    card.unit.value = ""
    filled.check.check.click()
    assert "one may be in mm and the other in inch" in filled.said(filled.check)
