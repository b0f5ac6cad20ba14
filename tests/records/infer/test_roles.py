"""The role of a table is told from its columns, and each is taken once."""

from __future__ import annotations

import itertools

import numpy as np
import pandas as pd
import pytest

from linestudy.records.infer.column_kinds import kinds
from linestudy.records.infer.guesses import Guess
from linestudy.records.infer.roles import guess_role
from linestudy.records.text_table import TextTable

RNG = np.random.default_rng(20261127)


def guessed(frame: pd.DataFrame, file: str = "export.csv") -> Guess:
    table = TextTable(frame.astype(str))
    return guess_role(kinds(table), len(frame), file)


def width(n: int) -> list[str]:
    return [f"{v:.3f}" for v in RNG.normal(2.8, 0.01, n)]


def run(n: int = 60) -> pd.DataFrame:
    return pd.DataFrame(
        {"Stroke": range(1, n + 1), "Coil": ["K1", "K2"] * (n // 2), "Width": width(n)}
    )


def test_one_part_a_row_is_a_run_with_its_counter_and_coil() -> None:
    found = guessed(run())
    keys = {key: value for key, value, _ in found.keys}
    assert found.role == "run"
    assert keys["order"] == "Stroke"
    assert keys["coil"] == "Coil"
    assert list(found.values.values()) == ["Width"]


@pytest.mark.parametrize(
    "file", ["Cmk_Presse.csv", "machine_run.csv", "Maschinenfähigkeit kurz.csv".lower()]
)
def test_a_file_of_a_machine_study_is_told_by_its_name(file: str) -> None:
    assert guessed(run(), file.lower()).role == "machine"


def test_parts_read_by_people_several_times_are_a_crossed_study() -> None:
    rows = list(itertools.product(range(1, 11), "AB", (1, 2)))
    frame = pd.DataFrame(rows, columns=["Part", "Operator", "Trial"])
    parts = np.repeat(np.linspace(2.75, 2.85, 10), 4)
    frame["Width"] = [f"{v:.3f}" for v in parts + RNG.normal(0, 0.002, 40)]
    found = guessed(frame)
    keys = {key: value for key, value, _ in found.keys}
    assert found.role == "crossed"
    assert (keys["part"], keys["appraiser"], keys["trial"]) == ("Part", "Operator", "Trial")


def test_masters_with_their_values_are_a_reference_study() -> None:
    known = np.repeat([2.70, 2.75, 2.80, 2.85, 2.90], 6)
    frame = pd.DataFrame(
        {"Master": [f"M{v:.2f}" for v in known], "Reference": [f"{v:.3f}" for v in known]}
    )
    frame["Reading"] = [f"{v:.3f}" for v in known + RNG.normal(0, 0.002, 30)]
    assert guessed(frame).role == "reference"


def test_counts_by_period_are_bins_and_a_shift_alone_is_no_period() -> None:
    days = [f"2026-09-{d:02}" for d in range(1, 11)]
    counts = {"Accepted": ["990"] * 10, "Rejected": [str(k) for k in range(10)]}
    found = guessed(pd.DataFrame({"Date": days, **counts}))
    assert found.role == "bins"
    assert {key: value for key, value, _ in found.keys}["period"] == "Date"
    # Two shifts a day: date and shift together name the period.
    twice = pd.DataFrame(
        {
            "Date": np.repeat(days, 2),
            "Shift": ["early", "late"] * 10,
            "Accepted": ["990"] * 20,
            "Rejected": [str(k % 7) for k in range(20)],
        }
    )
    assert {key: value for key, value, _ in guessed(twice).keys}["period"] == ["Date", "Shift"]
    alone = guessed(twice.drop(columns="Date"))
    assert alone.role != "bins"


def test_one_value_a_row_with_its_characteristic_is_long() -> None:
    frame = pd.DataFrame(
        {
            "Serial": np.repeat(np.arange(1, 31), 2),
            "Characteristic": ["Width", "Gap"] * 30,
            "Value": [f"{v:.3f}" for v in RNG.normal([2.8, 0.6] * 30, 0.01)],
        }
    )
    found = guessed(frame)
    keys = {key: value for key, value, _ in found.keys}
    assert found.role == "run"
    assert keys["long"] == {"characteristic": "Characteristic", "value": "Value"}
    assert keys["order"] == "Serial"


def test_a_master_read_over_time_is_told_by_the_name_of_its_file() -> None:
    frame = pd.DataFrame({"No": range(1, 31), "Reading": width(30)})
    assert guessed(frame, "drift_camera.csv").role == "drift"
    assert guessed(frame, "camera.csv").role == "run"


def test_no_column_is_taken_twice() -> None:
    found = guessed(run())
    taken = [value for _, value, _ in found.keys if isinstance(value, str)]
    taken += [value for value in found.values.values() if isinstance(value, str)]
    assert len(taken) == len(set(taken))
