"""What is gathered for a decision hangs on the role of the readings, and on nothing that a file's rows do not say."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy import open_study, read
from linestudy.results import Findings
from linestudy.verdict import CharacteristicFacts, resolve
from linestudy.verdict.facts import RecordFacts
from linestudy.verdict.gather.circumstances import circumstances_of
from linestudy.verdict.gather.record import record_facts
from linestudy.verdict.gather.run_readings import readings_of
from linestudy.verdict.rules.record import bins

PULLED = """format = 1
[study]
title = "Pulled"
part = "P"
[tool]
parts_per_stroke = 2
[[characteristic]]
id = "f"
name = "Force"
unit = "N"
lower = 60.0
[[data]]
role = "{role}"
file = "pulled.csv"
columns = {{ f = "F" }}
{more}
"""


def pulled(folder: Path, frame: pd.DataFrame, role: str = "nested", more: str = "") -> object:
    folder.mkdir(exist_ok=True)
    frame.to_csv(folder / "pulled.csv", index=False)
    (folder / "study.toml").write_text(PULLED.format(role=role, more=more), encoding="utf-8")
    return open_study(folder)


def batches() -> pd.DataFrame:
    force = 80 + 5 * np.random.default_rng(8).normal(size=48).round(3)
    return pd.DataFrame({"B": np.repeat(list("abcdefgh"), 6), "F": force, "N": np.arange(1, 49)})


def test_destroyed_parts_are_no_run_in_time(tmp_path: Path) -> None:
    study = pulled(tmp_path, batches(), more='levels = ["B"]')
    records = read(study)
    around = circumstances_of(records, Findings(), "f", "nested")
    assert not around.in_time
    assert around.streams_unseen == around.sorted_with == ""
    record = record_facts(study, records, Findings(), study.characteristics[0], "nested", None)
    # A clock, a counter and lanes are asked of a run alone.
    assert record.not_recorded == ()
    of_run = pulled(tmp_path / "run", batches(), role="run")
    records = read(of_run)
    assert circumstances_of(records, Findings(), "f", "run").in_time
    record = record_facts(of_run, records, Findings(), of_run.characteristics[0], "run", None)
    assert record.not_recorded == ("counter", "clock", "coil", "station")


def test_readings_in_no_order_do_not_hang_on_the_rows_of_the_file(tmp_path: Path) -> None:
    def values(frame: pd.DataFrame, name: str) -> np.ndarray:
        study = pulled(tmp_path / name, frame, more='levels = ["B"]')
        found = readings_of(study, read(study), study.characteristics[0])
        assert found is not None
        return found.values

    by_batch, by_force = values(batches(), "a"), values(batches().sort_values("F"), "b")
    assert by_batch.tolist() == by_force.tolist() != batches()["F"].tolist()


@pytest.mark.parametrize("blank", [False, True])
def test_rows_that_name_no_stream_are_no_stream(tmp_path: Path, blank: bool) -> None:
    """Strokes that show blank names alone are no strokes that a stream lacks."""
    rows = [(n, lane) for n in range(1, 301) for lane in "LR"]
    rows = [(n, "") if blank and n % 8 == 0 else (n, lane) for n, lane in rows]
    frame = pd.DataFrame(rows, columns=["N", "S"])
    frame["F"] = 80 + 5 * np.random.default_rng(9).normal(size=len(frame)).round(3)
    study = pulled(tmp_path, frame, "run", 'order = "N"\nstation = "S"')
    assert circumstances_of(read(study), Findings(), "f", "run").streams_unseen == ""


def test_what_the_bins_hold_is_told_with_both_counts() -> None:
    def said(**facts: object) -> tuple[str, str]:
        found = bins(CharacteristicFacts(record=RecordFacts(**facts)), resolve())  # type: ignore[arg-type]
        return found.effect, found.reason

    counts = (1990, 10, 1998, 2)
    assert said()[0] == "no evidence"
    effect, reason = said(bins=counts, bins_p=0.0011)
    assert effect == "supports"
    assert "1,990 accepted and 10 rejected parts, the log 1,998 and 2." in reason
    effect, reason = said(bins=counts, bins_p=0.0009)
    assert effect == "customer approval required"
    assert reason.endswith("the difference must be explained.")
    effect, reason = said(bins=counts, bins_p=0.0009, bins_by_verdicts=False)
    assert effect == "customer approval required"
    assert "by the limits of what was measured: rejected parts are missing" in reason
