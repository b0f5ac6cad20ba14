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


#: Claims that rest on fewer than 1,000 simulated studies. May only shrink.
FEW = 317


def test_no_more_claims_rest_on_few_runs_than_before(report: ModuleType) -> None:
    few = [row for rows in report.rooms().values() for row in rows if row["runs"] < 1000]
    assert len(few) <= FEW


def test_power_is_that_of_the_binomial(report: ModuleType) -> None:
    # 1,000 runs: at least 915 of them have to hold the truth (0.935 less three times 0.00689).
    from scipy.stats import binom

    for chance in (0.5, 0.05):
        rate = report.passing_rate(1000, chance)
        assert binom.cdf(914, 1000, rate) == pytest.approx(1 - chance, rel=1e-6)
    assert report.passing_rate(50, 0.5) < report.passing_rate(1000, 0.5) < 0.935


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
