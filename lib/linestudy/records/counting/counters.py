"""Counters that begin anew, with each job, day or file, or because they are full: strokes are numbered on.

What says so are the columns that study.toml names before the counter (``order = ["Job", "Counter"]``), the clock, where
one goes on while the counter falls back to numbers that were there before, or the counter itself, where it falls back to its
begin and the rows below hold other readings.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

#: Rows of a block whose numbers were there before, for a counter that began anew.
_AGAIN = 0.5
#: Largest share of rows at which a counter falls back, if it counts; fewest numbers of each block; rows that are there twice.
_FALLS, _BLOCK, _TWICE = 0.1, 5, 0.9
#: What counters of so many digits or bits count up to, and how many strokes may be missing where one begins anew.
_FULL = sorted({*(10.0**k for k in range(3, 10)), *(2.0**k for k in (12, 15, 16, 31, 32))})
_GAP = 5
#: What counters of 16 and 32 bits count up to where the highest of them is a sign.
_BITS = (2.0**15, 2.0**31)


def on_by_digits(
    order: NDArray[np.float64], stream: pd.Series | None
) -> tuple[NDArray[np.float64], int]:
    """Continue a counter that falls from its largest number to its first: 9998, 9999, 0, 1."""
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
        # A counter of so many bits that takes the highest for a sign goes on below nought: 32767, -32768.
        signed = first < 0 and full in _BITS and 0 <= first + full <= _GAP * usual
        span, low = (2 * full, -full) if signed else (full, 0.0)
        # A stray number has no neighbours of its size.
        climbs = at >= 2 and 0 <= last - numbers[at - 2] <= 2 * _GAP * usual
        # In a counter that is in no order every distance is usual.
        if climbs and 0 < full - last + first - low <= _GAP * usual <= full / 4:
            shift[there[at + 1] :] += span
            wraps += 1
    return order + shift, wraps


def on_by_job(
    order: NDArray[np.float64], job: pd.Series, time: pd.Series | None
) -> tuple[NDArray[np.float64], int]:
    """Let each job's counter begin where the counter of the job before ended."""
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
    return order + table["job"].map(shift).to_numpy(), len(jobs) - 1


def on_by_clock(
    order: NDArray[np.float64], time: pd.Series, stream: pd.Series | None
) -> tuple[NDArray[np.float64], int]:
    """Continue a counter that falls back to earlier numbers while the clock goes on."""
    return _on_by_blocks(order, time.to_numpy(), stream, None)


def on_by_falls(
    order: NDArray[np.float64], stream: pd.Series | None, text: pd.DataFrame
) -> tuple[NDArray[np.float64], int]:
    """Continue a counter that falls back repeatedly, with other readings beside its numbers.

    Nothing but the counter says so; it climbs otherwise, and rows that occur twice, or are in no order, are left.
    """
    there = order[np.isfinite(order)]
    falls = int((np.diff(there) < 0).sum())
    if falls > _FALLS * there.size:
        return order, 0
    rows = _contents(text)
    return _on_by_blocks(order, np.zeros(order.size), stream, rows)


def _contents(text: pd.DataFrame) -> NDArray[np.uint64]:
    """Hash the content of each row."""
    import pandas as pd

    return np.asarray(pd.util.hash_pandas_object(text, index=False), dtype=np.uint64)


def _on_by_blocks(
    order: NDArray[np.float64],
    clock: NDArray[Any],
    stream: pd.Series | None,
    rows_held: NDArray[np.uint64] | None,
) -> tuple[NDArray[np.float64], int]:
    """Continue the counter over blocks that end where it falls; without a clock, compare `rows_held`."""
    import pandas as pd

    codes = np.zeros(order.size, int) if stream is None else pd.factorize(stream)[0]
    # Within each stream, in the order of the file.
    by_stream = np.argsort(codes, kind="stable")
    here, own, kind = order[by_stream], clock[by_stream], codes[by_stream]
    drop = np.zeros(order.size, dtype=bool)
    drop[1:] = (here[1:] < here[:-1]) & (own[1:] >= own[:-1]) & (kind[1:] == kind[:-1])
    block = np.zeros(order.size, int)
    block[by_stream] = np.cumsum(drop) - np.cumsum(drop)[np.searchsorted(kind, kind)]
    if block.max() == 0:
        return order, 0
    found, shift, restarts = order.copy(), 0.0, 0
    held, first = np.empty(0), float(np.nanmin(order))
    for number in range(int(block.max()) + 1):
        rows = block == number
        numbers = np.unique(order[rows & ~np.isnan(order)])
        known = int(np.isin(numbers, held).sum())
        again = known > 1 and known >= _AGAIN * min(numbers.size, held.size)
        if again and rows_held is not None:
            twice = np.isin(rows_held[rows], rows_held[block < number]).mean()
            again = numbers.size >= _BLOCK and numbers[0] <= first + _GAP and twice < _TWICE
        if again:
            shift = float(np.nanmax(found[block < number])) - float(numbers[0]) + 1
            restarts += 1
            held = np.empty(0)
        held = np.union1d(held, numbers)
        found[rows] = order[rows] + shift
    return found, restarts


def numbered_on(tables: list[pd.DataFrame]) -> list[pd.DataFrame]:
    """Continue the strokes over several files of one run where each file counts from the beginning.

    Files that share streams and order numbers, and whose clocks do not overlap, are days or jobs of a
    counter that begins anew; so are files without a clock, most of whose numbers another one has, in their order in
    study.toml. Where nothing says so, numbers stay as they are.

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
    if len(tables) < 2 or (held and len(held) < len(tables)):
        return tables
    if not held:
        return _in_turn(tables) if begins_anew(tables) else tables
    spans = [(table["time"].min(), table["time"].max()) for table in tables]
    at = sorted(range(len(tables)), key=lambda i: spans[i][0])
    separate = all(spans[a][1] <= spans[b][0] for a, b in itertools.pairwise(at))
    if not separate:
        return tables
    return _in_turn(tables, at)


def begins_anew(tables: list[pd.DataFrame]) -> bool:
    """Check whether files without a clock share most order numbers, stream by stream, with the one before.

    Parameters
    ----------
    tables : list of pandas.DataFrame

    Returns
    -------
    bool
    """
    import pandas as pd

    if len(tables) < 2 or any("order" not in each or not len(each) for each in tables):
        return False
    keys = [
        pd.MultiIndex.from_frame(
            each[[name for name in ("order", "station") if name in each]]
        ).unique()
        for each in tables
    ]
    if len({each.nlevels for each in keys}) > 1:
        return False
    return all(
        one.isin(two).sum() >= max(_AGAIN * min(len(one), len(two)), 2)
        for one, two in itertools.pairwise(keys)
    )


def _in_turn(tables: list[pd.DataFrame], at: Sequence[int] | None = None) -> list[pd.DataFrame]:
    """Number each table on from the one before, in this order of theirs."""
    last = -np.inf
    for i in range(len(tables)) if at is None else at:
        table = tables[i]
        low, high = float(table["order"].min()), float(table["order"].max())
        shift = last - low + 1 if low <= last else 0.0
        if shift:
            tables[i] = table.assign(order=table["order"] + shift)
            tables[i].attrs = dict(table.attrs)
        last = high + shift
    return tables


def number_subgroups_on(tables: list[pd.DataFrame]) -> list[pd.DataFrame]:
    """Number the subgroups of each file on: those of one file are never those of another.

    Parameters
    ----------
    tables : list of pandas.DataFrame

    Returns
    -------
    list of pandas.DataFrame
    """
    shift = 0
    for table in tables:
        table["subgroup"] = table["subgroup"] + shift
        taken = table["subgroup"].dropna()
        shift = int(taken.max()) + 1 if len(taken) else shift
    return tables


def note_on_file_order(tables: list[pd.DataFrame], files: Sequence[str]) -> str:
    """Say that the files of a run follow each other as study.toml names them, where nothing else says so.

    Parameters
    ----------
    tables : list of pandas.DataFrame
        One for each file of the run.
    files : sequence of str
        Their names.

    Returns
    -------
    str
        Empty where a clock or a counter says so.
    """
    if any("time" in table for table in tables) or not begins_anew(tables):
        return ""
    named = list(dict.fromkeys(files))
    return (
        "No clock and no counter of all says which of the files came first: they follow each other as study.toml names them, "
        f"{', '.join(named[:6])}{' …' if len(named) > 6 else ''}; where they are of stations that ran side by side, add a "
        "column of the station to each"
    )
