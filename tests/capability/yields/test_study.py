"""Yield and rejects counted by hand; verdicts that readings contradict, held against measurement error."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy.stats import binomtest

from linestudy.capability import yield_study
from linestudy.results import CannotJudge


def run(n: int = 1000) -> pd.DataFrame:
    rng = np.random.default_rng(1)
    y = rng.normal(0, 1, n)
    bad = np.abs(y) > 2.5
    lane = np.where(np.arange(n) % 2, "R", "L")
    bad |= (lane == "R") & (np.arange(n) % 50 == 1)
    return pd.DataFrame(
        {
            "accepted": ~bad,
            "reason": np.where(np.abs(y) > 2.5, "size", np.where(bad, "burr", "")),
            "station": lane,
            "coil": np.where(np.arange(n) < n // 2, "c1", "c2"),
            "time": pd.Timestamp("2026-04-12 06:00") + pd.to_timedelta(np.arange(n) * 6, "s"),
            "w": y,
        }
    )


def risk(rate: float) -> Any:
    one = SimpleNamespace(high=rate / 2)
    return SimpleNamespace(false_accept=one, false_reject=one)


@pytest.mark.checks("yield with its interval", source="SciPy: binomtest, exact")
def test_yield_is_counted_with_an_exact_interval() -> None:
    table = run()
    found = yield_study(table, {"w": (-2.5, 2.5)})
    good = int(table["accepted"].sum())
    exact = binomtest(good, 1000).proportion_ci(0.95, method="exact")
    assert found.yielded.estimate == good / 1000
    assert (found.yielded.low, found.yielded.high) == pytest.approx((exact.low, exact.high))


def test_groups_add_up_and_the_most_frequent_comes_first() -> None:
    table = run()
    found = yield_study(table, {"w": (-2.5, 2.5)})
    for by in ("reason", "stream", "coil", "hour"):
        groups = [group for group in found.groups if group.by == by]
        assert sum(group.rejected for group in groups) == found.rejected, by
        if by != "hour":
            assert groups[0].rejected == max(group.rejected for group in groups)
    assert next(g.name for g in found.groups if g.by == "stream") == "R"
    assert found.streams_p is not None
    assert found.streams_p < 0.01
    assert "Stream R" in found.statement
    assert found.figure().alt_text


def test_rejected_parts_with_readings_inside_are_overkill() -> None:
    found = yield_study(run(), {"w": (-2.5, 2.5)})
    assert found.overkill is not None
    assert found.escapes is not None
    assert found.overkill.count == 20
    assert found.escapes.count == 0
    assert found.overkill.explained is None


def test_escapes_beyond_what_measurement_error_makes_are_said() -> None:
    """30 parts outside and accepted, 40 inside and rejected, where error makes at most two of either."""
    table = run(5000).assign(accepted=True, reason="")
    outside = table.index[table["w"].abs() > 2.5]
    table.loc[outside[30:], "accepted"] = False
    table.loc[table.index[table["w"].abs() < 1][:40], "accepted"] = False
    found = yield_study(table, {"w": (-2.5, 2.5)}, risks={"w": risk(4e-4)})
    assert found.escapes is not None
    assert (found.escapes.count, found.overkill.count) == (30, 40)
    assert found.escapes.expected == pytest.approx(2.0)
    assert found.escapes.explained is False
    assert len(found.cautions) == 3
    few = yield_study(table, {"w": (-2.5, 2.5)}, risks={"w": risk(1e-2)})
    assert few.escapes is not None
    assert few.escapes.explained


def test_without_verdicts_or_readings() -> None:
    table = run()
    with pytest.raises(CannotJudge, match="No part"):
        yield_study(table.assign(accepted=None), {"w": (-2.5, 2.5)})
    bare = yield_study(table[["accepted"]], {})
    assert bare.escapes is None
    assert bare.groups == ()
    with pytest.raises((KeyError, ValueError)):
        yield_study(table, {"x": (0, 1)})


def test_one_reason_in_several_spellings_is_one_and_marks_of_none_are_none() -> None:
    spelt = ["Burr", "burr ", "BURR.", "Burr", "Width", "", "-", "n/a", None, "Grat"]
    table = pd.DataFrame({"accepted": [False] * 10 + [True] * 90, "reason": spelt + [""] * 90})
    found = yield_study(table, {})
    counts = {group.name: group.rejected for group in found.groups}
    # What one word means in another language nobody but the plant knows.
    assert counts == {"Burr": 4, "Width": 1, "Grat": 1, "no reason named": 4}
    assert "most frequent reason is Burr (4 of 10)" in found.statement
    assert "4 rejected parts name no reason." in found.cautions


def test_the_stream_that_is_rejected_most_often_is_named_not_the_one_that_made_most() -> None:
    table = pd.DataFrame(
        {
            "accepted": [False] * 40 + [True] * 960 + [False] * 20 + [True] * 80,
            "station": ["L"] * 1000 + ["R"] * 100,
        }
    )
    found = yield_study(table, {})
    assert "Stream R is rejected most often: 20 of 100 parts (20.00%)" in found.statement
