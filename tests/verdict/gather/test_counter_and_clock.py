"""What counter and clock say of a run: which numbers are missing from a log and which were never in a sample."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.verdict.gather.counter_and_clock import clock_back, counter_of, longest_pause


def counter(order: Any, named: str | None = "stroke") -> dict[str, Any]:
    data = SimpleNamespace(order=named)
    source: Any = SimpleNamespace(data=data, frame=pd.DataFrame({"order": order}))
    return counter_of([source])


def test_rows_that_were_counted_are_no_counter() -> None:
    assert counter(np.arange(1, 100), named=None) == {}
    assert counter(np.arange(1, 100)) == {"first": 1.0, "last": 99.0}


@pytest.mark.parametrize("step", [1, 2, 10])
@pytest.mark.parametrize("share", [0.02, 0.1, 0.3])
def test_single_numbers_missing_from_a_log_are_counted_however_many(
    step: int, share: float
) -> None:
    order = step * np.arange(1, 2001)
    kept = np.random.default_rng(1).random(order.size) > share
    kept[[0, -1]] = True
    missing = counter(order[kept]).get("numbers_missing", 0)
    # Every gap of a counter that goes in steps is told in numbers of the counter.
    assert missing == step * int((~kept).sum()) > 0


def test_two_parts_of_a_stroke_are_one_number() -> None:
    order = np.repeat(np.arange(1, 1001), 2)
    kept = np.repeat(np.random.default_rng(2).random(1000) > 0.03, 2)
    kept[[0, -1]] = True
    assert counter(order[kept])["numbers_missing"] == int((~kept).sum()) // 2


def test_a_sample_lacks_no_numbers() -> None:
    every = np.arange(1, 40_001)
    assert "numbers_missing" not in counter(every[every % 8 < 5])
    # Subgroups of other sizes at other distances leave out most numbers.
    sizes = np.random.default_rng(2).integers(3, 8, 60)
    rows = np.concatenate([np.arange(n) + 33 * k for k, n in enumerate(sizes)])
    assert counter(every[rows]).get("numbers_missing", 0) < 0.05 * rows.size


def test_the_clock() -> None:
    n = 200
    table = pd.DataFrame(
        {
            "order": np.arange(n),
            "time": pd.Timestamp("2026-03-02") + pd.to_timedelta(np.arange(n), unit="s"),
        }
    )
    assert clock_back(table) == 0.0
    assert longest_pause(table) == ()
    late = table.assign(
        time=table["time"] + pd.to_timedelta(np.where(table["order"] > 99, 600, 0), unit="s")
    )
    assert longest_pause(late) == (601.0, 100.0)
    drawn = table.assign(time=table["time"].sample(frac=1, random_state=1).to_numpy())
    assert clock_back(drawn) == pytest.approx(0.5, abs=0.1)
