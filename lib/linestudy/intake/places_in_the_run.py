"""Places in the run that study.toml names: times that came twice, and order numbers that no reading has."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from linestudy.records.counting.counters import numbered_on

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
    found = []
    for cause in file.cause:
        order = _orders(records, cause.characteristic)
        if not _holds(order, *cause.stretch):
            what = f'[[cause]] "{cause.cause}"'
            found.append(f"{what}: {_none_at(order, *cause.stretch)}, so it explains no point.")
    for period in file.set_aside:
        if period.first is None or period.last is None:
            continue
        order = _orders(records, period.characteristic)
        if not _holds(order, period.first, period.last):
            what = f'[[set_aside]] "{period.reason}"'
            said = _none_at(order, period.first, period.last)
            found.append(f"{what}: {said}, so it takes none out.")
    for event in file.event:
        order = _orders(records, None)
        if event.at is not None and order.size and event.at > order.max():
            found.append(
                f'[[event]] "{event.name}": order number {event.at:,.0f} comes after the last reading of the run '
                f"({order.max():,.0f}), so no reading was taken after it."
            )
    return tuple(found)


def _orders(records: Records, characteristic: str | None) -> NDArray[np.float64]:
    """Gather the order numbers of a characteristic's readings, of all characteristics where none is named."""
    study = records.study
    named = [one.id for one in study.characteristics if characteristic in (None, one.id)]
    tables = [records.table("run", name) for name in named]
    kept = [table["order"].to_numpy(float) for table in tables if table is not None]
    return np.concatenate(kept) if kept else np.empty(0)


def _holds(order: NDArray[np.float64], first: float, last: float) -> bool:
    return bool(((order >= first) & (order <= last)).any())


def _none_at(order: NDArray[np.float64], first: float, last: float) -> str:
    where = f"{first:,.0f}" if first == last else f"from {first:,.0f} to {last:,.0f}"
    if not order.size:
        return f"order number {where} is named, and there is no run"
    inside = (
        "" if order.min() <= first <= order.max() else
        f" (the run goes from {order.min():,.0f} to {order.max():,.0f})"
    )  # fmt: skip
    return f"no reading of the run has order number {where}{inside}"
