"""Times of study.toml that came twice, because a clock was set back: said before anything is computed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from linestudy.records.counting.counters import numbered_on

if TYPE_CHECKING:
    import pandas as pd

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
