"""Ten thousand sound folders with extreme content, once; a sample of them in every run of the proof.

``faults/extremes.json`` holds how many were taken through and what came of them. It is written by
``python tests/proof/extremes.py 10000``, which goes on where it ends.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from beside import load

HERE = Path(__file__).parent
#: Seconds of folders in one run; LINESTUDY_FUZZ_SECONDS gives another number.
SECONDS = 240.0


@pytest.mark.proof
def test_extreme_content_ends_in_a_dossier_or_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LINESTUDY_STRICT", "0")
    module = load("linestudy_proof_extremes", HERE / "extremes.py")
    seconds = float(os.environ.get("LINESTUDY_FUZZ_SECONDS", SECONDS))
    found = module.go_on(10_000, seconds, report=None)
    assert found["failures"] == {}
    # Both ends must have been reached, or the folders test nothing.
    assert found["written"] > 0
    assert found["refused"] > 0


def test_the_report_names_no_failure() -> None:
    found = json.loads((HERE / "faults" / "extremes.json").read_text(encoding="utf-8"))
    assert found["failures"] == {}
    assert found["folders"] == found["written"] + found["refused"]
    assert found["written"] > found["refused"] > 0
