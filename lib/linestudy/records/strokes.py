"""Strokes and parts: which stroke made a row, in which stream, and how many parts one stroke makes.

A stroke of a tool with several outlets makes several parts, so an order number occurs once for each
stream (station, lane, cavity, head) and not once in the file. How many parts a stroke makes is said in
study.toml (``[tool] parts_per_stroke``); where it is not, rows of one number that name different
streams are parts of one stroke once they are more than a hundredth of the strokes: below that they are
mistakes of a counter. Order numbers count strokes throughout.

A counter that starts anew with each job or day is numbered on: by the columns that study.toml names
before it (``order = ["Job", "Counter"]``), or by the clock where one goes on while the counter falls
back to numbers that were there before.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linestudy.records.conversions import as_number, to_numbers
from linestudy.records.files import column, line_of
from linestudy.results import InputError, counted

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

#: Beyond this whole numbers are no doubles any more: neighbours would get one number.
LARGEST_ORDER = float(2**53)
#: Strokes with several parts that are no mistakes of a counter.
_SEVERAL = 0.01
#: Share of the clock's steps that may go back in rows that are in order, as past midnight or at the next station.
_BACK = 0.05
#: Rows of a block whose numbers were there before, for a counter that began anew.
_AGAIN = 0.5


@dataclass(frozen=True)
class Strokes:
    """Order number and stream of every row.

    Attributes
    ----------
    order : numpy.ndarray of float, shape (rows,)
        Strokes, counted on; NaN where a row has no number.
    stream : pandas.Series of str or None
        Stream of each row; None where no column names it.
    restarts : int
        How often the counter began anew.
    """

    order: NDArray[np.float64] = field(repr=False)
    stream: pd.Series | None = field(repr=False)
    restarts: int = 0


def strokes_of(
    data: Data, text: pd.DataFrame, time: pd.Series | None, stated: int | None
) -> Strokes:
    """Number the strokes of a file.

    Parameters
    ----------
    data : linestudy.study.model.Data
        Its ``order`` and ``station``.
    text : pandas.DataFrame of str
        The file as it came.
    time : pandas.Series of datetime, optional
        Its clock.
    stated : int, optional
        Parts per stroke, where study.toml says so.

    Returns
    -------
    Strokes

    Raises
    ------
    InputError
        No row has an order number.
    """
    stream = joined(text, data.station, data)
    if data.order is None:
        if stream is None or stated is None or stated == 1:
            return Strokes(_by_the_clock(np.arange(1.0, len(text) + 1), time), stream)
        return Strokes(_counted_by_stream(stream, time), stream)
    named = data.order if isinstance(data.order, tuple) else (data.order,)
    order = _counter(data, text, named[-1])
    if len(named) > 1:
        job = joined(text, named[:-1], data)
        assert job is not None
        return Strokes(*_on_by_job(order, job, time, stream))
    order, wraps = _on_by_digits(order, stream)
    if time is None or bool((np.diff(order) >= 0).all()):
        return Strokes(order, stream, wraps)
    found, stream, restarts = _on_by_clock(order, time, stream)
    return Strokes(found, stream, restarts + wraps)


def joined(text: pd.DataFrame, names: str | tuple[str, ...] | None, data: Data) -> pd.Series | None:
    """One tag out of one column or several, "1 / L" out of two; None where none is named."""
    if names is None:
        return None
    first, *rest = (names,) if isinstance(names, str) else names
    found = column(text, first, data).str.strip()
    for name in rest:
        found = found + " / " + column(text, name, data).str.strip()
    return found


def parts_per_stroke(order: Any, stream: Any, stated: int | None) -> int:
    """Tell how many parts one stroke makes.

    Parameters
    ----------
    order : numpy.ndarray of float, shape (n,)
        Order number of each row, NaN where there is none.
    stream : array_like of shape (n,), optional
        Stream of each row.
    stated : int, optional
        What study.toml says.

    Returns
    -------
    int
        1 where order numbers stand once.
    """
    import pandas as pd

    if stated is not None:
        return stated
    if stream is None or bool((np.diff(order) > 0).all()):
        return 1
    key = pd.DataFrame({"order": order, "stream": np.asarray(stream)}).dropna().drop_duplicates()
    parts = key["order"].value_counts()
    many = parts[parts > 1]
    return int(many.median()) if len(many) > _SEVERAL * len(parts) else 1


def in_strokes(order: NDArray[np.float64], stream: Any) -> Any:
    """Places of the rows in order of strokes, and of streams within a stroke."""
    import pandas as pd

    codes = 0 * order if stream is None else pd.factorize(np.asarray(stream), sort=True)[0]
    return np.lexsort((codes, order))


def stream_codes(frame: pd.DataFrame) -> NDArray[np.int64]:
    """Stream of each row as a number; one for all where none is named."""
    import pandas as pd

    if "station" not in frame:
        return np.zeros(len(frame), dtype=np.int64)
    return np.asarray(pd.factorize(frame["station"])[0], dtype=np.int64)


def by_stream(frame: pd.DataFrame) -> NDArray[np.int64]:
    """Places of the rows, stream by stream, each as in the file."""
    return np.argsort(stream_codes(frame), kind="stable")


def incomplete(order: NDArray[np.float64], parts: int) -> tuple[int, int]:
    """How many strokes hold fewer parts than the tool makes, and how many strokes there are."""
    counts = np.unique(order[~np.isnan(order)], return_counts=True)[1]
    return int((counts < parts).sum()), int(counts.size)


def _counter(data: Data, text: pd.DataFrame, name: str) -> NDArray[np.float64]:
    # A sentinel such as 9999 marks a missing reading; as an order number it is the 9999th part.
    words = tuple(mark for mark in data.missing if as_number(mark, data) is None)
    plain = data.model_copy(update={"missing": ("", *words), "unit": None})
    values = to_numbers(column(text, name, data), plain).values
    if np.isnan(values).all():
        raise InputError(
            f"{data.file} line {line_of(data, int(text.index[0]))}",
            f'has no order number in column "{name}", nor has any other row',
            "name the column that holds them, or leave out the key order",
        )
    wild = np.abs(values) > LARGEST_ORDER
    return np.where(wild, np.nan, values) if wild.any() else values


#: What counters of so many digits or bits count up to, and how many strokes may be missing where one begins anew.
_FULL = sorted({*(10.0**k for k in range(3, 10)), *(2.0**k for k in (12, 15, 16, 31, 32))})
_GAP = 5


def _on_by_digits(
    order: NDArray[np.float64], stream: pd.Series | None
) -> tuple[NDArray[np.float64], int]:
    """A counter that falls from the last number of its digits to the first goes on: 9998, 9999, 0, 1."""
    there = np.flatnonzero(np.isfinite(order))
    numbers = order[there]
    steps = np.diff(numbers)
    falls = np.flatnonzero(steps < 0)
    if not falls.size or not (steps > 0).any() or falls.size > 1000:
        return order, 0
    usual = float(np.median(steps[steps > 0]))
    shift, wraps = np.zeros(order.size), 0
    whose = None if stream is None else stream.to_numpy()[there]
    for at in falls:
        if whose is not None and whose[at + 1] not in whose[: at + 1]:
            continue  # The strokes of one station are listed below those of another.
        last, first = numbers[at], numbers[at + 1]
        full = next((each for each in _FULL if each > last), np.inf)
        # A stray number has no neighbours of its size.
        climbs = at >= 2 and 0 <= last - numbers[at - 2] <= 2 * _GAP * usual
        # In a counter that is in no order every distance is usual.
        if climbs and 0 < full - last + first <= _GAP * usual <= full / 4:
            shift[there[at + 1] :] += full
            wraps += 1
    return order + shift, wraps


def _by_the_clock(rows: NDArray[np.float64], time: pd.Series | None) -> NDArray[np.float64]:
    """Rows that nothing numbers in the order of their clock, where that goes back at more than a few: newest first, or in none."""
    if time is None or bool(time.isna().any()):
        return rows
    steps = np.sign(np.diff(time.to_numpy().astype(np.int64)))
    back, on = int((steps < 0).sum()), int((steps > 0).sum())
    if back <= max(_BACK * (back + on), 3):
        return rows
    if on <= _BACK * (back + on):
        return rows[::-1].copy()
    return np.asarray(time.rank(method="first"), dtype=float)


def _counted_by_stream(stream: pd.Series, time: pd.Series | None) -> NDArray[np.float64]:
    """Strokes where nothing numbers them: a new one begins with a stream that the last one has already."""
    import pandas as pd

    codes = pd.factorize(stream)[0]
    at = np.arange(codes.size)
    if time is not None and bool(time.notna().all()):
        at = np.argsort(time.to_numpy(), kind="stable")
    seen: set[int] = set()
    found, stroke = np.empty(codes.size), 1.0
    for row in at:
        if codes[row] in seen:
            seen, stroke = set(), stroke + 1
        seen.add(codes[row])
        found[row] = stroke
    return found


def _on_by_job(
    order: NDArray[np.float64], job: pd.Series, time: pd.Series | None, stream: pd.Series | None
) -> tuple[NDArray[np.float64], pd.Series | None, int]:
    """Each job's counter begins where that of the job before ended."""
    import pandas as pd

    table = pd.DataFrame({"job": job.to_numpy(), "order": order, "row": np.arange(order.size)})
    jobs = table.groupby("job", sort=False).agg(
        first=("row", "min"), low=("order", "min"), high=("order", "max")
    )
    if time is not None and bool(time.notna().any()):
        jobs["first"] = pd.Series(time.to_numpy()).groupby(job.to_numpy(), sort=False).min()
    jobs = jobs.sort_values("first", kind="stable")
    # The first job keeps its own numbers.
    spans = (jobs["high"] - jobs["low"] + 1).fillna(0).to_numpy()
    start = float(np.nan_to_num(jobs["low"].iloc[0], nan=1.0)) + np.concatenate(
        ([0.0], np.cumsum(spans)[:-1])
    )
    shift = pd.Series(start - jobs["low"].to_numpy(), index=jobs.index)
    return order + table["job"].map(shift).to_numpy(), stream, len(jobs) - 1


def _on_by_clock(
    order: NDArray[np.float64], time: pd.Series, stream: pd.Series | None
) -> tuple[NDArray[np.float64], pd.Series | None, int]:
    """A counter that falls back to numbers that were there before, while the clock goes on, began anew."""
    import pandas as pd

    clock = time.to_numpy()
    codes = np.zeros(order.size, int) if stream is None else pd.factorize(stream)[0]
    # Within each stream, in the order of the file.
    by_stream = np.argsort(codes, kind="stable")
    here, own, kind = order[by_stream], clock[by_stream], codes[by_stream]
    drop = np.zeros(order.size, dtype=bool)
    drop[1:] = (here[1:] < here[:-1]) & (own[1:] >= own[:-1]) & (kind[1:] == kind[:-1])
    block = np.zeros(order.size, int)
    block[by_stream] = np.cumsum(drop) - np.cumsum(drop)[np.searchsorted(kind, kind)]
    if block.max() == 0:
        return order, stream, 0
    found, shift, restarts = order.copy(), 0.0, 0
    held = np.empty(0)
    for number in range(int(block.max()) + 1):
        rows = block == number
        numbers = np.unique(order[rows & ~np.isnan(order)])
        known = int(np.isin(numbers, held).sum())
        if known > 1 and known >= _AGAIN * min(numbers.size, held.size):
            shift = float(np.nanmax(found[block < number])) - float(numbers[0]) + 1
            restarts += 1
            held = np.empty(0)
        held = np.union1d(held, numbers)
        found[rows] = order[rows] + shift
    return found, stream, restarts


def noticed(frame: pd.DataFrame, parts: int, restarts: int) -> list[tuple[str, int, str]]:
    """What is to be said of strokes and parts: kind, count and sentence of each.

    Parameters
    ----------
    frame : pandas.DataFrame
        Rows that repeat none.
    parts : int
        Per stroke.
    restarts : int
        Of the counter.

    Returns
    -------
    list of (str, int, str)
    """
    found = []
    if restarts:
        sentence = (
            f"The counter begins anew {counted(restarts, 'time')}; strokes were numbered on from the first "
            "job, and at in study.toml means these numbers"
        )
        found.append(("counter begins anew", restarts, sentence))
    if parts == 1:
        return found
    streams = ["station"] if "station" in frame else []
    # A long file has a row for each characteristic of a part.
    made = frame.drop_duplicates(["order", *streams]) if streams else frame
    short, strokes = incomplete(made["order"].to_numpy(), parts)
    if short and streams:
        sizes = made["station"].value_counts(sort=False).sort_index()
        by = ", ".join(f"{name or 'no stream named'}: {n:,}" for name, n in sizes.items())
        sentence = f"Of {strokes:,} strokes {short:,} hold fewer than {parts} parts ({by})"
        found.append(("strokes with parts missing", short, sentence))
    if not streams:
        sentence = (
            f"The tool makes {parts} parts in a stroke and no column says which part came from which "
            "stream; station in study.toml names it"
        )
        found.append(("streams not named", len(made), sentence))
    return found


def subgroup_numbers(data: Data, frame: pd.DataFrame, parts: int = 1) -> Any:
    """Number each row's subgroup, missing for rows in none.

    Subgroups are taken by order number (the first `size` strokes of every `every`), so a
    part that was set aside makes its subgroup smaller instead of shifting all later ones. Where a
    stroke makes several parts, each stream has subgroups of its own.

    Parameters
    ----------
    data : linestudy.study.model.Data
        Its ``subgroup``.
    frame : pandas.DataFrame
        Rows in production order.
    parts : int
        Per stroke.

    Returns
    -------
    pandas.arrays.IntegerArray, shape (rows,)
    """
    import pandas as pd

    # Parts across the columns of a row are a subgroup where study.toml takes no other.
    taking = data.subgroup or ("row" if "␟subgroup" in frame else None)
    if taking is None:
        return pd.array([pd.NA] * len(frame), dtype="Int64")
    if isinstance(taking, str):
        names = frame["␟subgroup"]
        own = names if parts == 1 or "station" not in frame else names + "␟" + frame["station"]
        numbers = pd.array(pd.factorize(own)[0], dtype="Int64")
        numbers[(names == "").to_numpy(dtype=bool)] = pd.NA
        return numbers
    every = taking.every or taking.size
    order = frame["order"].to_numpy()
    # A day without a single reading has no part to count from.
    offset = order - order[0] if order.size else order
    if not np.array_equal(offset, np.floor(offset)):
        offset = np.arange(len(frame), dtype=float)
    number = np.floor(offset / every)
    inside = offset - number * every < taking.size
    if parts > 1 and "station" in frame:
        codes = pd.factorize(frame["station"], sort=True)[0]
        number = number * (int(codes.max(initial=0)) + 1) + codes
    return pd.array(np.where(inside, number, np.nan), dtype="Int64")


def in_subgroups(table: pd.DataFrame) -> pd.DataFrame:
    """Put the rows of each subgroup next to each other, where streams are made side by side.

    Parameters
    ----------
    table : pandas.DataFrame
        A run in order of strokes.

    Returns
    -------
    pandas.DataFrame
        The same rows; in a tool of one part per stroke the same table.
    """
    if table.attrs.get("parts_per_stroke", 1) == 1 or table["subgroup"].isna().all():
        return table
    # Parts between two subgroups stay between them.
    place = table["subgroup"].ffill().fillna(-1).to_numpy(dtype=float)
    found = table.iloc[np.argsort(place, kind="stable")].reset_index(drop=True)
    found.attrs = dict(table.attrs)
    return found


def numbered_on(tables: list[pd.DataFrame]) -> list[pd.DataFrame]:
    """Strokes of several files of one run, numbered on where each file counts from the beginning.

    Files that share streams and order numbers, and whose clocks do not overlap, are days or jobs of a
    counter that begins anew; where nothing says so, numbers stay as they are.

    Parameters
    ----------
    tables : list of pandas.DataFrame
        In the order of study.toml, each with ``order``; ``time`` and ``station`` where known.

    Returns
    -------
    list of pandas.DataFrame
        In the same order.
    """
    held = [table for table in tables if len(table) and "time" in table]
    if len(tables) < 2 or len(held) < len(tables):
        return tables
    spans = [(table["time"].min(), table["time"].max()) for table in tables]
    at = sorted(range(len(tables)), key=lambda i: spans[i][0])
    apart = all(spans[a][1] <= spans[b][0] for a, b in itertools.pairwise(at))
    if not apart:
        return tables
    last = -np.inf
    for i in at:
        table = tables[i]
        low, high = float(table["order"].min()), float(table["order"].max())
        shift = last - low + 1 if low <= last else 0.0
        if shift:
            tables[i] = table.assign(order=table["order"] + shift)
            tables[i].attrs = dict(table.attrs)
        last = high + shift
    return tables
