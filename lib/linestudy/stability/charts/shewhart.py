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
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np

from linestudy.numerics.normal_intervals import sd_interval
from linestudy.results import CannotJudge
from linestudy.stability.charts.chance_signals import (
    NORMAL_PARTS,
    RANDOM_ORDER,
    differs_from_normal,
    signals_in_random_order,
)
from linestudy.stability.charts.chart_points import (
    base_and_phases,
    by_median,
    false_spreads,
    judge_points,
)
from linestudy.stability.charts.chart_study import KINDS, ChartStudy
from linestudy.stability.charts.limits import (
    Spread,
    false_locations,
)
from linestudy.stability.charts.rules import chosen
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
    import pandas as pd

    if subgroup is not None and bool(pd.isna(pd.array(subgroup)).all()):
        subgroup = None
    groups = summarise(values, subgroup, order)
    study = chart_summaries(groups, confidence, sigmas, unit, kind, rules, base, phases)
    y = np.asarray(values, dtype=float)
    if subgroup is not None:
        y = y[np.asarray(~pd.isna(pd.array(subgroup)))]
    if not differs_from_normal(y):
        return study
    own, phase = base_and_phases(groups, base, phases)
    judge = partial(
        judge_points, kind=study.chart, own=own, phase=phase, rules=chosen(rules), sigmas=sigmas
    )
    expected = signals_in_random_order(y, groups.n, phase, lambda mixed: len(judge(mixed).signals))
    return replace(study, expected_false_signals=expected, expected_by=RANDOM_ORDER)


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
    own, phase = base_and_phases(groups, base, phases)
    picked = chosen(rules)
    found = judge_points(groups, kind, own, phase, picked, sigmas)
    within, half_unit, spread = found.within, found.half_unit, found.spread
    total = found.centre_variance
    if by_median(kind):
        total = found.variance * total
    false = false_locations(found.variance, own, total, half_unit, sigmas)
    lengths = np.bincount(phase)
    rates = [(r.rate, r.m) for r in picked if r.key != "beyond"]
    false = (false if any(r.key == "beyond" for r in picked) else 0.0) + sum(
        rate * float(np.maximum(lengths - m + 1, 0).sum()) for rate, m in rates
    )
    false += false_spreads(spread, groups, own, within, sigmas)
    overall = _overall(groups)
    usual = float(np.median(found.variance))
    weight, location = found.weight, found.location
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
        signals=tuple(sorted(found.signals, key=lambda s: (s["point"], s["kind"], s["rule"]))),
        expected_false_signals=float(false),
        expected_by=NORMAL_PARTS,
        rules=tuple(rule.key for rule in picked),
        run_length_at_rest=_at_rest(picked, sigmas),
        phases=_phases(groups, phase, found.centres),
        unit=unit,
        cautions=_cautions(
            groups,
            groups.where(own),
            len(found.signals),
            float(false),
            within.sd,
            overall,
            half_unit if kind == "mean between and within" else None,
        ),
        points={
            "order": groups.order,
            "mean": location,
            "low": found.centres - found.half,
            "high": found.centres + found.half,
            "centre": found.centres,
            "sd_order": spread["order"],
            "sd": spread["value"],
            "sd_low": spread["low"],
            "sd_high": spread["high"],
            "sd_kind": spread["kind"],
        },
    )


def _kind(groups: Summaries, kind: str | None) -> str:
    several = bool((groups.n > 1).any())
    if kind is None:
        return KINDS[0] if several else "individuals and moving range"
    if kind not in KINDS:
        raise CannotJudge(f"There is no chart {kind!r}; known are {', '.join(KINDS)}.")
    if kind == "individuals and moving range" and several:
        raise CannotJudge("A chart of individuals takes single values, not subgroups of several.")
    if by_median(kind) and not groups.has_median:
        raise CannotJudge("The summaries hold no medians, so medians cannot be charted.")
    return kind


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
