"""The decisions of a whole study: one that cannot be computed keeps none of the others back."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from linestudy import open_study, read
from linestudy.dossier import Evaluation
from linestudy.records import Records
from linestudy.results import Findings
from linestudy.study import Study
from linestudy.verdict import evaluation


def test_arithmetic_that_breaks_leaves_the_other_decisions(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A decision whose numbers break says so; a programmer's mistake comes up."""
    folder: Path = request.config.rootpath / "sample_data" / "fork_receptacle"
    study = open_study(folder)
    records = read(study)
    whole = evaluation._decision

    def breaks(study: Study, records: Records, findings: Findings, item: Any, criteria: Any) -> Any:
        if item.id == "blade":
            raise ValueError("zero-size array to reduction operation minimum which has no identity")
        return whole(study, records, findings, item, criteria)

    monkeypatch.setenv("LINESTUDY_STRICT", "0")
    monkeypatch.setattr(evaluation, "_decision", breaks)
    found = evaluation.evaluate(study, records, Findings())
    verdict = found.get("blade", "verdict")
    assert verdict.decision == "cannot be judged"
    assert "could not be computed" in str(verdict.record())
    assert found.get("throat", "verdict").decision
    monkeypatch.setenv("LINESTUDY_STRICT", "1")
    with pytest.raises(ValueError, match="zero-size"):
        evaluation.evaluate(study, records, Findings())


def test_one_characteristic_is_one(starter: Evaluation) -> None:
    found = starter.findings.get(None, "verdict")
    assert found is not None
    assert found.statement.startswith("Of 1 characteristic: ")
