"""Strokes and parts: which stroke made a row, in which stream, and how many parts one stroke makes.

A stroke of a tool with several outlets makes several parts, so an order number occurs once for each
stream (station, lane, cavity, head) and not once in the file. How many parts a stroke makes is said in
study.toml (``[tool] parts_per_stroke``); where it is not, rows of one number that name different
streams are parts of one stroke once they are more than a hundredth of the strokes: below that they are
mistakes of a counter. Order numbers count strokes throughout.

A counter that starts anew with each job or day is numbered on (`linestudy.records.counting.counters`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linestudy.records.conversions import as_number, to_numbers
from linestudy.records.counting.counters import on_by_clock, on_by_digits, on_by_falls, on_by_job
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
    clocked : bool
        False where nothing but the counter itself says so.
    """

    order: NDArray[np.float64] = field(repr=False)
    stream: pd.Series | None = field(repr=False)
    restarts: int = 0
    clocked: bool = True


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
        found, restarts = on_by_job(order, job, time)
        return Strokes(found, stream, restarts)
    order, wraps = on_by_digits(order, stream)
    if bool((np.diff(order) >= 0).all()):
        return Strokes(order, stream, wraps)
    if time is None:
        found, restarts = on_by_falls(order, stream, text)
        return Strokes(found, stream, restarts + wraps, clocked=not restarts)
    found, restarts = on_by_clock(order, time, stream)
    return Strokes(found, stream, restarts + wraps)


def joined(text: pd.DataFrame, names: str | tuple[str, ...] | None, data: Data) -> pd.Series | None:
    """Join one tag from one or several columns, such as "1 / L"; None where none is named."""
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
        1 where order numbers occur once.
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
    """Return the places of the rows ordered by stroke, and by stream within a stroke."""
    import pandas as pd

    codes = 0 * order if stream is None else pd.factorize(np.asarray(stream), sort=True)[0]
    return np.lexsort((codes, order))


def stream_codes(frame: pd.DataFrame) -> NDArray[np.int64]:
    """Number the stream of each row; all 0 where none is named."""
    import pandas as pd

    if "station" not in frame:
        return np.zeros(len(frame), dtype=np.int64)
    return np.asarray(pd.factorize(frame["station"])[0], dtype=np.int64)


def by_stream(frame: pd.DataFrame) -> NDArray[np.int64]:
    """Return the places of the rows, stream by stream, each in the file's order."""
    return np.argsort(stream_codes(frame), kind="stable")


def incomplete(order: NDArray[np.float64], parts: int) -> tuple[int, int]:
    """Count the strokes with fewer parts than the tool makes, and all strokes.

    A record may begin and end in the middle of a stroke: no part is missing from its first and its last.
    """
    counts = np.unique(order[~np.isnan(order)], return_counts=True)[1]
    return int((counts[1:-1] < parts).sum()), int(counts.size)


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


def _by_the_clock(rows: NDArray[np.float64], time: pd.Series | None) -> NDArray[np.float64]:
    """Order unnumbered rows by their clock where the file runs newest first or in no order."""
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
    """Count strokes that nothing numbers: one begins when a stream occurs again."""
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


def noticed(
    frame: pd.DataFrame, parts: int, restarts: int, clocked: bool = True
) -> list[tuple[str, int, str]]:
    """Describe what is odd about strokes and parts: kind, count and sentence of each.

    Parameters
    ----------
    frame : pandas.DataFrame
        Rows that repeat none.
    parts : int
        Per stroke.
    restarts : int
        Of the counter.
    clocked : bool
        Whether anything but the counter says so.

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
        if not clocked:
            sentence += (
                ". No clock says so: where the rows from there on are those of another station, name its column with "
                "station, and where rows are in there twice, take them out"
            )
        found.append(("counter begins anew", restarts, sentence))
    if parts == 1:
        return found
    streams = ["station"] if "station" in frame else []
    # A long file has a row for each characteristic of a part.
    made = frame.drop_duplicates(["order", *streams]) if streams else frame
    short, every = incomplete(made["order"].to_numpy(), parts)
    if short and streams:
        sizes = made["station"].value_counts(sort=False).sort_index()
        by = ", ".join(f"{name or 'no stream named'}: {n:,}" for name, n in sizes.items())
        verb = "holds" if short == 1 else "hold"
        sentence = f"Of {every:,} strokes {short:,} {verb} fewer than {parts} parts ({by})"
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
