"""Bad records: named with their place, never repaired silently."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.results import CannotJudge
from linestudy.stability import data_quality
from linestudy.stability.record_checks import frozen_stretches


def table(n: int = 2000, seed: int = 1) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    begin = pd.Timestamp("2025-01-01")
    return pd.DataFrame(
        {
            "order": np.arange(1.0, n + 1),
            "time": begin + pd.to_timedelta(np.arange(n) * 0.23, unit="s"),
            "value": (2.8 + 0.006 * rng.normal(size=n)).round(3),
            "subgroup": np.arange(n) // 5,
        }
    )


def kinds(frame: pd.DataFrame) -> list[str]:
    return [issue.what for issue in data_quality(frame).issues]


def test_a_sound_record() -> None:
    study = data_quality(table())
    assert study.issues == ()
    assert "Nothing doubtful" in study.statement
    assert study.figure() is None


def test_frozen_camera() -> None:
    frame = table()
    frame.loc[700:759, "value"] = 2.8031
    study = data_quality(frame)
    issue = study.issues[0]
    assert issue.what.startswith("the same value")
    assert (issue.first, issue.last, issue.count) == (701, 760, 60)
    assert any("set_aside" in text for text in study.cautions)
    assert len(study.shown()) == 1


@given(st.integers(0, 3000), st.sampled_from([0.001, 0.003, 0.006]))
def test_resolution_alone_is_not_a_frozen_camera(seed: int, step: float) -> None:
    y = np.random.default_rng(seed).normal(2.8, 0.006, 1500)
    assert frozen_stretches(np.round(y / step) * step) == []


def test_parts_of_one_stroke_repeat_no_number() -> None:
    one = table(400)
    one["subgroup"] = np.arange(400) // 5
    both = pd.concat([one.assign(station="L"), one.assign(station="R")], ignore_index=True)
    both.loc[both["station"] == "R", "subgroup"] += 80
    both = both.sort_values(["order", "station"], ignore_index=True)
    assert kinds(both) == []
    again = pd.concat([both, both[both["station"] == "L"].iloc[[10]]])
    again = again.sort_values(["order", "station"], ignore_index=True)
    assert "order numbers that repeat" in kinds(again)


def test_order_repeats_jumps_back_and_gaps() -> None:
    frame = table(400)
    frame.loc[200, "order"] = 200.0
    assert "order numbers that repeat" in kinds(frame)
    frame = table(400)
    frame.loc[200:, "order"] -= 50
    assert "order numbers that go back" in kinds(frame)
    frame = table(400)
    frame.loc[200:, "order"] += 5000
    assert "a gap in the order numbers" in kinds(frame)


def test_clock_that_jumps() -> None:
    frame = table(400)
    frame.loc[200:, "time"] -= pd.Timedelta(hours=1)
    assert kinds(frame) == ["a clock that jumps back"]


def test_subgroup_columns() -> None:
    frame = table(400)
    frame["subgroup"] = np.where(
        np.arange(400) < 200, np.arange(400) // 5, 100 + np.arange(400) // 2
    )
    changed = next(issue for issue in data_quality(frame).issues if "changes meaning" in issue.what)
    # From where twos follow fives to the last subgroup.
    assert (changed.first, changed.last, changed.count) == (201.0, 399.0, 200)
    frame["subgroup"] = np.arange(400) // 5 % 10
    assert "subgroup labels that come back later" in kinds(frame)
    again = next(
        issue for issue in data_quality(frame).issues if issue.what.startswith("subgroup labels")
    )
    # From the first part of the first subgroup to that of the last.
    assert (again.first, again.last) == (frame["order"].iloc[0], frame["order"].iloc[395])
    frame["subgroup"] = pd.array(np.arange(400) // 5, dtype="Int64")
    frame.loc[0:3, "subgroup"] = pd.NA
    assert kinds(frame) == ["subgroups of one part"]


def test_coarse_resolution_and_too_few() -> None:
    frame = table(400)
    frame["value"] = frame["value"].round(1)
    frame.loc[5, "value"] = 2.9
    assert any("too coarse" in text for text in data_quality(frame).cautions)
    with pytest.raises(CannotJudge):
        data_quality(frame.iloc[:1])
