"""How dates are written: the order of day, month and year, found by how the rows run on."""

from __future__ import annotations

import datetime

import pandas as pd
import pytest

from linestudy.records.formats.times_written import days_of, first_of_date, how_written, turned

BEGIN = datetime.datetime(2026, 3, 1, 6)


def _cells(layout: str, hours: float, begin: datetime.datetime = BEGIN, n: int = 60) -> pd.Series:
    times = [begin + datetime.timedelta(hours=hours * i) for i in range(n)]
    return pd.Series([f"{t:{layout}}" for t in times], dtype="string")


@pytest.mark.parametrize("hours", [1.0, 5.0, 26.0])
@pytest.mark.parametrize(
    "layout",
    [
        "%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M", "%d/%m/%y %H:%M", "%m/%d/%y %H:%M", "%y/%m/%d %H:%M",
        "%d-%m-%Y %H:%M", "%m-%d-%Y %H:%M", "%y-%m-%d %H:%M", "%d.%m.%y %H:%M", "%y.%m.%d %H:%M",
    ],
)  # fmt: skip
def test_days_that_run_on_tell_their_order(layout: str, hours: float) -> None:
    found, clock, twofold = how_written(_cells(layout, hours))
    assert (found, clock, twofold) == (layout, "both", "")


def test_the_end_of_one_month_and_the_begin_of_the_next() -> None:
    # As months first these rows would go back.
    cells = pd.Series(
        ["11/03/2026 22:00", "12/03/2026 02:00", "01/04/2026 06:00"] * 1, dtype="string"
    )
    assert how_written(cells)[0] == "%d/%m/%Y %H:%M"


@pytest.mark.parametrize("layout", ["%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M"])
def test_one_early_day_of_a_month_says_nothing(layout: str) -> None:
    cells = _cells(layout, 0.1, datetime.datetime(2026, 4, 3, 6))
    assert how_written(cells)[2] == cells.iloc[0]


def test_the_same_day_and_month_need_not_be_told() -> None:
    assert how_written(_cells("%d/%m/%Y %H:%M", 0.1, datetime.datetime(2026, 4, 4, 6)))[2] == ""


@pytest.mark.parametrize("layout", ["%d/%m/%Y", "%m/%d/%Y"])
def test_the_first_of_each_month_and_the_first_days_of_one(layout: str) -> None:
    """A check on the first of each month is written like one on the first twelve days of January."""
    firsts = [datetime.date(2026, month, 1) for month in range(1, 13)]
    cells = pd.Series([f"{day:{layout}}" for day in firsts], dtype="string")
    assert how_written(cells)[2]


def test_german_and_eastern_dates_of_one_day_are_not_asked_about() -> None:
    assert how_written(_cells("%d.%m.%y %H:%M", 0.1, datetime.datetime(2026, 9, 3)))[::2] == ("%d.%m.%y %H:%M", "")  # fmt: skip
    assert how_written(_cells("%y/%m/%d %H:%M", 0.1, datetime.datetime(2026, 9, 3)))[::2] == ("%y/%m/%d %H:%M", "")  # fmt: skip


def test_days_are_counted() -> None:
    assert days_of(_cells("%d/%m/%Y %H:%M", 12.0, n=6), "%d/%m/%Y %H:%M") == 3
    assert days_of(pd.Series(["x"], dtype="string"), "%Q") == 0


def test_layouts_are_turned() -> None:
    assert turned("%d/%m/%Y %H:%M") == "%m/%d/%Y %H:%M"
    assert [first_of_date(each) for each in ("%d.%m.%y", "%m/%d/%Y", "%Y/%m/%d", "%H:%M")] == ["day", "month", "", ""]  # fmt: skip
