"""REPORT.md says what the files in tests/proof/report hold, and nothing else."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType

import pytest
from beside import load

PROOF = Path(__file__).resolve().parents[1] / "proof"


@pytest.fixture(scope="module")
def report() -> ModuleType:
    return load("linestudy_proof_report", PROOF / "report.py")


def test_the_report_is_that_of_the_files(report: ModuleType) -> None:
    assert (PROOF / "REPORT.md").read_text(encoding="utf-8") == report.text()


def test_average_difficulty_keeps_its_digits(report: ModuleType) -> None:
    # NIST StRD. Where a double holds the data to fewer digits, exact arithmetic is the bar, less one digit.
    for name, _, what, digits, best in report.accuracy():
        assert digits >= min(13.0, best - 1), (name, what, digits, best)


def test_no_interval_is_liberal_without_a_note(report: ModuleType) -> None:
    for room, rows in report.rooms().items():
        for row in rows:
            slack = 3 * row["mc_error"]
            if row["nominal"] == 0.95 and row["rate"] < 0.93 - slack:
                assert row["note"], (room, row["method"], row["scenario"], row["rate"])
