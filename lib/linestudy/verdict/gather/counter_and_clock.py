"""What counter and clock say of a run: numbers that no row has, pauses, and whether the two agree."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.results import counted

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from linestudy.records.read_files import Source

#: A pause is reported from so many usual steps of the clock, and at least a minute.
_LONG = 50.0
#: Share of its counter's numbers from which a run is a log of all parts and no sample of them.
_LOG = 0.5


def counter_of(sources: list[Source]) -> dict[str, Any]:
    """Return order numbers of all rows used, with or without a reading of this characteristic; none of counted rows."""
    numbers = [
        source.frame["order"].to_numpy(float)
        for source in sources
        if source.data.order is not None and "order" in source.frame
    ]
    order = np.sort(np.concatenate(numbers)) if numbers else np.empty(0)
    if order.size < 3 or not np.isfinite(order).all():
        return {}
    found: dict[str, Any] = {"first": float(order[0]), "last": float(order[-1])}
    steps = np.diff(order)
    kinds, counts = np.unique(steps, return_counts=True)
    often = kinds[counts >= max(2, 0.01 * steps.size)]
    if not often.size:
        return found
    usual = _whole_log(steps, kinds, counts) or float(often.max())
    far = np.flatnonzero(steps > usual)
    if far.size:
        longest = int(far[np.argmax(steps[far])])
        found |= {
            "numbers_missing": int((steps[far] - max(usual, 1.0)).sum()),
            "gaps": int(far.size),
            "longest_gap": (float(order[longest]), float(order[longest + 1])),
        }
    return found


def _whole_log(
    steps: NDArray[np.float64], kinds: NDArray[np.float64], counts: NDArray[np.int64]
) -> float | None:
    """Find the step of a log that holds most of its counter's numbers; None for the numbers of a sample.

    The gaps of a sample come at regular distances, as after every fifth part, or leave out most of the numbers. Gaps here and there
    in a log of nearly all of them are numbers that are missing, however many they are.
    """
    forward = kinds > 0
    if not forward.any():
        return None
    step = float(kinds[forward][np.argmax(counts[forward])])
    moved = steps[steps > 0]
    if (moved == step).mean() <= _LOG or (moved.size + 1) * step <= _LOG * (moved.sum() + step):
        return None
    distances = np.diff(np.flatnonzero(moved > step))
    if distances.size and np.unique(distances, return_counts=True)[1].max() > 0.5 * distances.size:
        return None
    return step


def clock_back(table: pd.DataFrame | None) -> float | None:
    """Compute the share of steps of the counter, within streams, at which the clock goes back by a hundredth of the run."""
    if table is None or "time" not in table:
        return None
    by = [table["station"].astype(str)] if "station" in table else [np.zeros(len(table))]
    clock = table["time"]
    steps = clock.groupby(by, sort=False).diff().dt.total_seconds().dropna().to_numpy()
    span = (clock.max() - clock.min()).total_seconds() if steps.size else 0.0
    return float((steps < -0.01 * span).mean()) if span > 0 else None


def longest_pause(table: pd.DataFrame | None) -> tuple[float, ...]:
    if table is None or "time" not in table or table["time"].isna().all():
        return ()
    seconds = table["time"].diff().dt.total_seconds().to_numpy()[1:]
    known = seconds[np.isfinite(seconds)]
    if known.size < 10:
        return ()
    longest = int(np.nanargmax(seconds))
    # A sample taken every so often has pauses of its own; only what stands out is reported.
    others = np.sort(known)[:-1]
    usual = max(float(np.median(known)), float(np.quantile(others, 0.99)) / 10)
    if seconds[longest] <= max(_LONG * usual, 60.0):
        return ()
    after = float(table["order"].iloc[longest + 1]) if "order" in table else float(longest + 2)
    return float(seconds[longest]), after


def not_named(table: pd.DataFrame | None, sources: list[Source]) -> tuple[str, ...]:
    """List tags that the readings lack; rows that the kit counted have no counter."""
    if table is None:
        return ()
    names = {"order": "counter", "time": "clock", "coil": "coil", "station": "station"}
    numbered = any(source.data.order is not None for source in sources)
    return tuple(
        word
        for name, word in names.items()
        if name not in table or table[name].isna().all() or (name == "order" and not numbered)
    )


def put_in_order(sources: list[Source]) -> list[str]:
    """Find rows without a counter that are not in the order of their clock."""
    return [
        f"in {s.data.file} the clock goes back {counted(seen.count, 'time')}; no counter is named, and the rows were put in its order"
        for s in sources
        for seen in s.seen
        if seen.what == "order goes back" and s.data.order is None and "time" in s.frame
    ]


def farthest_from(order: Any, read: Any) -> float:
    """Find the order number that lies farthest from all of those at which something was read.

    Parameters
    ----------
    order, read : array_like of float, shape (n,), (m,)

    Returns
    -------
    float
        Its distance from the nearest of them.

    Examples
    --------
    >>> farthest_from([1, 50, 300], [0, 40])
    260.0
    """
    import numpy as np

    numbers, known = np.asarray(order, dtype=float), np.sort(np.asarray(read, dtype=float))
    numbers = numbers[np.isfinite(numbers)]
    at = np.searchsorted(known, numbers)
    before, after = known[np.maximum(at - 1, 0)], known[np.minimum(at, known.size - 1)]
    near = np.minimum(np.abs(numbers - before), np.abs(numbers - after))
    return float(near.max(initial=0.0))
