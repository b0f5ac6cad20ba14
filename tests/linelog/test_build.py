"""The line log: written day by day, resumable."""

from __future__ import annotations

import pandas as pd
import pytest
from line_days import day

from linestudy.linelog import build_log, summarise_log
from linestudy.results import InputError


@pytest.mark.proof
def test_one_more_day_costs_one_day(line: tuple) -> None:
    study, days = line
    for number in range(2):
        (days / f"day {number}.csv").write_text(day(number, gaps=True))
    told: list[str] = []
    log = build_log(days, study, progress=told.append)
    assert (log.read_now, log.kept, len(told)) == (2, 0, 2)
    for account in log.accounts:
        assert account.rows_read == account.rows_used + sum(account.set_aside.values())
        assert account.set_aside == {"repeated row: same order number, same content": 7}
    first = summarise_log(log.folder, study)
    assert first.from_cache == 0
    (days / "day 2.csv").write_text(day(2))
    log = build_log(days, study)
    assert (log.read_now, log.kept) == (1, 2)
    second = summarise_log(log.folder, study)
    assert (second.files, second.from_cache) == (3, 2)
    cold = summarise_log(log.folder, study, cache=False)
    assert second.shown().equals(cold.shown())
    assert second.autocorrelation("width").equals(cold.autocorrelation("width"))


@pytest.mark.proof
def test_a_changed_day_replaces_itself(line: tuple) -> None:
    study, days = line
    (days / "d.csv").write_text(day(0))
    build_log(days, study)
    (days / "d.csv").write_text(day(0, n=1000))
    log = build_log(days, study)
    assert summarise_log(log.folder, study, cache=False).rows == 1000


def test_an_interrupted_run_is_taken_up(line: tuple) -> None:
    study, days = line
    (days / "a.csv").write_text(day(0))
    (days / "b.csv").write_text("S,T,St,V,W,G\n1,noon,left,ok,2.8,0.6\n")
    with pytest.raises(InputError, match=r"b\.csv line 2"):
        build_log(days, study)
    (days / "b.csv").write_text(day(1))
    log = build_log(days, study)
    assert (log.read_now, log.kept) == (1, 1)


def test_two_names_that_look_alike_stay_two(line: tuple) -> None:
    study, days = line
    (days / "a b.csv").write_text(day(0))
    (days / "a_b.csv").write_text(day(1))
    log = build_log(days, study)
    assert summarise_log(log.folder, study, cache=False).rows == 6000
    assert build_log(days, study).kept == 2


@pytest.mark.proof
def test_days_share_the_cores_and_a_bad_one_stops_the_work(
    line: tuple, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Six days in processes of their own give what they give one after the other.
    study, days = line
    for number in range(6):
        (days / f"d{number}.csv").write_text(day(number, gaps=number % 2 == 0))
    told: list[str] = []
    monkeypatch.setenv("LINESTUDY_WORKERS", "2")
    shared = build_log(days, study, out=days.parent / "shared", progress=told.append)
    monkeypatch.setenv("LINESTUDY_WORKERS", "1")
    alone = build_log(days, study, out=days.parent / "alone")
    assert told == [f"d{i}.csv ({i + 1} of 6)" for i in range(6)]
    assert shared.accounts == alone.accounts
    for file in sorted(shared.folder.rglob("*.parquet")):
        twin = alone.folder / file.relative_to(shared.folder)
        pd.testing.assert_frame_equal(pd.read_parquet(file), pd.read_parquet(twin))
    monkeypatch.setenv("LINESTUDY_WORKERS", "2")
    for number in range(2, 6):
        (days / f"d{number}.csv").write_text(day(number).replace("left", "LEFT"))
    (days / "d4.csv").write_text("S,T\n1,2\n")
    with pytest.raises(InputError, match=r"d4\.csv"):
        build_log(days, study, out=shared.folder)
    (days / "d4.csv").unlink()
    # What was read before the bad day is there already.
    assert build_log(days, study, out=shared.folder).read_now < 3
