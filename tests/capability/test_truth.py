"""The whole way through the rooms: the truth the sample study was made from lies within its intervals.

The truth is the study's own ``truth.json``, from the parameters of the simulation and not from its readings.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from linestudy.dossier.evaluation import Evaluation
from linestudy.results import Findings


@pytest.fixture(scope="module")
def findings(evaluation: Evaluation) -> Findings:
    return evaluation.findings


@pytest.mark.parametrize("key", ["blade", "offset", "seam", "shoulder", "throat"])
def test_the_truth_lies_within(findings: Findings, sample_study: Path, key: str) -> None:
    truth = json.loads((sample_study / "truth.json").read_text())["characteristics"][key]
    found = findings.get(key, "capability")
    assert truth["Ppk_readings"] in found.Ppk
    assert found.Ppk.estimate == pytest.approx(truth["Ppk_readings"], rel=0.03)
    # Ten intervals at 95 %: that of the parts themselves is held to its estimate only.
    parts = findings.get(key, "capability", "gauge_removed")
    assert parts.Ppk.estimate == pytest.approx(truth["Ppk_parts"], rel=0.05)
