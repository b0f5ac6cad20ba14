"""What study.toml says of a run: its events and resets by stream, the periods set aside, how subgroups are taken."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.events import Event
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic, Subgroup


def events_of(
    study: Study, item: Characteristic, stream: str | None = None
) -> tuple[tuple[float, str], ...]:
    """List events of the whole line or of this characteristic, as (order number, name).

    Of one `stream` those that name it or none; of the whole run those of any stream, with its name.
    """
    return tuple(
        sorted(
            (float(event.at), event.name if stream else _said(event))
            for event in study.events
            if event.at is not None and event.concerns(item.id, stream)
        )
    )


def _said(event: Event) -> str:
    """Return the event's name, with the streams that it concerns where it names some."""
    if not event.stream:
        return event.name
    streams = (event.stream,) if isinstance(event.stream, str) else event.stream
    return f"{event.name} ({', '.join(streams)})"


def resets_of(study: Study, item: Characteristic, stream: str | None = None) -> tuple[float, ...]:
    """List order numbers at which wear or drift of this characteristic begins anew, in one `stream` or in any."""
    return tuple(
        float(event.at)
        for event in study.events
        if event.at is not None and event.restarts(item.id, stream)
    )


def names_of_resets(study: Study, item: Characteristic) -> str:
    """List what study.toml calls the events at which wear or drift of this characteristic begins anew, each once."""
    return ", ".join(dict.fromkeys(e.name for e in study.events if e.restarts(item.id)))


def names_streams(study: Study, item: Characteristic) -> bool:
    """Check whether a reset of this characteristic is named for some streams and not for all."""
    return any(event.stream for event in study.events if event.restarts(item.id))


def resets_by_stream(
    study: Study, item: Characteristic, table: pd.DataFrame
) -> dict[str, tuple[float, ...]]:
    """List the resets of every stream of a run where some are named for streams alone; empty where all hold for all.

    Parameters
    ----------
    study : Study
        With the strokes of its events.
    item : Characteristic
    table : pandas.DataFrame
        One part per row, with its ``station`` where there are several.

    Returns
    -------
    dict of str to tuple of float
    """
    if "station" not in table or not names_streams(study, item):
        return {}
    names = table["station"].dropna().astype(str).unique()
    return {str(name): resets_of(study, item, str(name)) for name in sorted(names)}


def set_aside_notes(study: Study, item: Characteristic, count: int) -> tuple[str, ...]:
    """List the periods that study.toml excludes on purpose, with their reasons."""
    if count == 0:
        return ()
    notes = [f"{count:,} parts lie in periods set aside; the chart is given with and without them."]
    for period in study.set_aside:
        if period.characteristic in (None, item.id):
            first = period.begin if period.first is None else f"{period.first:,.0f}"
            last = period.end if period.last is None else f"{period.last:,.0f}"
            notes.append(
                f"Set aside from {first or 'the beginning'} to {last or 'the end'}: {period.reason}"
            )
    return tuple(notes)


def subgroups_of_stream(table: pd.DataFrame, taking: Subgroup) -> Any:
    """Form subgroups of as many parts of one stream: the first of them in every stretch of the study's plan."""
    import pandas as pd

    order = table["order"].to_numpy(dtype=float)
    window = np.floor((order - order[0]) / (taking.every or taking.size))
    place = pd.Series(window).groupby(window).cumcount().to_numpy()
    return pd.array(np.where(place < taking.size, window, np.nan), dtype="Int64")


def resets_at_coil_changes(table: pd.DataFrame, resets: tuple[float, ...]) -> int:
    """Count named resets between the last part of one coil and the first of the next.

    Parameters
    ----------
    table : pandas.DataFrame
        ``order`` and, if known, ``coil`` of each part, in production order.
    resets : tuple of float
        Order numbers at which wear starts anew.

    Returns
    -------
    int
    """
    if "coil" not in table or not resets:
        return 0
    order, coil = table["order"].to_numpy(dtype=float), table["coil"].astype(str).to_numpy()
    change = np.flatnonzero(coil[1:] != coil[:-1])
    return sum(bool(((order[change] < at) & (at <= order[change + 1])).any()) for at in resets)
