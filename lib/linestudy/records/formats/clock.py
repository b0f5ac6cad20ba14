"""The clock of a file: in one column, in two (date and time of day), or as the serial days of workbooks.

Where the date is that of the beginning of a shift, the time of day falls back at midnight while the date stays: from there
on the day after is meant. So it is taken only where nothing else falls back: rows in another order than that of production
fall back again and again, and stay as they are written.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from linestudy.records.cells.moments import plain_times
from linestudy.records.cells.signs import plain_signs
from linestudy.records.conversions import to_times
from linestudy.records.files import column
from linestudy.records.formats.times_written import how_written
from linestudy.results import InputError, counted

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from linestudy.study.model import Data

#: ``time_format`` of days counted from 30 December 1899, as workbooks count them.
SERIAL = "serial"
#: ``time_format`` of seconds since 1970 in UTC, or of thousandths of them and less; their size tells which.
EPOCH = "epoch"
#: Times of one day, as a workbook or a controller may write a date or a time of day.
_MIDNIGHT = r"[T ]00:00:00(?:\.0+)?$"
_NO_DATE = r"^(?:1899-12-3[01]|1900-01-0[01])[T ]"
_HALF_A_DAY = np.timedelta64(12, "h")
_DAY = np.timedelta64(1, "D")


Noticed = tuple[str, int, int, str]


class Clock(NamedTuple):
    """Times of the rows, and what was noticed about them.

    Attributes
    ----------
    times : pandas.Series of datetime64, shape (n,)
        NaT where there is none.
    noticed : list of (str, int, int, str)
        What, how many rows, the first of their lines, and a sentence.
    """

    times: pd.Series
    noticed: list[Noticed]


def clock_of(text: pd.DataFrame, data: Data) -> Clock | None:
    """Read the clock of a file.

    Parameters
    ----------
    text : pandas.DataFrame of str
        Its cells.
    data : linestudy.study.model.Data
        Its ``time``, one column or those of date and time of day, and ``time_format``.

    Returns
    -------
    Clock or None
        None where study.toml names none.

    Raises
    ------
    InputError
        No such column, or cells that are no times and more of them than a slip of the hand explains.
    """
    if data.time is None:
        return None
    if isinstance(data.time, str):
        cells = column(text, data.time, data)
        day: Any = np.zeros(len(cells), dtype=np.int8)
        dated = not _of_day(data.time_format)
        below = None if dated else _below_dates(cells, data)
        if below is not None:
            cells, dated = below[0], True
            data = data.model_copy(update={"time_format": below[1]})
    else:
        date, hour = (_text(column(text, name, data)) for name in data.time)
        day = date.to_numpy(dtype=object)
        cells, dated = _joined(date, hour, data), True
    if data.time_format == SERIAL:
        cells = _from_serial(cells, data)
        data = data.model_copy(update={"time_format": None})
    if data.time_format == EPOCH:
        cells = _from_epoch(cells, data)
        data = data.model_copy(update={"time_format": None})
    times = to_times(cells, data)
    seen = _odd(cells, times, data) + _away_from_utc(cells, data)
    if not dated or not isinstance(data.time, str):
        later = _days_later(times.to_numpy(), day, most=1 if dated else times.size)
        if later.any():
            times = times + later * _DAY
            what = "while the date stays" if dated else "and there is no date"
            sentence = (
                f"the clock passes midnight {what}: {counted(int((later > 0).sum()), 'row')} "
                "from there on count as of the day after"
            )
            first = int(np.flatnonzero(later)[0])
            seen.append(
                ("clock past midnight", int((later > 0).sum()), int(text.index[first]), sentence)
            )
    return Clock(times, seen)


#: A date alone in a cell.
_ALONE = r"\d{1,4}[./-]\d{1,2}[./-]\d{1,4}"


def _below_dates(cells: pd.Series, data: Data) -> tuple[pd.Series, str] | None:
    """Join times of day with the date that stands alone in a row above them; None where no row does."""
    plain = _text(cells).astype("string")
    alone = plain.str.fullmatch(_ALONE).fillna(False).to_numpy(dtype=bool)
    if not alone.size or not alone[0]:
        return None
    layout, _, _ = how_written(plain[alone])
    if not layout:
        return None
    date = plain.where(alone).ffill()
    joined = (date + " " + plain).where(~alone & (plain != "").to_numpy(dtype=bool), "")
    written = "%Y-%m-%d" if layout == "ISO8601" else layout
    return joined.astype(object).rename(str(cells.name)), f"{written} {data.time_format}"


def _of_day(layout: str | None) -> bool:
    """Check whether times are written without a date."""
    return layout is not None and "%H" in layout.replace("%I", "%H") and "%d" not in layout


def _text(cells: pd.Series) -> pd.Series:
    return plain_signs(cells.astype("string").fillna("").str.strip()).astype(object)


def _joined(date: pd.Series, hour: pd.Series, data: Data) -> pd.Series:
    """Join date and time of day into one cell; blank where one of them is."""
    if data.time_format == SERIAL:
        import pandas as pd

        point = [cells.str.replace(",", ".", regex=False) for cells in (date, hour)]
        days = [pd.to_numeric(cells, errors="coerce") for cells in point]
        return (days[0] + days[1]).astype("string").fillna("").rename(_named(data))
    date = plain_times(date.str.replace(_MIDNIGHT, "", regex=True), data.time_format or "")
    hour = hour.str.replace(_NO_DATE, "", regex=True)
    hour = hour.str.replace(r"^(\d):", r"0\1:", regex=True)
    if "%f" in (data.time_format or ""):
        hour = hour.where(hour.str.contains(r"\.\d+$", regex=True) | (hour == ""), hour + ".0")
    both = (date != "") & (hour != "")
    return (date + " " + hour).where(both, "").rename(_named(data))


def _named(data: Data) -> str:
    return data.time if isinstance(data.time, str) else " and ".join(data.time or ())


def _from_serial(cells: pd.Series, data: Data) -> pd.Series:
    """Convert serial days to written times; leave what is no number."""
    import pandas as pd

    plain = cells.astype("string").fillna("").str.strip().str.replace(",", ".", regex=False)
    days = pd.to_numeric(plain, errors="coerce").to_numpy(dtype=float, na_value=np.nan)
    sound = (days > 0) & (days < 1e6)
    # A double holds serial days to a few microseconds; milliseconds are what was meant.
    moments = np.datetime64("1899-12-30", "ms") + np.round(np.where(sound, days, 0) * 864e5).astype(
        "timedelta64[ms]"
    )
    written = pd.Series(np.datetime_as_string(moments, unit="ms"), index=cells.index, dtype=object)
    return written.where(sound, plain.astype(object)).rename(_named(data))


#: From 2000 to 2099, in seconds since 1970.
_EPOCHS = (946_684_800.0, 4_102_444_800.0)


def parts_of_a_second(numbers: NDArray[np.float64]) -> int:
    """Tell what numbers since 1970 count, if they lie between 2000 and 2099.

    Parameters
    ----------
    numbers : numpy.ndarray of float

    Returns
    -------
    int
        1 for seconds, 1,000 for milliseconds, to 10⁹; 0 where they are no such times.
    """
    there = numbers[np.isfinite(numbers)]
    if not there.size:
        return 0
    low, high = float(there.min()), float(there.max())
    return next(
        (s for s in (1, 10**3, 10**6, 10**9) if _EPOCHS[0] <= low / s <= high / s < _EPOCHS[1]), 0
    )


def _from_epoch(cells: pd.Series, data: Data) -> pd.Series:
    """Convert numbers since 1970 to written times, to the millisecond; leave what is no number."""
    import pandas as pd

    plain = cells.astype("string").fillna("").str.strip().str.replace(",", ".", regex=False)
    numbers = pd.to_numeric(plain, errors="coerce").to_numpy(dtype=float, na_value=np.nan)
    known = numbers[np.isfinite(numbers) & (numbers > 0)]
    parts = parts_of_a_second(np.median(known, keepdims=True)) if known.size else 0
    sound = np.isfinite(numbers) & (numbers > 0) & (parts > 0)
    seconds = np.where(sound, numbers, 0.0) / max(parts, 1)
    sound &= seconds < 10 * _EPOCHS[1]
    moments = np.round(np.where(sound, seconds, 0.0) * 1e3).astype("datetime64[ms]")
    written = pd.Series(np.datetime_as_string(moments, unit="ms"), index=cells.index, dtype=object)
    return written.where(sound, plain.astype(object)).rename(_named(data))


def _odd(cells: pd.Series, times: pd.Series, data: Data) -> list[Noticed]:
    """Say where the clock holds something that is no time."""
    if cells.dtype.kind == "M":
        return []
    odd = times.isna().to_numpy() & (cells.str.strip() != "").to_numpy(dtype=bool)
    if not odd.any():
        return []
    first = int(np.flatnonzero(odd)[0])
    sentence = (
        f'{counted(odd.sum(), "cell")} of the clock "{_named(data)}", such as "{str(cells.iloc[first])[:30]}", '
        "cannot be read as a time; the rows are used without one"
    )
    return [("no time", int(odd.sum()), int(cells.index[first]), sentence)]


#: What is noticed of times with an offset.
AWAY_FROM_UTC = "clock with an offset"
_OFFSET = re.compile(r"\d\s?[+-](?:0[1-9]|1\d)(?::?\d\d)?$")


def _away_from_utc(cells: pd.Series, data: Data) -> list[Noticed]:
    """Say that times with an offset count in UTC, which is not what a clock on the wall shows."""
    if cells.dtype.kind == "M" or (data.time_format is not None and "%z" not in data.time_format):
        return []
    text = cells.str.strip()
    found = text[
        text.str.contains(_OFFSET, regex=True, na=False)
        & text.str.contains(":", regex=False, na=False)
    ]
    if not len(found):
        return []
    first = str(found.iloc[0])
    sentence = (
        f'{counted(len(found), "time")} of the clock "{_named(data)}" bear an offset, such as "{first[:40]}", and count in UTC; '
        "times of events are given with their offset too"
    )
    return [(AWAY_FROM_UTC, len(found), int(found.index[0]), sentence)]


def _days_later(times: NDArray[np.datetime64], day: NDArray[Any], most: int) -> NDArray[np.int64]:
    """Count the days to add to each row's date because its time of day has passed midnight."""
    later = np.zeros(times.size, dtype=np.int64)
    known = np.flatnonzero(~np.isnat(times))
    if known.size < 3:
        return later
    own, same = times[known], day[known]
    fall = np.diff(own)
    fall = np.where(same[1:] == same[:-1], fall, np.timedelta64(0, "s"))
    back = fall < np.timedelta64(0, "s")
    far = fall < -_HALF_A_DAY
    if not far.any() or (back != far).any():
        return later
    # A date that comes again belongs to another stretch of rows.
    stretch = np.concatenate(([0], np.cumsum(same[1:] != same[:-1])))
    passed = np.concatenate(([0], np.cumsum(far)))
    first = np.concatenate(([0], np.flatnonzero(np.diff(stretch)) + 1))
    within = passed - passed[first][stretch]
    if within.max() > most:
        return later
    later[known] = within
    return later


def in_their_order(frame: pd.DataFrame, data: Data) -> pd.DataFrame:
    """Put rows of periods that are times in the order of time; a counter's print-out may begin with the latest.

    Parameters
    ----------
    frame : pandas.DataFrame
        With ``period`` as text, or without.
    data : Data
        Where the rows come from, which may say how times are written.

    Returns
    -------
    pandas.DataFrame
        As it was where not every period is a time of its own.
    """
    if "period" not in frame:
        return frame
    try:
        times = to_times(frame["period"], data).to_numpy()
    except InputError:
        return frame
    if np.isnat(times).any() or np.unique(times).size < times.size:
        return frame
    return frame.iloc[np.argsort(times, kind="stable")].reset_index(drop=True)
