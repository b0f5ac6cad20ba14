"""Charts of a run: where is the process, how wide is it, what stands out.

Model of the limits: parts are independent and normal with one mean and one standard deviation,
estimated within subgroups. On a line of several parts a second neighbours are nearly the same
part, so the within-spread is smaller than the process and the limits too narrow: the chart then
signals all day although nothing is wrong. The finding counts the signals that chance alone would
give, and says when there are so many more that the limits, not the process, are to blame. The
chart "between and within" takes the limits of the means from the means' own moving range
instead and so lets the usual movement between subgroups pass.

Sources: ISO 7870-2:2013 (Shewhart charts); ASTM MNL 7, 8th ed. (constants); Wheeler,
*Advanced Topics in Statistical Process Control* (1995), ch. 9 (between and within).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from linestudy.core import CannotJudge
from linestudy.core.normal_intervals import sd_interval
from linestudy.stability.charts.chart_study import KINDS, ChartStudy
from linestudy.stability.charts.limits import (
    Spread,
    false_locations,
    from_moving_ranges,
    from_ranges,
    median_variance,
    moving_range_half,
    pooled,
    range_half,
    sd_half,
)
from linestudy.stability.charts.rules import chosen, complete_at
from linestudy.stability.summaries import Summaries, summarise

__all__ = ["KINDS", "ChartStudy", "chart", "chart_summaries"]


def chart(
    values: Any,
    subgroup: Any = None,
    order: Any = None,
    confidence: float = 0.95,
    sigmas: float = 3.0,
    unit: str = "",
    kind: str | None = None,
    rules: str | Iterable[str] = "three sigma",
    base: tuple[float, float] | None = None,
    phases: Sequence[float] = (),
) -> ChartStudy:
    """Chart a run by subgroups, or by single values where there are none.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    subgroup : array_like, shape (n,), optional
        Subgroup of each value; values whose subgroup is missing are left out.
        Without it every value is a point.
    order : array_like of float, shape (n,), optional
        Order number of each value; 1, 2, … when absent.
    confidence : float
    sigmas : float
        Distance of the limits in standard errors.
    unit : str
    kind : str, optional
        One of :data:`KINDS`; mean and standard deviation when absent, individuals where there
        are no subgroups of two.
    rules : str or iterable of str
        Name of a published set, or keys of rules, for the locations.
    base : tuple of float, optional
        First and last order number of the period that sets the limits; the whole run when absent.
    phases : sequence of float
        Order numbers at which a new centre is allowed (coil change, regrind); the spread within
        stays one. Not together with `base`.

    Returns
    -------
    ChartStudy

    Raises
    ------
    CannotJudge
        Fewer than two points, values that never differ within subgroups, an unknown kind
        or rule, a base period without points.

    Examples
    --------
    >>> study = chart([1.0, 1.2, 1.1, 1.3, 1.0, 1.2], [0, 0, 1, 1, 2, 2])
    >>> round(study.sd_within, 4)
    0.1414
    """
    if subgroup is not None:
        import pandas as pd

        if bool(pd.isna(pd.array(subgroup)).all()):
            subgroup = None
    groups = summarise(values, subgroup, order)
    return chart_summaries(groups, confidence, sigmas, unit, kind, rules, base, phases)


def chart_summaries(
    groups: Summaries,
    confidence: float = 0.95,
    sigmas: float = 3.0,
    unit: str = "",
    kind: str | None = None,
    rules: str | Iterable[str] = "three sigma",
    base: tuple[float, float] | None = None,
    phases: Sequence[float] = (),
) -> ChartStudy:
    """The same chart from summaries of the subgroups; see :func:`chart`.

    Parameters
    ----------
    groups : Summaries
        From ``summarise`` or ``from_table``.
    confidence, sigmas, unit, kind, rules, base, phases
        As in :func:`chart`.

    Returns
    -------
    ChartStudy

    Raises
    ------
    CannotJudge
        As :func:`chart`.

    Examples
    --------
    >>> from linestudy.stability.summaries import summarise
    >>> chart_summaries(summarise([1.0, 1.2, 1.1, 1.3], [0, 0, 1, 1]), kind="mean and range").n
    4
    """
    kind = _kind(groups, kind)
    if groups.size < 2:
        raise CannotJudge("There is one subgroup only; a chart needs several.")
    own, phase = _periods(groups, base, phases)
    setters = groups.where(own)
    single = kind == "individuals and moving range"
    location = groups.median if kind == "median and range" else groups.mean
    single_weight = single or kind in ("median and range", "mean between and within")
    weight = np.ones(groups.size) if single_weight else groups.n
    centres, total = _centres(location, weight, own, phase)
    between = None
    if single:
        within = from_moving_ranges(location[own], phase[own])
        variance = np.ones(groups.size)
    else:
        within = from_ranges(setters) if kind.endswith("range") else pooled(setters)
        variance = median_variance(groups.n) if kind == "median and range" else 1 / groups.n
    half_unit = within
    if kind == "mean between and within":
        half_unit = between = from_moving_ranges(location[own], phase[own])
        variance = np.ones(groups.size)
    half = sigmas * half_unit.sd * np.sqrt(variance)
    if _by_median(kind):
        total = variance * total
    false = false_locations(variance, own, total, half_unit, sigmas)
    picked = chosen(rules)
    # Trends and runs of a later phase begin anew.
    z = (location - centres) / (half / sigmas)
    signals = _location_signals(picked, z, phase, location, groups.order, kind, sigmas)
    lengths = np.bincount(phase)
    rates = [(r.rate, r.m) for r in picked if r.key != "beyond"]
    false = (false if any(r.key == "beyond" for r in picked) else 0.0) + sum(
        rate * float(np.maximum(lengths - m + 1, 0).sum()) for rate, m in rates
    )
    spread = _spread_half(kind, groups, own, phase, within, sigmas)
    false += spread["false"]
    signals += _spread_signals(spread)
    overall = _overall(groups)
    usual = float(np.median(variance))
    centre = float((weight * location)[own].sum() / weight[own].sum())
    wide = sigmas * half_unit.sd * math.sqrt(usual)
    return ChartStudy(
        chart=kind,
        n=int(groups.n.sum()),
        n_subgroups=groups.size,
        subgroup_size=float(groups.n.mean()),
        centre=centre,
        limits=(centre - wide, centre + wide),
        sd_within=within.sd,
        df_within=within.df,
        within=sd_interval(within.sd, within.df, confidence),
        sd_overall=overall,
        signals=tuple(sorted(signals, key=lambda s: (s["point"], s["kind"], s["rule"]))),
        expected_false_signals=float(false),
        rules=tuple(rule.key for rule in picked),
        run_length_at_rest=_at_rest(picked, sigmas),
        phases=_phases(groups, phase, centres),
        unit=unit,
        cautions=_cautions(
            groups, setters, len(signals), float(false), within.sd, overall, between
        ),
        points={
            "order": groups.order,
            "mean": location,
            "low": centres - half,
            "high": centres + half,
            "centre": centres,
            "sd_order": spread["order"],
            "sd": spread["value"],
            "sd_low": spread["low"],
            "sd_high": spread["high"],
            "sd_kind": spread["kind"],
        },
    )


def _by_median(kind: str) -> bool:
    return kind == "median and range"


def _kind(groups: Summaries, kind: str | None) -> str:
    several = bool((groups.n > 1).any())
    if kind is None:
        return KINDS[0] if several else "individuals and moving range"
    if kind not in KINDS:
        raise CannotJudge(f"There is no chart {kind!r}; known are {', '.join(KINDS)}.")
    if kind == "individuals and moving range" and several:
        raise CannotJudge("A chart of individuals takes single values, not subgroups of several.")
    if _by_median(kind) and not groups.has_median:
        raise CannotJudge("The summaries hold no medians, so medians cannot be charted.")
    return kind


def _periods(
    groups: Summaries, base: tuple[float, float] | None, phases: Sequence[float]
) -> tuple[Any, Any]:
    """Which points set the limits, and the phase of every point."""
    own = np.ones(groups.size, dtype=bool)
    if base is not None:
        if len(phases):
            raise CannotJudge("Limits come from a base period or from phases, not from both.")
        own = (groups.order >= base[0]) & (groups.order <= base[1])
        if own.sum() < 2:
            raise CannotJudge("The base period holds fewer than two points.")
    marks = np.sort(np.asarray(phases, dtype=float))
    phase = np.searchsorted(marks, groups.order, side="right")
    return own, np.unique(phase, return_inverse=True)[1]


def _centres(location: Any, weight: Any, own: Any, phase: Any) -> tuple[Any, Any]:
    """Centre of each point's phase, and its variance in units of a weight-one point's."""
    offset = float(location.mean())
    used = np.where(own, weight, 0.0)
    total = np.bincount(phase, used)
    middle = np.bincount(phase, used * (location - offset)) / total
    return offset + middle[phase], (1 / total)[phase]


def _location_signals(
    rules: Any, z: Any, phase: Any, location: Any, order: Any, kind: str, sigmas: float
) -> list[dict[str, Any]]:
    name = {"median and range": "median", "individuals and moving range": "value"}.get(kind, "mean")
    ends = np.flatnonzero(np.diff(phase)) + 1
    found = []
    for rule in rules:
        if rule.key == "beyond":
            hit = np.abs(z) > sigmas
        else:
            hit = np.concatenate([complete_at(rule, piece) for piece in np.split(z, ends)])
        found += [
            {
                "point": int(i) + 1,
                "order": float(order[i]),
                "kind": name,
                "rule": rule.key,
                "value": float(location[i]),
            }
            for i in np.flatnonzero(hit)
        ]
    return found


def _spread_half(
    kind: str, groups: Summaries, own: Any, phase: Any, within: Spread, sigmas: float
) -> dict[str, Any]:
    if kind == "individuals and moving range":
        inside = np.flatnonzero(np.diff(phase) == 0) + 1
        moves = np.abs(groups.mean[inside] - groups.mean[inside - 1])
        high, false = moving_range_half(moves.size, within, sigmas)
        return {
            "kind": "moving range",
            "index": inside,
            "order": groups.order[inside],
            "value": moves,
            "low": np.zeros(moves.size),
            "high": np.full(moves.size, high),
            "false": false,
        }
    index = np.flatnonzero(groups.n > 1)
    several = groups.where(index)
    if kind.endswith("and range"):
        low, high, false = range_half(several, own[index], within, sigmas)
        name, value = "range", several.range
    else:
        low, high, false = sd_half(several, own[index], within, sigmas)
        name, value = "standard deviation", several.sd
    return {
        "kind": name,
        "index": index,
        "order": several.order,
        "value": value,
        "low": low,
        "high": high,
        "false": false,
    }


def _spread_signals(spread: dict[str, Any]) -> list[dict[str, Any]]:
    value = spread["value"]
    beyond = np.flatnonzero((value < spread["low"]) | (value > spread["high"]))
    return [
        {
            "point": int(spread["index"][i]) + 1,
            "order": float(spread["order"][i]),
            "kind": spread["kind"],
            "rule": "beyond",
            "value": float(value[i]),
        }
        for i in beyond
    ]


def _squares(groups: Summaries) -> tuple[float, float, float]:
    """Sums of squares between and within subgroups, and the degrees of freedom within."""
    offset = float(groups.mean.mean())
    count = float(groups.n.sum())
    middle = float((groups.n * (groups.mean - offset)).sum()) / count
    between = float((groups.n * (groups.mean - offset - middle) ** 2).sum())
    return between, float(groups.squares.sum()), count - groups.size


def _overall(groups: Summaries) -> float:
    """Standard deviation of all values, from the summaries of the subgroups."""
    between, within, _ = _squares(groups)
    return math.sqrt((within + between) / (float(groups.n.sum()) - 1))


def _at_rest(rules: Any, sigmas: float) -> float | None:
    from linestudy.stability.charts.run_lengths import average_run_length

    if sigmas != 3.0 or not all(rule.has_zones for rule in rules):
        return None
    return average_run_length([rule.key for rule in rules])


def _phases(groups: Summaries, phase: Any, centres: Any) -> tuple[dict[str, Any], ...]:
    first = np.unique(phase, return_index=True)[1]
    counts = np.bincount(phase)
    return tuple(
        {"first": float(groups.order[i]), "points": int(c), "centre": float(centres[i])}
        for i, c in zip(first, counts, strict=True)
    )


def _cautions(
    groups: Summaries,
    setters: Summaries,
    signals: int,
    expected: float,
    within: float,
    overall: float,
    between: Spread | None,
) -> tuple[str, ...]:
    notes = []
    if setters.size < 25:
        notes.append(f"{setters.size} points are few to set limits by; 25 are usual.")
    ones = int((groups.n == 1).sum())
    if ones and ones < groups.size:
        notes.append(
            f"{ones} subgroups hold one part only and say nothing about the spread within."
        )
    elif np.unique(groups.n).size > 1:
        notes.append("Subgroups are of unequal size; each has limits of its own.")
    if between is None and signals > max(5.0, 4 * expected) and overall > 1.15 * within:
        notes.append(
            f"There are {signals:,} signals where {expected:.1f} are expected: neighbours are more "
            f"alike than parts of different times (spread of all values {overall / within:.2f} times "
            "that within), so limits from the within-spread cry wolf and Cpk from it would flatter."
        )
    if between is None and overall < 0.97 * within and (mixed := _mixed(groups)):
        notes.append(mixed)
    return tuple(notes)


#: Level of the test that neighbours differ more than chance lets them, for each chart.
_MIXED = 0.01


def _mixed(groups: Summaries) -> str:
    """What to say where neighbours differ more than parts of different times; empty where chance will do.

    Subgroups whose parts come from sources that differ have means that scatter less than their own spread
    lets expect: the analysis of variance, lower tail. Single values that alternate differ more from their
    neighbours than from the mean: the ratio of von Neumann, *Annals of Mathematical Statistics* 12 (1941),
    367-395, here as normal with variance (n - 2) / (n**2 - 1).
    """
    from scipy.special import fdtr, ndtr

    if (groups.n == 1).all():
        n = groups.size
        around = groups.mean - groups.mean.mean()
        ratio = float(np.square(np.diff(groups.mean)).sum()) / (2 * float(around @ around))
        p = float(ndtr(-(ratio - 1) * math.sqrt((n**2 - 1) / max(n - 2, 1))))
        if p >= _MIXED:
            return ""
        return (
            f"Neighbouring values differ more than chance lets them (p = {p:.2g}): they alternate (stations that "
            "take turns, for instance), so limits from moving ranges are too wide to see a shift."
        )
    between, within, df = _squares(groups)
    free = groups.size - 1
    if df <= 0 or within <= 0:
        return ""
    p = float(fdtr(free, df, (between / free) / (within / df)))
    if p >= _MIXED:
        return ""
    return (
        "The spread within subgroups exceeds that of all values by more than chance "
        f"(p = {p:.2g}): each subgroup mixes sources that differ (stations that alternate, for instance), so "
        "limits are too wide to see a shift."
    )
