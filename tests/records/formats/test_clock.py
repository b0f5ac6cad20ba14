"""A clock in two columns, past midnight, or of a day that may be a month: as it is proposed, it comes back."""

from __future__ import annotations

import datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from proposals import TIMES, WIDTHS, delimited, draft_of, records_of, the_run, workbook

from linestudy.records.formats.clock import in_their_order
from linestudy.study.model import Data


@pytest.mark.parametrize(
    ("date", "hour"),
    [
        ("%m/%d/%Y", "%I:%M:%S %p"),
        ("%d.%m.%Y", "%H:%M:%S"),
        ("%d.%m.%y", "%H:%M"),
        ("%d/%m/%Y", "%Hh%M"),
        ("%Y-%m-%d", "%H:%M:%S"),
        ("%Y-%m-%d", "%I:%M %p"),
        ("%Y年%m月%d日", "%H时%M分%S秒"),
        ("%Y/%m/%d", "%H:%M:%S.%f"),
        ("%d-%b-%Y", "%H:%M"),
    ],
)
def test_date_and_time_of_day_in_two_columns(tmp_path: Path, date: str, hour: str) -> None:
    rows = [["Nr", "Datum", "Uhrzeit", "Breite"]]
    rows += [
        [i, f"{t:{date}}", f"{t:{hour}}", w]
        for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=False))
    ]
    found = the_run(tmp_path, "r.csv", delimited(rows, ";"))
    assert found["time"].tolist() == TIMES


def test_date_and_time_cells_of_a_workbook(tmp_path: Path) -> None:
    rows = [["Nr", "Datum", "Uhrzeit", "Breite"]]
    rows += [
        [i, t.date(), t.time(), float(w)]
        for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=False))
    ]
    found = the_run(tmp_path, "r.xlsx", workbook(rows))
    assert found["time"].tolist() == TIMES


@pytest.mark.parametrize("dated", [True, False])
def test_the_time_of_day_passes_midnight(tmp_path: Path, dated: bool) -> None:
    head = ["Nr", *(["Datum"] if dated else []), "Uhrzeit", "Breite"]
    rows = [
        [i, *(["03.09.2026"] if dated else []), f"{t:%H:%M:%S}", w]
        for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=False))
    ]
    draft = draft_of(tmp_path, "r.csv", delimited([head, *rows], ";"))
    records = records_of(tmp_path, draft)
    found = records.table("run", draft.items[0].id)
    assert found["time"].diff().iloc[1:].eq(pd.Timedelta(minutes=5)).all()
    noted = [
        seen.sentence for _, seen in records.screening.seen if seen.what == "clock past midnight"
    ]
    assert len(noted) == 1
    assert "16 rows" in noted[0]


def test_rows_in_no_order_of_time_keep_their_dates(tmp_path: Path) -> None:
    times = [TIMES[i] for i in np.random.default_rng(1).permutation(40)]
    rows = [
        [i, "03.09.2026", f"{t:%H:%M:%S}", w]
        for i, (t, w) in enumerate(zip(times, WIDTHS, strict=False))
    ]
    found = the_run(
        tmp_path, "r.csv", delimited([["Nr", "Datum", "Uhrzeit", "Breite"], *rows], ";")
    )
    assert (found["time"].dt.day == 3).all()


def test_days_that_follow_each_other_tell_the_month(tmp_path: Path) -> None:
    days = [datetime.datetime(2026, 3, 1 + i // 4, 6, i % 4) for i in range(40)]
    for layout in ("%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M"):
        rows = [[i, f"{t:{layout}}", w] for i, (t, w) in enumerate(zip(days, WIDTHS, strict=False))]
        found = the_run(tmp_path, "r.csv", delimited([["Nr", "Date", "Width"], *rows]))
        assert found["time"].tolist() == days


def test_a_day_that_may_be_a_month_is_asked_for(tmp_path: Path) -> None:
    rows = [[i, f"03/04/2026 06:{i:02d}", w] for i, w in enumerate(WIDTHS)]
    draft = draft_of(tmp_path, "r.csv", delimited([["Nr", "Date", "Width"], *rows]))
    assert any("03/04/2026" in each and "time_format" in each for each in draft.tables[0].said.open)


def test_periods_that_are_times_stand_in_the_order_of_time() -> None:
    """A counter's print-out with the latest quarter of an hour first, or a sheet sorted by its rejects."""
    days = ["02.03.2026 06:15", "01.03.2026 22:00", "02.03.2026 06:00"]
    frame = pd.DataFrame({"period": days, "rejected": [3, 1, 2]})
    data = Data(
        role="bins",
        file="bins.csv",
        period="Q",
        accepted="A",
        rejected="R",
        time_format="%d.%m.%Y %H:%M",
    )
    assert in_their_order(frame, data)["rejected"].tolist() == [1, 2, 3]
    # What is no time, or not a time of its own, stays as it was written.
    for named in (["late", "early", "night"], [days[0], days[0], days[1]]):
        other = frame.assign(period=named)
        assert in_their_order(other, data) is other
