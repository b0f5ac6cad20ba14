"""How long it takes to judge whether a run holds still."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from timed import Timed

from linestudy.simulate.process import Process, run
from linestudy.stability import control_chart, evaluate
from linestudy.study import open_study

pytestmark = pytest.mark.benchmark


class SixRuns:
    """Stands for records that hold one run of 36,000 parts for six of the characteristics asked for."""

    def __init__(self, table: pd.DataFrame, ids: set[str]) -> None:
        self._table, self._ids = table, ids

    def table(self, role: str, characteristic: str | None, gauge: str | None = None) -> Any:
        return self._table if role == "run" and characteristic in self._ids else None


@pytest.mark.benchmark(group="stability of six characteristics, 36,000 parts")
def test_all_of_it(sample_study: Path, timed: Timed) -> None:
    study = open_study(sample_study)
    line = Process(2.795, 0.0068, wear_per_thousand=0.0004, regrinds=(20_000,), serial=0.5)
    table = run(line, 36_000, seed=1, coil_length=8000)
    index = np.arange(36_000)
    table["subgroup"] = pd.array(np.where(index % 250 < 5, index // 250, -1), dtype="Int64")
    table["subgroup"] = table["subgroup"].where(table["subgroup"] >= 0)
    table["stop"] = index // 4500
    records: Any = SixRuns(table, {item.id for item in study.characteristics[:6]})
    timed(lambda: evaluate(study, records), rounds=3, aim="2 s")


@pytest.fixture(scope="module")
def week() -> tuple[Any, Any]:
    values = np.random.default_rng(1).normal(size=2_600_000)
    return values, np.arange(values.size) // 5


@pytest.mark.benchmark(group="chart of 2.6 million parts in 520,000 subgroups")
class TestChartOfAWeek:
    def test_one_pass(self, week: tuple[Any, Any], timed: Timed) -> None:
        timed(lambda: week[0].copy().sum(), peer="one pass over the array")

    def test_chart(self, week: tuple[Any, Any], timed: Timed) -> None:
        timed(lambda: control_chart(*week), rounds=3)

    def test_its_picture(self, week: tuple[Any, Any], timed: Timed) -> None:
        study = control_chart(*week)
        timed(study.figure, rounds=2)
