"""Whole folders whose files or bins hold more than is read: what was left out stops the claim, what was not leaves it alone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from line_study import Folder, N, honest

from linestudy import evaluate

VERDICTS = 'verdict = "verdict"\naccept = ["ok"]\nreject = ["nok"]\n'


def study() -> Folder:
    """A capable process: an index of 2.8."""
    made = honest()
    made.lower, made.upper = 4.0, 6.0
    return made


def decided(folder: Path, made: Folder, *changes: tuple[str, str]) -> Any:
    """The decision on the width, study.toml changed before it is read."""
    made.write(folder)
    text = (folder / "study.toml").read_text()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    (folder / "study.toml").write_text(text)
    return evaluate(folder, progress=lambda stage: None).findings.get("width", "verdict")


def objections(found: Any) -> list[str]:
    return [r.rule for r in found.rulings if r.effect not in ("supports", "no evidence")]


@pytest.mark.proof
@pytest.mark.parametrize(
    ("keys", "lane", "more", "words"),
    [
        ('sheet = "L"\n', "", 0, ""),
        ('sheet = "L"\n', "R", 0, 'the sheet "R" holds 2,000 readings in the same columns'),
        ('cells = "A1:F2001"\n', "", 0, ""),
        ('cells = "A1:F2001"\n', "", 30, "30 readings of this part left out by a choice of rows"),
    ],
)
def test_what_a_workbook_holds_beside_what_is_read(
    tmp_path: Path, keys: str, lane: str, more: int, words: str
) -> None:
    made = study()
    (tmp_path / "s").mkdir()
    after = made.run[:more].assign(stroke=lambda own: own["stroke"] + N, width=5.9)
    with pd.ExcelWriter(tmp_path / "s" / "run.xlsx") as book:
        pd.concat([made.run, after]).to_excel(book, sheet_name="L", index=False)
        if lane:
            # Of another lane, whose index is 1.1.
            worse = 5 + 2.5 * (made.run["width"][::-1].to_numpy() - 5)
            made.run.assign(width=worse.round(3)).to_excel(book, sheet_name=lane, index=False)
    found = decided(tmp_path / "s", made, ('"run.csv"\n', f'"run.xlsx"\n{keys}'))
    assert found.facts.process.n == N
    assert found.decision == ("customer approval required" if words else "meets")
    assert words in " ".join(found.reasons)
    assert len(objections(found)) == bool(words)


@pytest.mark.proof
@pytest.mark.parametrize(
    ("bins", "decision"),
    [
        # 2,000 parts logged, all within the limits: one rejected, and few of many made of which a sample is logged.
        ([(1999, 1)], "meets"),
        ([(30_000, 2), (30_000, 1)], "meets"),
        # Rejected parts of which the log holds nothing.
        ([(2000, 40)], "customer approval required"),
    ],
)
def test_bins_without_verdicts_in_the_log_are_held_against_its_readings(
    tmp_path: Path, bins: list[tuple[int, int]], decision: str
) -> None:
    made = study()
    made.bins = pd.DataFrame(
        [(f"K{k}", *counts) for k, counts in enumerate(bins)],
        columns=["period", "accepted", "rejected"],
    )
    found = decided(tmp_path / "s", made, (VERDICTS, ""))
    ruled = next(r for r in found.rulings if r.rule == "bins against log")
    assert "by the limits of what was measured" in ruled.reason
    assert found.decision == decision
    assert objections(found) == ([] if decision == "meets" else ["bins against log"])
    assert ("rejected parts are missing from the log" in ruled.reason) == (decision != "meets")
