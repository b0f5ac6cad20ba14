"""The time-dependent model on runs of known truth."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.results import CannotJudge
from linestudy.simulate.process import Process, run
from linestudy.stability import (
    time_model,
)


@pytest.mark.parametrize(
    ("line", "coil", "letters"),
    [
        (Process(1.0, 0.01), None, {"A1"}),
        (Process(1.0, 0.01, skewness_shape=2.0), None, {"A2"}),
        (Process(1.0, 0.01, wear_per_thousand=0.004), None, {"C3"}),
        (Process(1.0, 0.01, coil_sd=0.02), 3000, {"C4"}),
    ],
)
def test_time_model(line: Process, coil: int | None, letters: set[str]) -> None:
    table = run(line, 15_000, seed=21, coil_length=coil)
    subgroup = pd.array(np.where(np.arange(15_000) % 250 < 5, np.arange(15_000) // 250, -1))
    subgroup = pd.Series(subgroup).astype("Int64").where(lambda s: s >= 0)
    batch = table["coil"] if coil else None
    study = time_model(table["value"], subgroup, table["order"], batch=batch)
    assert study.model in letters
    assert study.may_report_within == (study.model in ("A1", "A2"))


def test_what_is_told_of_situations_of_each_kind() -> None:
    # All of them with enough runs: the proof.
    from situations import GROUP, STROKE, is_right, situations, told

    right = [
        is_right(one, told(time_model(values, GROUP, STROKE, **more)))
        for number, one in enumerate(situations())
        for values, more in [one.draw(np.random.default_rng(400 + number))]
    ]
    assert len(right) >= 30
    assert sum(right) >= 0.85 * len(right)


def test_time_model_of_changing_spread_and_both() -> None:
    rng = np.random.default_rng(22)
    width = np.repeat(np.linspace(1, 3, 100), 5)
    g = np.repeat(np.arange(100), 5)
    y = rng.normal(size=500) * width
    assert time_model(y, g).model == "B"
    moved = y + np.repeat(rng.normal(0, 4, 100), 5)
    assert time_model(moved, g).model == "D"
    drifting = rng.normal(size=500) + np.repeat(rng.normal(0, 2, 100), 5)
    assert time_model(drifting, g).model == "C1"
    with pytest.raises(CannotJudge):
        time_model(y[:20], g[:20])


@pytest.mark.filterwarnings("error")
def test_a_coil_of_two_parts_is_in_no_subgroup_and_warns_of_nothing() -> None:
    table = run(Process(1.0, 0.01, coil_sd=0.02), 15_000, seed=21, coil_length=3000)
    subgroup = pd.array(np.where(np.arange(15_000) % 250 < 5, np.arange(15_000) // 250, -1))
    subgroup = pd.Series(subgroup).astype("Int64").where(lambda s: s >= 0)
    coil = table["coil"].astype(str).to_numpy(dtype=object)
    coil[7100:7102] = "C9"
    study = time_model(table["value"], subgroup, table["order"], batch=coil)
    assert study.model == "C4"
