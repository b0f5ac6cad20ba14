"""Parts that the line rejected and of which no reading stands, and rows that somebody sorted."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy import open_study, read
from linestudy.records.across.rows_noticed import (
    REJECTED_FOR,
    REJECTED_UNREAD,
    SORTED,
    sorted_by_reading,
)
from linestudy.verdict import CharacteristicFacts, resolve
from linestudy.verdict.facts import ProcessFacts, RecordFacts
from linestudy.verdict.gather.of_files import rejected_without
from linestudy.verdict.rules.excluding import exclusions
from linestudy.verdict.rules.record import counter

STUDY = """format = 1
[study]
title = "Rejected"
part = "P"
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
lower = 9.0
upper = 11.0
plausible = [5.0, 15.0]
[[data]]
role = "run"
file = "run.csv"
columns = { w = "W" }
order = "Stroke"
verdict = "V"
accept = ["ok"]
reject = ["nok"]
"""


def run() -> pd.DataFrame:
    frame = pd.DataFrame({"Stroke": np.arange(1, 801), "V": "ok"})
    frame["W"] = 10 + 0.1 * np.random.default_rng(5).normal(size=800).round(3)
    frame.loc[50:800:100, "V"] = "nok"
    return frame


def noticed(folder: Path, frame: pd.DataFrame, more: str = "") -> tuple[int, list[str], set[str]]:
    frame.to_csv(folder / "run.csv", index=False)
    (folder / "study.toml").write_text(STUDY + more, encoding="utf-8")
    records = read(open_study(folder))
    kinds = {one.what for _, one in records.screening.seen} & {REJECTED_FOR, REJECTED_UNREAD}
    return (*rejected_without(list(records.sources), "w"), kinds)


@pytest.mark.parametrize("instead", [np.nan, 0.0, 99.0])
def test_rejected_parts_that_were_blanked(tmp_path: Path, instead: float) -> None:
    frame = run()
    frame.loc[frame["V"] == "nok", "W"] = instead
    n, said, kinds = noticed(tmp_path, frame)
    assert n == 8
    assert said == ["Of 8 rejected parts 8 have no reading, of 792 accepted parts 0 (run.csv)"]
    assert kinds == {REJECTED_UNREAD}


def test_reasons_of_the_file_are_listed_and_nothing_is_asked(tmp_path: Path) -> None:
    frame = run()
    frame.loc[frame["V"] == "nok", "W"] = np.nan
    frame["Why"] = np.where(frame["V"] == "nok", "no image", "")
    n, said, kinds = noticed(tmp_path, frame, 'reason = "Why"\n')
    assert n == 0
    assert "(reasons: no image 8)" in said[0]
    assert kinds == {REJECTED_FOR}
    # One of them without a reason, and the reasons explain no more.
    frame.loc[50, "Why"] = ""
    assert noticed(tmp_path, frame, 'reason = "Why"\n')[0] == 8


def test_readings_that_are_missing_anywhere_say_nothing(tmp_path: Path) -> None:
    frame = run()
    frame.loc[::40, "W"] = np.nan
    assert noticed(tmp_path, frame) == (0, [], set())
    assert noticed(tmp_path, run()) == (0, [], set())


@pytest.mark.parametrize(("unread", "effect"), [(0, "supports"), (2, "supports"), (3, "approval")])
def test_from_one_in_a_thousand_the_customer_is_asked(unread: int, effect: str) -> None:
    facts = CharacteristicFacts(
        process=ProcessFacts(n=2500), record=RecordFacts(rejected_unread=unread)
    )
    assert effect in exclusions(facts, resolve()).effect


@pytest.mark.parametrize(
    ("by", "ascending", "word"),
    [
        (["W"], True, "ascending"),
        (["W"], False, "descending"),
        (["station", "W"], True, "ascending"),
        (["Stroke"], True, ""),
        (["station", "Stroke"], True, ""),
    ],
)
def test_rows_that_somebody_sorted(by: list[str], ascending: bool, word: str) -> None:
    frame = run()
    frame["station"] = np.where(frame["Stroke"] % 2, "L", "R")
    found = sorted_by_reading(frame.sort_values(by, ascending=ascending), ["W", "W"])
    assert [what for what, *_ in found] == ([SORTED] if word else [])
    assert not word or f"in {word} order of W" in found[0][2]


def test_a_slow_trend_or_a_handful_of_values_is_no_sorted_sheet() -> None:
    frame = run()
    frame["W"] += 0.01 * frame["Stroke"]
    frame["step"] = frame["Stroke"] // 200
    assert sorted_by_reading(frame, ["W", "step"]) == []
    assert sorted_by_reading(frame.sort_values("W")[:15], ["W"]) == []


def test_a_counter_in_a_sheet_sorted_by_value_is_believed() -> None:
    record = RecordFacts(rows=800, first=1, last=800, backwards=400)
    effects = [
        counter(CharacteristicFacts(record=replace(record, sorted_rows=known)), resolve()).effect
        for known in (False, True)
    ]
    assert effects == ["customer approval required", "supports"]
