"""What each day, coil and stream of a line log made: parts, mean, SD, Ppk, points out of control and yield, from sums."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.linelog.frozen import FrozenLimits, alarms, beyond, frozen_limits
from linestudy.results import InputError, decimals_for

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.linelog.summary import LogSummary
    from linestudy.results.picture import Picture
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

_NAMES = {"file": "day", "coil": "coil", "station": "stream"}


def made_by_group(
    summary: LogSummary,
    characteristic: Characteristic,
    *,
    limits: Mapping[str, FrozenLimits] | None = None,
    words: Mapping[str, bool] | None = None,
) -> pd.DataFrame:
    """Tabulate count, mean, SD, Ppk, points out of control and yield of each daily file, coil and stream.

    Parameters
    ----------
    summary : LogSummary
        Of a log.
    characteristic : Characteristic
        With its limits.
    limits : mapping of str to FrozenLimits, optional
        Control limits frozen from the study, by stream ("" of all).
    words : mapping of str to bool, optional
        Verdicts of the log: whether they accept.

    Returns
    -------
    pandas.DataFrame
        Columns ``day``, ``coil`` and ``stream`` as far as known, ``n``, ``mean`` and ``SD`` (unit of the characteristic), ``Ppk`` by
        mean and SD, missing where there is no limit or no spread, ``points`` and ``out`` (subgroups, and those beyond the frozen
        limits; missing where subgroups mix streams) and ``yield`` as far as limits and verdicts are known; in order of
        production.

    See Also
    --------
    evaluate_log : Charts and tests of the whole log.

    Notes
    -----
    Ppk here is that of a normal distribution and has no interval: it compares days, coils and streams of one
    characteristic with each other. Misleads as the index of a process.

    Examples
    --------
    See ``linestudy log FOLDER --study STUDY --evidence FILE``, which prints it.
    """
    table = summary.quarter_hour_sums(characteristic.id)
    keys = [name for name in _NAMES if name in table]
    sums = table.groupby(keys, sort=False, dropna=False)[["n", "y", "yy"]].sum().reset_index()
    sums = sums[sums["n"] > 0].reset_index(drop=True)
    n = sums["n"].to_numpy(dtype=float)
    away = sums["y"].to_numpy(dtype=float) / n
    mean = table.attrs["offset"] + away
    squares = sums["yy"].to_numpy(dtype=float) - n * away**2
    sd = np.sqrt(np.maximum(squares, 0.0) / np.maximum(n - 1, 1))
    with np.errstate(divide="ignore", invalid="ignore"):
        sides = []
        if characteristic.upper is not None:
            sides.append((characteristic.upper - mean) / (3 * sd))
        if characteristic.lower is not None:
            sides.append((mean - characteristic.lower) / (3 * sd))
        index = np.min(sides, axis=0) if sides else np.full(n.size, np.nan)
    found = sums[keys].assign(
        n=n.astype(int), mean=mean, SD=sd, Ppk=np.where(np.isfinite(index), index, np.nan)
    )
    for more in (_points(summary, characteristic, limits), _yields(summary, words)):
        names = [] if more is None else [str(name) for name in more.index.names]
        if more is not None and names == keys:
            found = found.join(more, on=names)
    found = found.rename(columns=_NAMES)
    found["day"] = found["day"] + 1
    return found


def _points(
    summary: LogSummary, characteristic: Characteristic, limits: Mapping[str, FrozenLimits] | None
) -> pd.DataFrame | None:
    """Count subgroups, and those beyond frozen limits, by file, coil and stream as far as subgroups know them."""
    if not limits:
        return None
    table = summary.subgroups(characteristic.id)
    table["out"] = beyond(table, limits)
    keys = [name for name in _NAMES if name in table]
    groups = table.groupby(keys, dropna=False)["out"]
    return groups.size().to_frame("points").assign(out=groups.sum())


def _yields(summary: LogSummary, words: Mapping[str, bool] | None) -> pd.DataFrame | None:
    """Compute the share of accepted parts among those with a verdict, by file, coil and stream."""
    import pandas as pd

    rows: list[dict[str, Any]] = [
        {**row, "file": number}
        for number, part in enumerate(summary.parts)
        for row in part.short["counts"]
    ]
    if not words or not rows or "verdict" not in rows[0]:
        return None
    table = pd.DataFrame(rows)
    table["good"] = table["verdict"].map(words)
    table = table[table["good"].notna()]
    table["accepted"] = table["rows"] * table["good"].astype(float)
    keys = [name for name in _NAMES if name in table]
    sums = table.groupby(keys, dropna=False)[["accepted", "rows"]].sum()
    return (sums["accepted"] / sums["rows"]).to_frame("yield")


#: Most rows of a table for a terminal.
_MOST = 40


def shown_by_group(found: pd.DataFrame, unit: str = "", days: tuple[str, ...] = ()) -> pd.DataFrame:
    """Format the table of :func:`made_by_group` for a terminal: the last days of a long log, each by its date."""
    found = found.tail(_MOST).astype({"n": object})
    if days:
        found.insert(
            1, "date" if days[0][:1].isdigit() else "file", [days[k - 1] for k in found["day"]]
        )
    found["n"] = [f"{n:,}" for n in found["n"]]
    # One number of decimals for all rows, that of their usual spread.
    spread = found["SD"].median()
    places = decimals_for(float(spread), digits=3) if spread > 0 else 6
    for name, digits in (("mean", places), ("SD", places + 1)):
        found[name] = [f"{value:.{digits}f}" for value in found[name]]
    for name, form in (("Ppk", ".2f"), ("points", ",.0f"), ("out", ",.0f"), ("yield", ".2%")):
        if name in found:
            found[name] = ["" if np.isnan(value) else f"{value:{form}}" for value in found[name]]
    with_units = {name: f"{name} ({unit})" for name in ("mean", "SD") if unit}
    return found.rename(columns={"out": "beyond limits"} | with_units)


@dataclass(frozen=True)
class Daily:
    """Days, coils and streams of one characteristic.

    Attributes
    ----------
    item : Characteristic
    made : pandas.DataFrame
        As :func:`~made_by_group` makes it.
    limits : dict of str to FrozenLimits
        From the study's own run; empty where it has none.
    alarms : tuple of str
        Days with more points beyond them than chance gives.
    days : tuple of str
        What each day's file is called: its date, or its name.
    """

    item: Characteristic
    made: pd.DataFrame = field(repr=False)
    limits: dict[str, FrozenLimits]
    alarms: tuple[str, ...]
    days: tuple[str, ...] = ()

    @property
    def shown(self) -> pd.DataFrame:
        """The table as text."""
        return shown_by_group(self.made, self.item.unit or "", self.days)

    @property
    def said(self) -> str:
        """What the points are held against, and the alarms."""
        if not self.limits:
            return "The study's run gives no control limits, so no point is held against any."
        first = next(iter(self.limits.values()))
        text = (
            "Points are means of subgroups, held against control limits frozen from the study "
            f"({first.subgroups:,} subgroups), as their spread is; Ppk is that of a normal distribution, to compare rows with each other."
        )
        if not self.alarms:
            return f"{text} No day alarms."
        return "\n".join([text, *(f"ALARM: {one}" for one in self.alarms)])

    def record(self) -> dict[str, Any]:
        """Return what the evidence file keeps."""
        import numpy as np

        rows = [
            {
                str(k): None if isinstance(v, float) and not np.isfinite(v) else v
                for k, v in row.items()
            }
            for row in self.made.to_dict("records")
        ]
        limits = {
            name: {
                "centre": one.centre,
                "lower": one.lower,
                "upper": one.upper,
                "size": one.size,
                "spread": one.spread if np.isfinite(one.spread) else None,
            }
            for name, one in self.limits.items()
        }
        return {
            "made": rows,
            "limits": limits,
            "alarms": list(self.alarms),
            "days": list(self.days),
        }


def daily(study: Study, summary: LogSummary) -> dict[str, Daily]:
    """Tell what each day, coil and stream of a log made, for every characteristic.

    Parameters
    ----------
    study : Study
        Its own run gives the control limits, where its files are there.
    summary : LogSummary
        Of the log.

    Returns
    -------
    dict of str to Daily
        By characteristic id.

    See Also
    --------
    evaluate_log : Charts and tests of the whole log.

    Examples
    --------
    See ``linestudy log FOLDER --study STUDY --evidence FILE``.
    """
    from linestudy.linelog.build import run_of
    from linestudy.records.read_files import read

    data = run_of(study)
    words = {
        **dict.fromkeys(data.accept or (), True),
        **dict.fromkeys(data.reject or (), False),
    }
    try:
        records = read(study)
    except InputError:
        # The log suffices where the study's own files are elsewhere.
        records = None
    found = {}
    for scale in summary.scale:
        item = study.characteristic(scale.id)
        limits = {} if records is None else frozen_limits(study, records, item)
        signals = (
            alarms(summary.subgroups(item.id), limits, item.unit or "", summary.days)
            if limits
            else []
        )
        made = made_by_group(summary, item, limits=limits, words=words)
        found[item.id] = Daily(item, made, limits, tuple(signals), summary.days)
    return found


def daily_picture(found: dict[str, Daily]) -> Picture:
    """Draw the means of days and streams with their spread, between tolerance and control limits."""
    from linestudy.figures.streams import days_and_streams

    return days_and_streams(
        {
            one.item.name: (
                one.made,
                (one.item.lower, one.item.upper),
                {name: (x.lower, x.upper) for name, x in one.limits.items()},
                one.item.unit or "",
            )
            for one in found.values()
        }
    )
