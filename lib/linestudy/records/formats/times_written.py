"""How the dates and times of a column are written: in which layout, and whether the day or the month comes first."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from linestudy.records.cells.moments import plain_times

if TYPE_CHECKING:
    import pandas as pd

#: How times are written, the most careful first.
TIMES = (
    "ISO8601",
    "%d.%m.%Y %H:%M:%S",
    "%d.%m.%Y %H:%M:%S.%f",
    "%d.%m.%Y %H:%M:%S,%f",
    "%d.%m.%Y %H:%M",
    "%d.%m.%y %H:%M:%S",
    "%d.%m.%y %H:%M",
    "%m/%d/%Y %H:%M:%S",
    "%m/%d/%Y %H:%M:%S.%f",
    "%m/%d/%Y %I:%M:%S %p",
    "%m/%d/%Y %H:%M",
    "%m/%d/%Y %I:%M %p",
    "%d/%m/%Y %H:%M:%S",
    "%d/%m/%Y %H:%M",
    "%Y/%m/%d %H:%M:%S",
    "%Y/%m/%d %H:%M",
    "%Y年%m月%d日 %H:%M:%S",
    "%Y年%m月%d日 %H時%M分%S秒",
    "%Y年%m月%d日 %H时%M分%S秒",
    "%Y年%m月%d日 %H:%M",
    "%Y年%m月%d日 %H時%M分",
    "%Y年%m月%d日 %H时%M分",
    "%Y年%m月%d日%H時%M分%S秒",
    "%Y年%m月%d日%H时%M分%S秒",
    "%Y年%m月%d日%H時%M分",
    "%Y年%m月%d日%H时%M分",
    "%d/%m/%y %H:%M:%S",
    "%d/%m/%y %H:%M",
    "%m/%d/%y %H:%M:%S",
    "%m/%d/%y %H:%M",
    "%m/%d/%y %I:%M:%S %p",
    "%m/%d/%y %I:%M %p",
    "%d-%m-%Y %H:%M:%S",
    "%d-%m-%Y %H:%M",
    "%m-%d-%Y %H:%M:%S",
    "%m-%d-%Y %H:%M",
    "%y-%m-%d %H:%M:%S",
    "%y-%m-%d %H:%M",
    "%y/%m/%d %H:%M:%S",
    "%y/%m/%d %H:%M",
    "%y.%m.%d %H:%M:%S",
    "%y.%m.%d %H:%M",
    "%d-%m-%y %H:%M:%S",
    "%d-%m-%y %H:%M",
    "%d.%m.%Y, %H:%M:%S",
    "%d.%m.%Y, %H:%M",
    "%Y.%m.%d %H:%M:%S",
    "%Y.%m.%d %H:%M",
    "%Y-%m-%d %p %I:%M:%S",
    "%Y/%m/%d %p %I:%M:%S",
    "%Y%m%d%H%M%S",
    "%Y%m%d %H%M%S",
    "%d-%b-%Y %H:%M:%S",
    "%d-%b-%y %H:%M:%S",
    "%d-%b-%Y %H:%M",
    "%d/%b/%Y %H:%M:%S",
    "%d %b %Y %H:%M:%S",
    "%d %b %Y %H:%M",
    "%d. %b %Y %H:%M:%S",
    "%d. %b %Y %H:%M",
    "%b %d, %Y %I:%M:%S %p",
    "%b %d, %Y %I:%M %p",
    "%b %d, %Y %H:%M:%S",
    "%b %d %H:%M:%S %Y",
    "%d/%m/%Y %I:%M:%S %p",
    "%d/%m/%Y %I:%M %p",
    "%d.%m.%Y %H:%M:%S:%f",
    "%Y-%m-%d %H:%M:%S:%f",
    "%Y-%m-%d %H:%M:%S,%f",
    "%d-%b-%y %I.%M.%S.%f %p",
    "%d-%b-%y %H.%M.%S.%f",
    "%d-%b-%Y %I:%M:%S %p",
    "%d-%b-%y %I:%M:%S %p",
    "%Y-%j %H:%M:%S",
    "%Y-%j %H:%M",
    "%Y.%m.%d %I:%M:%S %p",
    "%Y.%m.%d %I:%M %p",
    "%d.%m.%Y %I:%M:%S %p",
    "%d.%m.%Y %I:%M %p",
)
#: How dates without a time of day are written, and times of day without a date.
DATES = (
    "%Y/%m/%d",
    "%Y.%m.%d",
    "%d.%m.%Y",
    "%d.%m.%y",
    "%m/%d/%Y",
    "%d/%m/%Y",
    "%m/%d/%y",
    "%d/%m/%y",
    "%d-%m-%Y",
    "%m-%d-%Y",
    "%y-%m-%d",
    "%y/%m/%d",
    "%y.%m.%d",
    "%d-%m-%y",
    "%d-%b-%Y",
    "%d-%b-%y",
    "%d %b %Y",
    "%d. %b %Y",
    "%b %d, %Y",
    "%Y年%m月%d日",
    "%G-W%V-%u",
)
HOURS = (
    "%H:%M:%S",
    "%H:%M:%S.%f",
    "%H:%M",
    "%I:%M:%S %p",
    "%I:%M %p",
    "%H:%M:%S,%f",
    "%H:%M:%S:%f",
    "%H.%M.%S",
    "%Hh%M",
    "%H時%M分%S秒",
    "%H时%M分%S秒",
    "%H時%M分",
    "%H时%M分",
)
#: Hours and dates that a reader of times puts together without being given a format.
PLAIN_HOURS = HOURS[:3]


def how_written(cells: pd.Series) -> tuple[str, str, str]:
    """Tell how the times in a column are written.

    Parameters
    ----------
    cells : pandas.Series of str
        Without blank ones.

    Returns
    -------
    layout : str
        As strptime reads it, or ``ISO8601``; empty where they are no times.
    clock : str
        ``date`` or ``hour`` where they are only that, else ``both``.
    twofold : str
        A cell that nothing in the column tells the day and the month of.
    """
    layout = _layout(cells)
    if not layout:
        return "", "", ""
    clock = _part_of_clock(cells, layout)
    if clock == "date" and layout == "ISO8601" and "/" in cells.iloc[0]:
        layout = "%Y/%m/%d"
    layout, twofold = _day_or_month(plain_times(cells.head(2000)), layout)
    return layout, clock, twofold


def _layout(cells: pd.Series) -> str:
    import pandas as pd

    sample = plain_times(cells.head(2000))
    if not sample.str.contains(r"\d", regex=True).mean() > 0.9:
        return ""
    best, hits = "", 0.9
    for layout in (*TIMES, *DATES, *HOURS):
        try:
            share = float(
                pd.to_datetime(sample, format=layout, errors="coerce", utc=True).notna().mean()
            )
        except (ValueError, TypeError, OverflowError):
            continue
        # 03.04. may be March or April; what reads more cells is right, and the first of equals.
        if share > hits:
            best, hits = layout, share
            if share == 1.0:
                break
    return best


#: A date of three numbers: its parts, the mark between them, and what follows.
_DATE = re.compile(r"(%[dmyY])([./-])(%[dmyY])\2(%[dmyY])(.*)")
#: The orders in which the parts of a date come, by its mark and by how its year is written. Days with points between
#: are written day first wherever they have all digits of the year.
_ORDERS = {
    ("/", "Y"): (("%d", "%m", "%Y"), ("%m", "%d", "%Y")),
    ("-", "Y"): (("%d", "%m", "%Y"), ("%m", "%d", "%Y")),
    ("/", "y"): (("%d", "%m", "%y"), ("%m", "%d", "%y"), ("%y", "%m", "%d")),
    ("-", "y"): (("%y", "%m", "%d"), ("%d", "%m", "%y"), ("%m", "%d", "%y")),
    (".", "y"): (("%d", "%m", "%y"), ("%y", "%m", "%d")),
}
#: Most readings of one day that may be those of a monthly check; a line writes more.
_A_CHECK = 10
#: Years of which a plant has records in files.
_YEARS = (2005, 2055)


def _day_or_month(cells: pd.Series, layout: str) -> tuple[str, str]:
    """Choose the order of day, month and year by which the rows run on; return also an ambiguous cell.

    What reads most cells in years of today comes first; then rows that never go back, as a log is written; then
    the shorter stretch of time. Readings of the first of each month may be of the first days of a month as well,
    and readings of one day may have their day first or their month: these remain ambiguous.
    """
    import pandas as pd

    found = _DATE.fullmatch(layout)
    year = "y" if found and "%y" in found.groups() else "Y"
    orders = _ORDERS.get((found[2], year), ()) if found else ()
    if found is None or not orders or found[1] == "%Y":
        return layout, ""
    read = {}
    for order in orders:
        each = found[2].join(order) + found[5]
        times = pd.to_datetime(cells, format=each, errors="coerce")
        read[each] = times.where(times.dt.year.between(*_YEARS))
    most = max(int(times.notna().sum()) for times in read.values())
    if most < 0.9 * len(cells):
        return layout, ""
    read = {each: times.dropna() for each, times in read.items() if times.notna().sum() == most}
    steady = {
        each: times
        for each, times in read.items()
        if times.is_monotonic_increasing or times.is_monotonic_decreasing
    }
    read = steady or read
    spans = {each: times.max() - times.min() for each, times in read.items()}
    # The order written first is the more usual one, so it is the first of equals.
    best = min(spans, key=lambda each: spans[each])
    best = next(each for each in spans if spans[each] < spans[best] + pd.Timedelta(days=1))
    usual = {each: times for each, times in read.items() if (found[2], each[:2]) != (".", "%y")}
    for each, times in usual.items():
        # A German date and one of East Asia differ in where they come from; nobody mixes them up.
        if each == best or (found[2] == "-" and year == "Y") or times.equals(read[best]):
            continue
        close = abs(spans[each] - spans[best]) < pd.Timedelta(days=1)
        days = int(times.dt.normalize().nunique())
        monthly = times.dt.day.nunique() == 1 < days and len(times) <= _A_CHECK * days
        if close or monthly:
            return best, str(cells.iloc[0])
    return best, ""


def _part_of_clock(cells: pd.Series, layout: str) -> str:
    """Decide whether times are dates only, times of a day only, or both."""
    if layout in HOURS or layout in DATES:
        return "hour" if layout in HOURS else "date"
    if layout != "ISO8601":
        return "both"
    # A workbook gives a date as its midnight, and a time of day as of the day before it begins to count.
    if cells.str.contains(r"^(?:1899-12-3|1900-01-0)", regex=True).all():
        return "hour"
    dates = cells.str.fullmatch(r"\d{4}([-/]?)\d\d\1\d\d(?:[T ]00:00:00)?").all()
    return "date" if dates else "both"


def days_of(cells: pd.Series, layout: str) -> int:
    """Count the days of a column of times.

    Parameters
    ----------
    cells : pandas.Series of str
        Without blank ones.
    layout : str
        From :func:`how_written`.

    Returns
    -------
    int
        0 where they cannot be read together.
    """
    import pandas as pd

    try:
        times = pd.to_datetime(plain_times(cells), format=layout, errors="coerce", utc=True)
    except (ValueError, TypeError, OverflowError):
        return 0
    return int(times.dt.normalize().nunique())


def first_of_date(layout: str) -> str:
    """Tell whether the day or the month comes first in a layout of dates that begins with one of them.

    Examples
    --------
    >>> first_of_date("%d/%m/%Y %H:%M"), first_of_date("%Y-%m-%d")
    ('day', '')
    """
    return {"%d": "day", "%m": "month"}.get(layout[:2], "") if _DATE.fullmatch(layout) else ""


def turned(layout: str) -> str:
    """Exchange day and month in a layout.

    Examples
    --------
    >>> turned("%d/%m/%Y %H:%M")
    '%m/%d/%Y %H:%M'
    """
    return re.sub("%[dm]", lambda found: "%m" if found[0] == "%d" else "%d", layout)
