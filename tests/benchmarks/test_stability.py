"""How long the room takes; ratios are printed, none is asserted on."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.simulate.process import Process, run
from linestudy.stability import chart, evaluate
from linestudy.study import open_study

pytestmark = pytest.mark.benchmark


class SixRuns:
    """Stands for records that hold one run of 36,000 parts for every characteristic asked for."""

    def __init__(self, table: pd.DataFrame) -> None:
        self._table = table

    def table(self, role: str, characteristic: str | None, gauge: str | None = None) -> Any:
        return self._table if role == "run" and characteristic is not None else None


def test_six_characteristics_of_a_long_run(sample_study: Path) -> None:
    study = open_study(sample_study)
    line = Process(2.795, 0.0068, wear_per_thousand=0.0004, regrinds=(20_000,), serial=0.5)
    table = run(line, 36_000, seed=1, coil_length=8000)
    index = np.arange(36_000)
    table["subgroup"] = pd.array(np.where(index % 250 < 5, index // 250, -1), dtype="Int64")
    table["subgroup"] = table["subgroup"].where(table["subgroup"] >= 0)
    table["stop"] = index // 4500
    records: Any = SixRuns(table)
    evaluate(study, records)
    begin = time.process_time()
    evaluate(study, records)
    seconds = time.process_time() - begin
    # Seven characteristics of the sample study, all given the same run; scaled to six.
    print(f"\nsix characteristics, 36,000 parts: {seconds * 6 / 7:.2f} s (aim 2 s), processor time")


def test_a_chart_of_a_week() -> None:
    rng = np.random.default_rng(1)
    values = rng.normal(size=2_600_000)
    groups = np.arange(values.size) // 5
    begin = time.process_time()
    values.copy().sum()
    bare = time.process_time() - begin
    begin = time.process_time()
    study = chart(values, groups)
    charted = time.process_time() - begin
    begin = time.process_time()
    study.figure()
    drawn = time.process_time() - begin
    print(
        f"\n2.6 million parts in {study.n_subgroups:,} subgroups: chart {charted:.2f} s "
        f"({charted / bare:.0f} times one pass over the array), picture {drawn:.2f} s, processor time"
    )
