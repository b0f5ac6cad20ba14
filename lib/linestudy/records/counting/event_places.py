"""Events that name a time, at the order number that the run had then."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from linestudy.records.counting.counters import numbered_on
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.load import Study

#: The offset of a time, as +01:00 or Z.
_OFFSET = re.compile(r"\d\d:\d\d(?::\d\d(?:\.\d+)?)?\s*(?:[+-]\d\d:?\d\d|Z)\s*$")


def with_places_of_events(study: Study, runs: list[pd.DataFrame], away: bool) -> Study:
    """Give events that name a time the order number that the run had then.

    Parameters
    ----------
    study : Study
    runs : list of pandas.DataFrame
        The rows of each file of the run, with ``order`` and ``time``.
    away : bool
        Whether a file gives its times with an offset from UTC: they count in UTC then, and so must the events.

    Returns
    -------
    Study

    Raises
    ------
    InputError
        The time of an event is none, or has no offset where those of the run have one.
    """
    import pandas as pd

    if all(event.at is not None for event in study.events) or not runs:
        return study
    frames = numbered_on([frame[["order", "time"]].copy() for frame in runs])
    clock = pd.concat(frames, ignore_index=True).dropna().sort_values("order", kind="stable")
    events = []
    for event in study.events:
        if event.at is None and len(clock):
            moment = _moment(event.name, str(event.time), away)
            after = clock["order"][clock["time"] >= moment]
            at = float(after.iloc[0]) if len(after) else float(clock["order"].iloc[-1]) + 1
            event = event.model_copy(update={"at": at})
        events.append(event)
    return replace(study, file=study.file.model_copy(update={"event": tuple(events)}))


def _moment(name: str, time: str, away: bool) -> pd.Timestamp:
    """Read the time of an event, in UTC where it has an offset."""
    import pandas as pd

    where = "study.toml"
    try:
        moment = pd.Timestamp(time)
    except (ValueError, TypeError):
        raise InputError(
            where, f'[[event]] "{name}": time is none', "write 2026-03-02T06:00:00"
        ) from None
    if moment.tzinfo is not None:
        return moment.tz_convert("UTC").tz_localize(None)
    if away and not _OFFSET.search(time):
        raise InputError(
            where,
            f'[[event]] "{name}": the run gives its times with an offset from UTC, and this one has none',
            f"write its offset too, as in {moment.isoformat()}+01:00",
        )
    return moment
