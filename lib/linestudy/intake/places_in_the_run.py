"""Places in the run that study.toml names: times that came twice, and order numbers that no reading has."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from linestudy.records.counting.counters import numbered_on
from linestudy.study.events import Cause, SetAside

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from linestudy.records.read_files import Records
    from linestudy.study.load import Study


def ambiguous_times(records: Records) -> tuple[str, ...]:
    """Say which times of events and of periods set aside the clock of the run shows twice.

    Parameters
    ----------
    records : Records
        From :func:`linestudy.read`.

    Returns
    -------
    tuple of str
        One sentence for each time, with the order numbers at which it came.

    Notes
    -----
    Where the clock goes back while order numbers rise, as at the end of summer time, every time in between came
    twice. An event is placed at the first, and a period between two times takes rows of both. An order number
    (``at``, ``first``, ``last``) comes once.
    """
    named = list(_named(records.study))
    runs = [s for s in records.sources if s.data.role == "run" and "time" in s.frame]
    if not named or not runs:
        return ()
    import pandas as pd

    frames = numbered_on([source.frame[["order", "time"]].copy() for source in runs])
    clock = pd.concat(frames, ignore_index=True).dropna().drop_duplicates("order")
    clock = clock.sort_values("order", kind="stable", ignore_index=True)
    return tuple(
        sentence for what, text, advice in named for sentence in _twice(clock, what, text, advice)
    )


def _named(study: Study) -> Iterator[tuple[str, str, str]]:
    """Return what names a time, the time, and what would name it once."""
    given = study.file.event
    for event in given:
        if event.time is not None:
            yield f'[[event]] "{event.name}"', event.time, "at"
    for period in study.set_aside:
        for key, text, other in (("begin", period.begin, "first"), ("end", period.end, "last")):
            if text is not None:
                yield f'[[set_aside]] "{period.reason}", {key}', text, other


def _twice(clock: pd.DataFrame, what: str, text: str, advice: str) -> Iterator[str]:
    import pandas as pd

    try:
        moment = np.datetime64(pd.Timestamp(text))
    except (ValueError, TypeError):
        return
    times, order = clock["time"].to_numpy(), clock["order"].to_numpy()
    for at in np.flatnonzero(times[1:] < times[:-1]):
        if not times[at + 1] <= moment <= times[at]:
            continue
        before = np.flatnonzero(times[: at + 1] >= moment)
        after = np.flatnonzero(times[at + 1 :] >= moment)
        first = f"{order[before[0]]:,.0f}"
        second = f"{order[at + 1 + after[0]]:,.0f}" if after.size else f"{order[-1]:,.0f}"
        yield (
            f"{what}: {text} came twice, at number {first} and at {second}, for the clock goes back from "
            f"{pd.Timestamp(times[at]):%H:%M:%S} to {pd.Timestamp(times[at + 1]):%H:%M:%S}. "
            f"Write {advice} with the order number instead."
        )
        return


def places_without_readings(records: Records) -> tuple[str, ...]:
    """Say which causes and periods set aside name order numbers that no reading of the run has.

    Parameters
    ----------
    records : Records
        From :func:`linestudy.read`.

    Returns
    -------
    tuple of str
        One sentence for each, with the order numbers that the run has.

    Notes
    -----
    Such a cause explains no point, and such a period takes no reading out. Of events only those after the last
    reading are listed: what was done before the first one may well be named.
    """
    file = records.study.file
    entries: tuple[Cause | SetAside, ...] = (*file.cause, *file.set_aside)
    named = [without_readings(records, entry) for entry in entries]
    order = _orders(records, None)
    late = [
        f'[[event]] "{event.name}": order number {event.at:,.0f} comes after the last reading of the run '
        f"({order.max():,.0f}), so no reading was taken after it."
        for event in file.event
        if event.at is not None and order.size and event.at > order.max()
    ]
    return (*filter(None, named), *late)


def without_readings(records: Records, entry: Cause | SetAside) -> str:
    """Say that a cause or a period set aside names order numbers that no reading of the run has; else say nothing.

    Parameters
    ----------
    records : Records
        From :func:`linestudy.read`.
    entry : linestudy.study.events.Cause or linestudy.study.events.SetAside
        Of study.toml.

    Returns
    -------
    str
        A sentence, or empty.
    """
    order = _orders(records, entry.characteristic)
    if isinstance(entry, Cause):
        (first, last), what = entry.stretch, f'[[cause]] "{entry.cause}"'
        effect = "it explains no point"
    elif entry.first is None or entry.last is None:
        return ""
    else:
        first, last, what = entry.first, entry.last, f'[[set_aside]] "{entry.reason}"'
        effect = "it takes none out"
    if ((order >= first) & (order <= last)).any():
        return ""
    return f"{what}: {_none_at(order, first, last)}, so {effect}."


def _orders(records: Records, characteristic: str | None) -> NDArray[np.float64]:
    """Gather the order numbers of a characteristic's readings, of all characteristics where none is named."""
    study = records.study
    named = [one.id for one in study.characteristics if characteristic in (None, one.id)]
    tables = [records.table("run", name) for name in named]
    kept = [table["order"].to_numpy(float) for table in tables if table is not None]
    return np.concatenate(kept) if kept else np.empty(0)


def _none_at(order: NDArray[np.float64], first: float, last: float) -> str:
    where = f"{first:,.0f}" if first == last else f"from {first:,.0f} to {last:,.0f}"
    if not order.size:
        return f"order number {where} is named, and there is no run"
    inside = (
        "" if order.min() <= first <= order.max() else
        f" (the run goes from {order.min():,.0f} to {order.max():,.0f})"
    )  # fmt: skip
    return f"no reading of the run has order number {where}{inside}"
