"""What a file's columns become, role by role."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linestudy.records import exclusions
from linestudy.records.across.beside import labels_beside
from linestudy.records.across.dimensions import laid_out
from linestudy.records.across.judgements import judged, no_verdict, odd_judgements, verdicts_of
from linestudy.records.across.one_value import OWNER, widened
from linestudy.records.across.readings import (
    FOREIGN,
    Reading,
    cells_set_aside,
    counted_readings,
    put_together,
)
from linestudy.records.across.rows_noticed import rejected_unread, sorted_by_reading
from linestudy.records.across.slots import Column, value_columns
from linestudy.records.conversions import to_judgements, to_numbers
from linestudy.records.files import column, line_of
from linestudy.records.formats.clock import clock_of, in_their_order
from linestudy.records.headers import columns_of_values
from linestudy.records.ledger import ValueCount
from linestudy.records.rows.again import coils_again, distinguishing_columns, streams_alike
from linestudy.records.screening import Look, Seen, look_at
from linestudy.records.stream_names import streams_noticed
from linestudy.records.strokes import (
    LARGEST_ORDER,
    Strokes,
    in_strokes,
    joined,
    noticed,
    parts_per_stroke,
    strokes_of,
    subgroup_numbers,
)
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.load import Study
    from linestudy.study.model import Data

Built = tuple["pd.DataFrame", dict[str, int], dict[str, ValueCount], list[Seen]]

#: Tags that stay text, by role.
_TEXT_TAGS: dict[str, tuple[str, ...]] = {
    "run": ("coil", "station", "stop", "image", "reason"),
    "machine": ("station",),
    "crossed": ("station", "part", "appraiser", "trial", "factor"),
    "nested": ("station", "appraiser"),
    "reference": ("station", "part"),
    "drift": ("station",),
    "paired": ("station", "part"),
    "attribute": ("station", "part", "appraiser", "trial"),
    "bins": ("period",),
}

#: Tags without which a row says nothing, by role.
_IDENTITY: dict[str, tuple[str, ...]] = {
    "crossed": ("part", "appraiser"),
    "paired": ("part",),
    "attribute": ("part", "appraiser"),
}


def build(study: Study, data: Data, text: pd.DataFrame) -> Built:
    """Turn a table of text into the canonical table of its role.

    Parameters
    ----------
    study : Study
        Its characteristics and gauges.
    data : linestudy.study.model.Data
        What the columns mean.
    text : pandas.DataFrame of str
        The file as it came.

    Returns
    -------
    frame : pandas.DataFrame
        The rows used.
    reasons : dict of str to int
        Rows set aside, by reason.
    values : dict of str to ValueCount
        Characteristic id → its readings.
    seen : list of Seen
        What was noticed and left as it is.
    """
    if len(text) == 0:
        raise InputError(data.file, "has a header but no rows", "put the data into it")
    if data.role == "attribute":
        frame = _tags(data.model_copy(update={"reference": None}), text)
        rows = exclusions.Reasons(len(text))
        _unnamed(data, frame, rows)
        return (*judged(data, text, frame, rows), [])
    if data.role == "bins":
        return _bins(data, text)
    if data.role == "layout":
        return laid_out(data, text)
    if data.long is not None:
        text, data = widened(study, data, text)
    return _measured(study, data, text)


def _unnamed(data: Data, frame: pd.DataFrame, rows: exclusions.Reasons) -> None:
    """Exclude rows that do not say whose reading they are."""
    for tag in (*_IDENTITY.get(data.role, ()), *(data.levels or ())):
        if tag in frame:
            blank = (frame[tag] == "").to_numpy(dtype=bool)
            rows.give(blank, f"no {tag} named")
    for tag in ("reference", "reference_uncertainty"):
        if tag in frame and frame[tag].dtype.kind == "f":
            known = frame[tag].to_numpy()
            rows.give(np.isnan(known), f"no {tag.replace('_', ' ')} given")
            rows.give(exclusions.beyond_any(known), exclusions.BEYOND)
    if data.role in ("machine", "drift"):
        rows.give(frame["order"].isna().to_numpy(), exclusions.NO_ORDER)
    if "␟no verdict" in frame:
        rows.give(frame["␟no verdict"].to_numpy(), "no verdict")
    if "␟odd verdict" in frame:
        rows.give(frame["␟odd verdict"].to_numpy(), exclusions.ODD_JUDGEMENT)


def _measured(study: Study, data: Data, text: pd.DataFrame) -> Built:
    wanted = value_columns(study, data)
    stated = study.parts_per_stroke
    of_size = None if data.size_of is None else study.characteristic(data.size_of).unit
    frame = _tags(data, text, wanted[0].characteristic.unit, stated, of_size)
    _refuse_names_of_tags(data, wanted, frame)
    (restarts, clocked), clock, parts = frame.attrs.pop("restarts"), frame.attrs.pop("clock"), 1
    rows = exclusions.Reasons(len(text))
    if data.role == "run":
        if "station" not in (data.across or ()):
            parts = parts_per_stroke(frame["order"].to_numpy(), frame.get("station"), stated)
        rows = _run_row_reasons(data, text, frame, parts)
    owner = text[OWNER].to_numpy() if OWNER in text else None
    if owner is not None:
        rows.give(owner == "", "characteristic not in study.toml")
    _unnamed(data, frame, rows)
    readings: list[Reading] = []
    looks: list[Look] = []
    for one in wanted:
        reading = _read_values(text, data, one)
        gauge = study.gauge(one.gauge) if one.gauge else None
        why = reading.why
        if owner is not None:
            why.give(owner != one.key, FOREIGN)
        why.give(reading.odd, exclusions.ODD)
        exclusions.judge_values(why, reading.values, reading.no_reading, one.characteristic, gauge)
        readings.append(reading)
        wild = why.are(exclusions.BEYOND)
        looks.append(
            Look(
                one.key,
                one.characteristic,
                gauge,
                np.where(wild, np.nan, reading.values) if wild.any() else reading.values,
            )
        )
    usable = np.logical_or.reduce([reading.why.unset for reading in readings])
    if not usable.all():
        for reason in (exclusions.BEYOND, exclusions.ODD):
            alone = np.logical_or.reduce([reading.why.are(reason) for reading in readings])
            rows.give(~usable & alone, reason)
        rows.give(~usable, exclusions.NOTHING_USABLE)
    used = rows.unset
    seen = [Seen(what, "", n, line, notices) for what, n, line, notices in clock]
    seen += look_at(data, frame, looks, rows, parts)
    seen += [Seen(*one) for one in rejected_unread(data, frame, readings, rows)]
    counts = counted_readings(readings, used)
    cells = cells_set_aside(text, readings, used)
    tags = frame.drop(columns=["␟no verdict", "␟odd verdict"], errors="ignore")
    frame, renumbered = put_together(data, tags.assign(**labels_beside(data, text)), readings, used)
    if renumbered:
        sentence = f'"{data.order}" numbers rows of several parts; the parts are numbered through'
        seen.append(Seen("parts numbered through", "", int(used.sum()), 0, sentence))
    columns = [one.key for one in wanted]
    if data.role == "run":
        parts = parts_per_stroke(frame["order"].to_numpy(), frame.get("station"), stated)
        notices = noticed(frame, parts, restarts, clocked)
        notices += streams_noticed(frame, parts, study.events)
        notices += sorted_by_reading(frame, columns) + streams_alike(frame, columns)
        notices += distinguishing_columns(data, text, tags, rows.are(exclusions.REUSED))
        frame = _in_order(study, data, frame, parts)
        coil, more = coils_again(frame)
        if coil is not None:
            frame["coil"] = coil
        seen += [Seen(what, "", n, 0, sentence) for what, n, sentence in (*notices, *more)]
        seen += _count_periods(frame, counts)
    elif data.role == "machine":
        frame = frame.sort_values("order", kind="stable")
    frame = frame.reset_index(drop=True)
    frame.attrs = {
        "characteristics": list(dict.fromkeys(columns)),
        "tags": [name for name in frame if name not in columns and "␟" not in str(name)],
        "levels": tuple(level for level in data.levels or () if level in frame),
        "cells": cells,
        "parts_per_stroke": parts,
    }
    return frame, rows.counted(), counts, seen


def _refuse_names_of_tags(data: Data, wanted: list[Column], frame: pd.DataFrame) -> None:
    """Refuse a characteristic called like a tag, such as coil: a table has no two columns of one name."""
    tags = {*map(str, frame), *(data.across or ())}
    tags |= {"subgroup", "set_aside"} if data.role == "run" else set()
    for one in wanted:
        identity = one.key.split("␟")[0]
        if identity in tags:
            raise InputError(
                "study.toml",
                f'calls a characteristic "{identity}", as a tag of {data.file} is called',
                f'give it another id, for example "{identity}_value"',
            )


def _count_periods(frame: pd.DataFrame, counts: dict[str, ValueCount]) -> list[Seen]:
    """Count the readings in periods set aside; results are given without them, and with them beside it."""
    inside = np.zeros(len(frame), dtype=bool)
    for key, count in list(counts.items()):
        own = f"{key}␟set_aside"
        period = frame[own if own in frame else "set_aside"].to_numpy(dtype=bool)
        number = int((period & frame[key].notna().to_numpy()).sum())
        inside |= period
        if number:
            set_aside = {**count.set_aside, exclusions.SET_ASIDE_ON_PURPOSE: number}
            counts[key] = ValueCount(count.read, count.used - number, set_aside)
    rows = int(inside.sum())
    if not rows:
        return []
    sentence = (
        f"{rows:,} rows lie in periods excluded on purpose; what is decided on leaves their "
        "readings out, and the same with them stands beside it"
    )
    return [Seen("period set aside", "", rows, 0, sentence)]


def _read_values(text: pd.DataFrame, data: Data, wanted: Column) -> Reading:
    """Read values and where there was no reading, and for a position its deviations in x and y."""
    why = exclusions.Reasons(len(text))
    place, item = wanted.place, wanted.characteristic
    if isinstance(place.column, str):
        cells = column(text, place.column, data)
        return Reading(wanted, *to_numbers(cells, data, item.unit), {}, why)
    assert item.position is not None
    along_axis: dict[str, NDArray[np.float64]] = {}
    missing, odd = np.zeros(len(text), dtype=bool), np.zeros(len(text), dtype=bool)
    for axis, file_column, origin in zip("xy", place.column, item.position.at, strict=True):
        found = to_numbers(column(text, file_column, data), data, item.unit)
        along_axis[axis] = found.values - origin
        missing |= found.no_reading
        odd |= found.odd
    # A position is given as the diameter on which the axis lies (ISO 1101, ASME Y14.5).
    with np.errstate(over="ignore"):
        values = 2 * np.hypot(along_axis["x"], along_axis["y"])
    return Reading(wanted, values, missing, odd, along_axis, why)


def _tags(
    data: Data,
    text: pd.DataFrame,
    unit: str | None = None,
    stated: int | None = None,
    unit_of_size: str | None = None,
) -> pd.DataFrame:
    """Read canonical tags: order, time, text tags, levels, reference (in `unit`), size, verdict."""
    import pandas as pd

    frame, clock = pd.DataFrame(index=text.index), clock_of(text, data)
    time = clock.times if clock else None
    strokes = Strokes(np.empty(0), None)
    if data.order is not None or data.role in ("run", "machine", "drift"):
        strokes = strokes_of(data, text, time, stated)
        frame["order"] = strokes.order
    if data.role == "run" and isinstance(data.subgroup, str):
        frame["␟subgroup"] = column(text, data.subgroup, data).str.strip()
    if time is not None:
        frame["time"] = time
    for tag in _TEXT_TAGS[data.role]:
        named = joined(text, getattr(data, tag), data)
        if named is not None:
            frame[tag] = named
    if data.role == "crossed" and data.occasion is not None:
        frame["occasion"] = data.occasion
    for level in data.levels or ():
        if level in (data.across or ()):
            continue
        frame[level] = column(text, level, data).str.strip()
    for tag in ("reference", "reference_uncertainty"):
        source = getattr(data, tag)
        if isinstance(source, str):
            frame[tag] = to_numbers(column(text, source, data), data, unit).values
        elif isinstance(source, dict):
            if "part" in frame:
                frame[tag] = frame["part"].map(source).astype(float)
        elif source is not None:
            frame[tag] = float(source)
    if data.size is not None:
        # The file's unit is that of the strength; a size in another than its characteristic's is named in units.
        alone = data.model_copy(update={"unit": None})
        frame["size"] = to_numbers(column(text, data.size, data), alone, unit_of_size).values
    if data.verdict is not None:
        frame["verdict"] = verdicts_of(text, data)
        if data.accept is not None:
            none = no_verdict(frame["verdict"], data)
            odd = odd_judgements(frame["verdict"], data)
            frame["accepted"] = to_judgements(
                frame["verdict"].mask(none | odd, data.accept[0]), data
            )
            if none.any():
                frame["␟no verdict"] = none
            if odd.any():
                frame["␟odd verdict"] = odd
    notices = clock.noticed if clock else []
    frame.attrs |= {"restarts": (strokes.restarts, strokes.clocked), "clock": notices}
    return frame


def _run_row_reasons(
    data: Data, text: pd.DataFrame, frame: pd.DataFrame, parts: int
) -> exclusions.Reasons:
    if data.order is None:
        rows = exclusions.Reasons(len(text))
    else:
        values = columns_of_values(data)
        rows = exclusions.repeated_rows(
            frame["order"].to_numpy(),
            text[[name for name in values if name in text]],
            text.get(OWNER),
            stream=frame.get("station"),
            parts=parts,
        )
    if "verdict" in frame and data.set_aside_verdict:
        exclusions.judge_verdicts(rows, frame["verdict"], data)
    return rows


def _in_order(study: Study, data: Data, frame: pd.DataFrame, parts: int) -> pd.DataFrame:
    """Sort into production order, number subgroups, and mark the periods study.toml excludes."""
    if parts > 1:
        at = in_strokes(frame["order"].to_numpy(), frame.get("station"))
        frame = frame.iloc[at].reset_index(drop=True)
    elif frame["order"].is_monotonic_increasing:
        frame = frame.reset_index(drop=True)
    else:
        frame = frame.sort_values("order", kind="stable", ignore_index=True)
    frame["subgroup"] = subgroup_numbers(data, frame, parts)
    frame = frame.drop(columns="␟subgroup", errors="ignore")
    frame["set_aside"] = False
    for period in study.set_aside:
        inside = _inside(period, frame)
        if period.characteristic is None:
            frame["set_aside"] |= inside
        for name in data.columns:
            if period.characteristic == name:
                own = f"{name}␟set_aside"
                frame[own] = frame.get(own, frame["set_aside"]) | inside
    return frame


def _inside(period: Any, frame: pd.DataFrame) -> Any:
    import pandas as pd

    inside = np.ones(len(frame), dtype=bool)
    if period.first is not None:
        inside &= (frame["order"] >= period.first).to_numpy()
    if period.last is not None:
        inside &= (frame["order"] <= period.last).to_numpy()
    if period.begin is not None or period.end is not None:
        if "time" not in frame:
            raise InputError(
                "study.toml", "[[set_aside]] names times but the run has none", "use first and last"
            )
        times = frame["time"]
        try:
            if period.begin is not None:
                inside &= (times >= pd.Timestamp(period.begin)).to_numpy()
            if period.end is not None:
                inside &= (times <= pd.Timestamp(period.end)).to_numpy()
        except (ValueError, TypeError):
            raise InputError(
                "study.toml",
                "[[set_aside]] begin or end is not a time",
                "write 2026-03-02T06:00:00",
            ) from None
    return inside


def _bins(data: Data, text: pd.DataFrame) -> Built:
    frame = _tags(data, text)
    rows = exclusions.Reasons(len(text))
    for key in ("accepted", "rejected", "purged"):
        name = getattr(data, key)
        if name is None:
            continue
        cells = column(text, name, data)
        counts, missing, odd = to_numbers(cells, data)
        with np.errstate(invalid="ignore"):
            sound = (counts >= 0) & (counts == np.floor(counts)) & (counts < LARGEST_ORDER)
        wrong = ~missing & ~odd & ~sound
        if wrong.any():
            row = int(np.flatnonzero(wrong)[0])
            raise InputError(
                f"{data.file} line {line_of(data, int(text.index[row]))}",
                f'"{str(cells.iloc[row])[:40]}" in column "{name}" is not a count',
                "counts are whole numbers from 0",
            )
        rows.give(missing | odd, f"no count of {key} parts")
        frame[key] = np.where(missing | odd, 0, counts).astype("int64")
    used = rows.unset
    if not used.any():
        raise InputError(data.file, "has no row with all its counts", "mend it or take it out")
    frame = in_their_order(frame if used.all() else frame[used].reset_index(drop=True), data)
    frame.attrs = {"characteristics": [], "tags": list(frame)}
    return frame, rows.counted(), {}, []
