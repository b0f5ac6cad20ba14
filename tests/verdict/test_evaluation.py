"""The decisions of a whole study: one that cannot be computed keeps none of the others back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
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


SHORT = """format = 1
[study]
title = "Short"
part = "P-1"
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
lower = 4.0
upper = 6.0
[[data]]
role = "machine"
file = "short.csv"
order = "part"
columns = { w = "w" }
"""


def of_short_run(folder: Path, y: Any) -> tuple[Any, Any]:
    """What is said of the drift beside the index, and the ruling on stability."""
    from functools import partial

    from linestudy.capability import evaluation as capability

    folder.mkdir()
    (folder / "study.toml").write_text(SHORT, encoding="utf-8")
    rows = [f"{k + 1},{value:.5f}" for k, value in enumerate(y)]
    (folder / "short.csv").write_text("part,w\n" + "\n".join(rows), encoding="utf-8")
    study = open_study(folder)
    records, found, item = read(study), Findings(), study.characteristics[0]
    table = records.table("machine", item.id)
    assert table is not None
    found.evaluate(item.id, capability.MACHINE, partial(capability._machine, study, item, table))
    verdict: Any = evaluation.evaluate(study, records, found).get(item.id, "verdict")
    ruling = next(one for one in verdict.rulings if one.rule == "stability")
    notes: Any = found.get(item.id, "capability", "machine")
    return any("drifts" in note for note in notes.cautions), ruling


@pytest.mark.proof
@pytest.mark.parametrize("seed", range(4))
def test_drift_of_a_short_run_and_its_stability_never_contradict(tmp_path: Path, seed: int) -> None:
    noise = 0.1 * np.random.default_rng(seed).normal(size=60)
    seen = []
    for step, drift in enumerate((0.0, 0.1, 0.15, 0.2, 0.25, 0.3)):
        y = 5 + noise + drift * np.linspace(-0.5, 0.5, 60)
        drifts, ruling = of_short_run(tmp_path / str(step), y)
        assert not drifts or ruling.effect != "supports", ruling
        seen.append(drifts)
    assert seen[-1]
    assert not seen[0]
    assert "drift over the short run" in ruling.reason


def test_the_drift_of_a_short_run_counts_each_of_its_streams() -> None:
    from types import SimpleNamespace

    from linestudy.capability import machine_performance

    found = Findings()
    assert evaluation._drift_of_short_run(found, "w") == 1.0
    one = machine_performance(np.random.default_rng(3).normal(size=40), -5, 5, family="normal")
    found.add("w", ("capability", "machine"), replace(one, slope_p=0.3))
    assert evaluation._drift_of_short_run(found, "w") == 0.3
    for name, p in (("A", 0.001), ("B", 0.5)):
        found.add("w", ("streams", name, "machine"), replace(one, slope_p=p))
    found.add("w", ("streams", "A", "position"), SimpleNamespace(slope_p=0.0))  # type: ignore[arg-type]
    # Two tests (together, by stream), the second over two streams.
    assert evaluation._drift_of_short_run(found, "w") == pytest.approx(0.004)
