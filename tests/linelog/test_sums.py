"""The sums of a line log: kept, recalled, the same from both engines."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from line_days import day

from linestudy.linelog import build_log, evaluate_log, summarise_log
from linestudy.results import CannotJudge, InputError, Unjudged


def test_a_damaged_cache_is_not_believed(line: tuple) -> None:
    study, days = line
    (days / "a.csv").write_text(day(0))
    log = build_log(days, study)
    truth = summarise_log(log.folder, study)
    store = log.folder.with_name("days.log.cache")
    (file,) = store.glob("*.json")
    content = json.loads(file.read_text())
    content["summary"]["rows"] += 1
    file.write_text(json.dumps(content))
    again = summarise_log(log.folder, study)
    assert again.from_cache == 0
    assert again.rows == truth.rows


def test_a_damaged_or_lost_table_is_summed_again(line: tuple) -> None:
    study, days = line
    (days / "a.csv").write_text(day(0))
    log = build_log(days, study)
    truth = summarise_log(log.folder, study).subgroups("width")
    store = log.folder.with_name("days.log.cache")
    (file,) = store.glob("*.subgroups.arrow")
    content = bytearray(file.read_bytes())
    content[len(content) // 2] ^= 1
    file.write_bytes(content)
    again = summarise_log(log.folder, study)
    assert again.from_cache == 0
    pd.testing.assert_frame_equal(again.subgroups("width"), truth)
    file.unlink()
    again = summarise_log(log.folder, study)
    assert again.from_cache == 0
    assert summarise_log(log.folder, study).from_cache == 1


def test_a_damaged_file_of_the_log_is_named(line: tuple) -> None:
    study, days = line
    for number in range(3):
        (days / f"{number}.csv").write_text(day(number))
    log = build_log(days, study)
    (file,) = (log.folder / "file=1.csv").glob("*.parquet")
    content = file.read_bytes()
    for damaged in (content[: len(content) // 2], content[:200] + bytes(50) + content[250:], b""):
        file.write_bytes(damaged)
        with pytest.raises(InputError, match=r"file=1\.csv/.*is damaged.*delete it"):
            summarise_log(log.folder, study, cache=False)
    file.unlink()
    assert build_log(days, study).read_now == 1
    assert summarise_log(log.folder, study).rows == 9000


@pytest.mark.parametrize("days_with_parts", [2, 0])
def test_a_day_without_a_reading_is_a_day(line: tuple, days_with_parts: int) -> None:
    # The camera was off, or the file holds a single part.
    study, days = line
    off = "".join(f"{n},2025-12-31 10:00:{n:02},left,ok,9999,9999\n" for n in range(1, 9))
    (days / "0.csv").write_text("S,T,St,V,W,G\n" + off)
    (days / "9.csv").write_text("S,T,St,V,W,G\n90001,2026-01-09,left,ok,2.8,0.6\n")
    for number in range(1, 1 + days_with_parts):
        (days / f"{number}.csv").write_text(day(number))
    log = build_log(days, study)
    assert log.accounts[0].rows_used == 0
    assert log.accounts[0].set_aside == {"no usable value in the row": 8}
    summary = summarise_log(log.folder, study)
    assert summary.rows == 3000 * days_with_parts + 1
    cells = summary.quarter_hour_sums("width")
    assert cells["n"].sum() == summary.rows
    assert cells.attrs["origin"] == (3001 if days_with_parts else 90001)
    assert summary.counts()["rows"].sum() == summary.rows
    chart = evaluate_log(study, summary).get("width", "stability")
    assert isinstance(chart, Unjudged) is not bool(days_with_parts)


def test_a_log_of_another_study_is_refused(line: tuple) -> None:
    study, days = line
    (days / "a.csv").write_text(day(0))
    log = build_log(days, study)
    (file,) = log.folder.glob("*/*.parquet")
    pd.read_parquet(file, partitioning=None).drop(columns="gap").to_parquet(file)
    with pytest.raises(InputError, match='has no column "gap"'):
        summarise_log(log.folder, study)


def test_what_is_kept_says_the_same_and_may_be_deleted(line: tuple) -> None:
    study, days = line
    for number in range(2):
        (days / f"{number}.csv").write_text(day(number, gaps=True))
    log = build_log(days, study)
    held = summarise_log(log.folder, study, cache=False)
    kept = summarise_log(log.folder, study)
    recalled = summarise_log(log.folder, study)
    for found in (kept, recalled):
        pd.testing.assert_frame_equal(found.shown(), held.shown())
        for name in ("width", "gap"):
            for what in ("subgroups", "quarter_hour_sums", "histogram", "autocorrelation"):
                ours, theirs = getattr(found, what)(name), getattr(held, what)(name)
                pd.testing.assert_frame_equal(ours, theirs)
                assert ours.attrs == theirs.attrs
    shutil.rmtree(log.folder.with_name("days.log.cache"))
    with pytest.raises(InputError, match="sum the log again"):
        recalled.subgroups("width")
    assert summarise_log(log.folder, study).from_cache == 0


def _moment(values: pd.Series, power: int) -> float:
    centred = values - values.mean()
    return float((centred**power).mean() / (centred**2).mean() ** (power / 2))


@pytest.mark.parametrize("clock", [True, False])
def test_sums_of_quarter_hours_are_those_of_the_parts(line: tuple, clock: bool) -> None:
    # By pandas from the files themselves; the quarter hour by the clock or by the line's rate.
    study, days = line
    if not clock:
        head = study.head.model_copy(update={"line_rate": 20.0})
        study = replace(study, file=study.file.model_copy(update={"study": head}))
    for number, name in enumerate("ab"):
        (days / f"{name}.csv").write_text(day(number, n=3000))
    table = summarise_log(build_log(days, study).folder, study, cache=False).quarter_hour_sums(
        "width"
    )
    parts = pd.concat([pd.read_csv(days / f"{name}.csv") for name in "ab"])
    y = parts["W"] - table.attrs["offset"]
    x = parts["S"] - table.attrs["origin"]
    time = pd.to_datetime(parts["T"])
    quarter = time.dt.floor("15min") if clock else parts["S"] // 300
    sums = pd.DataFrame({"x": x, "y": y, "xx": x * x, "xy": x * y, "yy": y * y, "n": 1.0})
    sums["yyy"], sums["yyyy"] = y**3, y**4
    wanted = sums[y.notna()].groupby([quarter[y.notna()], parts["St"][y.notna()]]).sum()
    found = table.groupby(["quarter", "station"])[list(sums)].sum()
    ends = parts["W"][y.notna()].groupby([quarter[y.notna()], parts["St"][y.notna()]])
    keyed = table.groupby(["quarter", "station"])
    assert keyed["low"].min().tolist() == ends.min().tolist()
    assert keyed["high"].max().tolist() == ends.max().tolist()
    assert len(found) == len(wanted)
    for name in sums:
        assert found[name].to_numpy(dtype=float) == pytest.approx(
            wanted[name].to_numpy(), rel=1e-9, abs=1e-9
        )


def test_what_is_no_log_is_refused(line: tuple, tmp_path: Path) -> None:
    study, days = line
    with pytest.raises(InputError, match="holds no csv"):
        build_log(days, study)
    with pytest.raises(InputError, match="no such folder"):
        build_log(tmp_path / "none", study)
    with pytest.raises(InputError, match="not a line log"):
        summarise_log(days, study)
    (days / "a.csv").write_text("S,T,St,V,W,G\n1,2026-01-01,left,ok,2.8,9999\n")
    summary = summarise_log(build_log(days, study).folder, study)
    with pytest.raises(CannotJudge):
        summary.moments("gap")


@pytest.mark.spark
def test_spark_agrees_with_duckdb(line: tuple) -> None:
    pytest.importorskip("pyspark")
    study, days = line
    (days / "a.csv").write_text(day(0, gaps=True))
    (days / "b.csv").write_text(day(1))
    log = build_log(days, study)
    a = summarise_log(log.folder, study, with_engine="duckdb", cache=False)
    b = summarise_log(log.folder, study, with_engine="spark", cache=False)
    assert a.counts().equals(b.counts())
    for name in ("width", "gap"):
        assert a.histogram(name).equals(b.histogram(name))
        pd.testing.assert_frame_equal(a.subgroups(name), b.subgroups(name), rtol=1e-9, atol=1e-12)
        pd.testing.assert_frame_equal(
            a.autocorrelation(name), b.autocorrelation(name), rtol=1e-9, atol=1e-12
        )
        pd.testing.assert_frame_equal(
            a.quarter_hour_sums(name), b.quarter_hour_sums(name), rtol=1e-9, atol=1e-9
        )
        assert a.moments(name) == pytest.approx(b.moments(name), rel=1e-9)
