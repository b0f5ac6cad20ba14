"""Control limits frozen from a study, and what a line log makes against them: points beyond, and days that alarm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.results import CannotJudge, counted
from linestudy.results.rounding import show_in
from linestudy.stability.runs import RunOfParts

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

#: Share of points beyond three standard errors where nothing is wrong, and p-value below which a day alarms.
_SHARE, _ALARM = 0.0027, 0.001


@dataclass(frozen=True, slots=True)
class FrozenLimits:
    """Limits of subgroup means, from the study.

    Attributes
    ----------
    centre, lower, upper : float
        [unit of the values] Centre and control limits of a mean of ``size`` parts.
    size : float
        Parts of a subgroup of the study.
    subgroups : int
        Subgroups that they rest on.
    """

    centre: float
    lower: float
    upper: float
    size: float
    subgroups: int


def frozen_limits(study: Study, records: Records, item: Characteristic) -> dict[str, FrozenLimits]:
    """Take the control limits of a study's run, by stream where streams have subgroups of their own.

    Parameters
    ----------
    study : Study
    records : Records
    item : Characteristic

    Returns
    -------
    dict of str to FrozenLimits
        By stream, "" of all parts; empty where the study's run has no chart.

    See Also
    --------
    alarms : Days of a log beyond them.

    Notes
    -----
    Of the chart between and within: what moved subgroup means while the study was in order is let pass, and alarms are for
    what is new.

    Examples
    --------
    See ``linestudy log FOLDER --study STUDY --evidence FILE``.
    """
    table = records.table("run", item.id)
    if table is None or not len(table):
        return {}
    run = RunOfParts(records.timed(study), item, table)
    runs = run.by_stream if run.parts_per_stroke > 1 else {}
    found = {}
    for name, one in (runs or {"": run}).items():
        try:
            chart = one.chart(kind="mean between and within")
        except CannotJudge:
            continue
        found[name] = FrozenLimits(
            chart.centre, *chart.limits, chart.subgroup_size, chart.n_subgroups
        )
    return found


def beyond(table: pd.DataFrame, limits: Mapping[str, FrozenLimits]) -> Any:
    """Which subgroups of a log lie beyond the limits; wider ones where a subgroup has fewer parts.

    Parameters
    ----------
    table : pandas.DataFrame
        ``mean`` and ``n`` of each subgroup, and ``station`` where subgroups are of one stream.
    limits : mapping of str to FrozenLimits

    Returns
    -------
    numpy.ndarray of bool
        A stream without limits has none beyond them.
    """
    names = table["station"].astype(str) if "station" in table else [""] * len(table)
    held = [limits.get(name, limits.get("")) for name in names]
    centre = np.array([np.nan if one is None else one.centre for one in held])
    reach = np.array([np.nan if one is None else (one.upper - one.lower) / 2 for one in held])
    size = np.array([np.nan if one is None else one.size for one in held])
    wider = np.sqrt(np.maximum(size / table["n"].to_numpy(dtype=float), 1.0))
    return np.abs(table["mean"].to_numpy(dtype=float) - centre) > reach * wider


def alarms(table: pd.DataFrame, limits: Mapping[str, FrozenLimits], unit: str = "") -> list[str]:
    """Name the days, and streams, of a log with more points beyond frozen limits than chance gives.

    Parameters
    ----------
    table : pandas.DataFrame
        Subgroups of the log (:meth:`~linestudy.linelog.summary.LogSummary.subgroups`).
    limits : mapping of str to FrozenLimits
    unit : str
        Of the values.

    Returns
    -------
    list of str
        One sentence for each.

    See Also
    --------
    frozen_limits : The limits.

    Notes
    -----
    Model: points are independent and each lies beyond its limits in 2.7 of a thousand cases; a day alarms where as many
    or more have a probability below 0.001 (binomial). Where parts of one day move together, days alarm more often.

    References
    ----------
    ISO 7870-2:2013 (limits of a chart with standards given).

    Examples
    --------
    See ``linestudy log FOLDER --study STUDY --evidence FILE``.
    """
    from scipy.stats import binom

    found = []
    keys = ["file", *(["station"] if "station" in table else [])]
    for key, part in table.assign(out=beyond(table, limits)).groupby(keys, sort=False):
        names = key if isinstance(key, tuple) else (key,)
        stream = str(names[1]) if len(names) > 1 else ""
        held = limits.get(stream, limits.get(""))
        out, n = int(part["out"].sum()), len(part)
        if held is None or float(binom.sf(out - 1, n, _SHARE)) >= _ALARM:
            continue
        weights = part["n"].to_numpy(dtype=float)
        away = float(np.average(part["mean"], weights=weights)) - held.centre
        where = f", {stream}" if stream else ""
        found.append(
            f"Day {int(str(names[0])) + 1}{where}: {out:,} of {counted(n, 'point')} beyond the study's limits; mean "
            f"{show_in(abs(away), unit)} {'above' if away > 0 else 'below'} the study's."
        )
    return found
