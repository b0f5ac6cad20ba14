"""Control limits frozen from a study, and what a line log makes against them: points beyond, and days that alarm by level or spread."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.results import CannotJudge, counted
from linestudy.results.rounding import show_in
from linestudy.stability.runs import RunOfParts

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.numerics.arrays import FloatArray
    from linestudy.records import Records
    from linestudy.stability.summaries import Summaries
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

#: Share of points beyond three standard errors where nothing is wrong, and p-value below which a day alarms.
_SHARE, _ALARM = 0.0027, 0.001
#: By how much a day is to spread more than the study before it alarms (common practice, no source).
_WIDER = 1.1


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
    spread : float
        [unit of the values] Standard deviation within subgroups; NaN where it is not known.
    root_mean, root_variance : float
        Mean and variance of the subgroups' standard deviations to the power of two thirds, which is nearly normal.
    """

    centre: float
    lower: float
    upper: float
    size: float
    subgroups: int
    spread: float = np.nan
    root_mean: float = np.nan
    root_variance: float = np.nan


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
            chart.centre,
            *chart.limits,
            chart.subgroup_size,
            chart.n_subgroups,
            *_spread(one.groups()),
        )
    return found


def _spread(groups: Summaries) -> tuple[float, float, float]:
    """Compute the standard deviation within subgroups, and mean and variance of its roots."""
    several = groups.n > 1
    n, sd = groups.n[several], groups.sd[several]
    if n.size < 8 or not (sd > 0).any():
        return np.nan, np.nan, np.nan
    roots = _roots(n, sd)
    return _pooled(n, sd), float(roots.mean()), float(roots.var(ddof=1))


def _pooled(n: FloatArray, sd: FloatArray) -> float:
    return float(np.sqrt((sd**2 * (n - 1)).sum() / (n - 1).sum()))


def _roots(n: FloatArray, sd: FloatArray) -> FloatArray:
    """Take variances of subgroups to the power of a third, corrected for subgroup size (Wilson and Hilferty)."""
    return np.asarray(sd ** (2 / 3) / (1 - 2 / (9 * (n - 1))), dtype=float)


def beyond(table: pd.DataFrame, limits: Mapping[str, FrozenLimits]) -> Any:
    """Find which subgroups of a log lie beyond the limits; wider ones where a subgroup has fewer parts.

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
    centre, lower, upper, size = (
        _held(table, limits, name) for name in ("centre", "lower", "upper", "size")
    )
    reach = (upper - lower) / 2
    wider = np.sqrt(np.maximum(size / table["n"].to_numpy(dtype=float), 1.0))
    return np.abs(table["mean"].to_numpy(dtype=float) - centre) > reach * wider


def spreads_more(part: pd.DataFrame, held: FrozenLimits) -> float | None:
    """Compute how many times the study's spread the subgroups of a day have; None where no more than by chance.

    Parameters
    ----------
    part : pandas.DataFrame
        ``sd`` and ``n`` of each subgroup of one day and stream.
    held : FrozenLimits

    Returns
    -------
    float or None
    """
    from scipy.special import stdtr

    several = part["n"].to_numpy(dtype=float) > 1
    n, sd = (part[name].to_numpy(dtype=float)[several] for name in ("n", "sd"))
    if n.size < 3 or not held.root_variance > 0:
        return None
    ratio = _pooled(n, sd) / held.spread
    roots = _roots(n, sd)
    own, before = float(roots.var(ddof=1)) / n.size, held.root_variance / held.subgroups
    df = (own + before) ** 2 / (own**2 / (n.size - 1) + before**2 / (held.subgroups - 1))
    t = (float(roots.mean()) - held.root_mean) / np.sqrt(own + before)
    return ratio if ratio > _WIDER and float(stdtr(df, -t)) < _ALARM else None


def _held(table: pd.DataFrame, limits: Mapping[str, FrozenLimits], name: str) -> FloatArray:
    """Return the limit that each subgroup is compared with; NaN where its stream has none."""
    streams = table["station"].astype(str) if "station" in table else [""] * len(table)
    held = [limits.get(stream, limits.get("")) for stream in streams]
    return np.array([np.nan if one is None else getattr(one, name) for one in held], dtype=float)


def alarms(
    table: pd.DataFrame,
    limits: Mapping[str, FrozenLimits],
    unit: str = "",
    days: Sequence[str] = (),
) -> list[str]:
    """Name the days, and streams, of a log with more points beyond frozen limits than chance gives, of level or of spread.

    Parameters
    ----------
    table : pandas.DataFrame
        Subgroups of the log (:meth:`~linestudy.linelog.summary.LogSummary.subgroups`).
    limits : mapping of str to FrozenLimits
    unit : str
        Of the values.
    days : sequence of str
        What each file is called, behind its number.

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
    or more have a probability below 0.001 (binomial). It alarms by spread where its subgroups spread more than a tenth more than the study's and more than chance
    lets them: Welch's t, one-sided, 0.001, of variances to the power of a third, whose own scatter reflects whatever shape the
    parts have. Where parts of one day move together, days alarm more often.

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
        stream, day = str(names[1]) if len(names) > 1 else "", int(str(names[0]))
        held = limits.get(stream, limits.get(""))
        if held is None:
            continue
        called = f" ({days[day]})" if day < len(days) and days[day] else ""
        where = f"Day {day + 1}{called}{f', {stream}' if stream else ''}"
        n, out = len(part), int(part["out"].sum())
        if float(binom.sf(out - 1, n, _SHARE)) < _ALARM:
            weights = part["n"].to_numpy(dtype=float)
            away = float(np.average(part["mean"], weights=weights)) - held.centre
            found.append(
                f"{where}: {out:,} of {counted(n, 'point')} beyond the study's limits; mean "
                f"{show_in(abs(away), unit)} {'above' if away > 0 else 'below'} the study's."
            )
        times = spreads_more(part, held)
        if times is not None:
            found.append(
                f"{where}: standard deviation within {counted(n, 'subgroup')} {show_in(times * held.spread, unit)}, "
                f"{times:.2g} times the study's."
            )
    return found
