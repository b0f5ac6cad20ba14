"""Control charts of a run: where is the process, how wide is it, what is out.

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
from numpy.typing import ArrayLike

from linestudy.numerics.normal_intervals import sd_interval
from linestudy.results import CannotJudge, arguments, data_arguments
from linestudy.results.rounding import p_text
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
    location_name,
)
from linestudy.stability.charts.chart_study import CONTROL_CHARTS, ChartPhase, ChartStudy, Course
from linestudy.stability.charts.control_limits import Spread, false_locations
from linestudy.stability.charts.rules import select_rules
from linestudy.stability.summaries import Summaries, summarise


def control_chart(
    values: ArrayLike,
    subgroup: ArrayLike | None = None,
    order: ArrayLike | None = None,
    *,
    kind: str | None = None,
    rules: str | Iterable[str] = "three sigma",
    base: tuple[float, float] | None = None,
    phases: Sequence[float] = (),
    sigmas: float = 3.0,
    confidence: float = 0.95,
    unit: str = "",
) -> ChartStudy:
    r"""Chart a run by subgroups, or by single values where there are none.

    Parameters
    ----------
    values : array_like of float, shape (n,) or (m, k)
        In production order. A table of two dimensions is m subgroups of k values, one subgroup in each
        row, as textbooks print them.
    subgroup : array_like, shape (n,), optional
        Subgroup of each value; values whose subgroup is missing are left out.
        Without it every value is a point. Not together with values of two dimensions.
    order : array_like of float, shape (n,) or (m,), optional
        Order number of each value, or of each subgroup where values have two dimensions; 1, 2, … when
        absent.
    kind : str, optional
        One of :data:`CONTROL_CHARTS`; mean and standard deviation when absent, individuals where there
        are no subgroups of two.
    rules : str or iterable of str
        Name of a published set, or keys of rules, for the locations.
    base : tuple of float, optional
        First and last order number of the period that sets the limits; the whole run when absent.
    phases : sequence of float
        Order numbers at which a new centre is allowed (coil change, regrind); the spread within
        stays one. Not together with `base`.
    sigmas : float
        Distance of the limits in standard errors, above 0.
    confidence : float
        Of the interval of the standard deviation within subgroups, between 0 and 1.
    unit : str
        Of the values, for tables and sentences.

    Returns
    -------
    ChartStudy
        Limits, signals, and how many signals chance would give.

    Raises
    ------
    CannotJudge
        Fewer than two points, values that are missing or never differ within subgroups, a base
        period without points.
    ValueError, TypeError
        An unknown kind or rule, an argument outside its range, a table with named columns.

    See Also
    --------
    control_chart_of_summaries : The same from means and standard deviations of subgroups.
    residual_chart : For points that correlate.
    ewma_chart, cusum_chart : For small lasting shifts.
    run_length : How soon such a chart finds a shift.

    Notes
    -----
    Model: parts are independent and normal with one mean and one standard deviation :math:`\sigma`,
    estimated within subgroups (pooled, from ranges, or from moving ranges of two, as the chart's name
    says). The limits of a mean of :math:`n` parts are

    .. math:: \bar{\bar x} \pm 3\,\hat\sigma_{within}/\sqrt{n}

    Misleads on a line of several parts a second: neighbours are nearly the same part, so the
    spread within is smaller than that of the process and the limits too narrow; the chart then signals
    all day although nothing is wrong. The finding counts the signals that chance alone would
    give, and says when there are so many more that the limits, not the process, are to blame. The
    chart "mean between and within" takes the limits of the means from the means' own moving range
    instead and so lets the usual movement between subgroups pass. Where values are not normal, the
    signals expected are those of the same values in random order.

    References
    ----------
    ISO 7870-2:2013, clauses 5 to 8. ASTM MNL 7, 8th ed., part 3. Wheeler, *Advanced Topics in Statistical
    Process Control* (1995), ch. 9.

    Examples
    --------
    >>> study = control_chart([[1.0, 1.2], [1.1, 1.3], [1.0, 1.2]], unit="mm")
    >>> study.limits == (study.points.low[0], study.points.high[0])
    True
    >>> print(f"{study.centre:.3f}, SD within {study.within:.2f} {study.unit}")
    1.133, SD within 0.14 (0.08 to 0.53) mm
    """
    import pandas as pd

    _check_options(kind, sigmas, confidence)
    values, labels, order = _rows_as_subgroups(values, subgroup, order)
    if labels is not None and bool(pd.isna(pd.array(labels)).all()):
        labels = None
    groups = summarise(values, labels, order)
    study = control_chart_of_summaries(
        groups,
        kind=kind,
        rules=rules,
        base=base,
        phases=phases,
        sigmas=sigmas,
        confidence=confidence,
        unit=unit,
    )
    y = np.asarray(values, dtype=float)
    if labels is not None:
        y = y[np.asarray(~pd.isna(pd.array(labels)))]
    if not differs_from_normal(y):
        return study
    own, phase = base_and_phases(groups, base, phases)
    judge = partial(
        judge_points,
        kind=study.chart,
        own=own,
        phase=phase,
        rules=select_rules(rules),
        sigmas=sigmas,
    )
    expected = signals_in_random_order(y, groups.n, phase, lambda mixed: len(judge(mixed).signals))
    return replace(study, expected_false_signals=expected, expected_by=RANDOM_ORDER)


def _rows_as_subgroups(values: Any, subgroup: Any, order: Any) -> tuple[Any, Any, Any]:
    """Return values of one dimension; the rows of a table of two are subgroups."""
    if subgroup is not None and np.ndim(subgroup) != 1:
        raise ValueError(
            f"subgroup = {subgroup!r} cannot be used; it names the subgroup of each value. For subgroups of "
            "k neighbours give values as an array of shape (m, k)."
        )
    if np.ndim(values) != 2 or hasattr(values, "columns"):
        return values, subgroup, order
    table = np.asarray(values)
    m, k = table.shape
    if subgroup is not None:
        raise ValueError(
            f"values has shape ({m}, {k}), so each row is a subgroup; subgroup cannot be given too."
        )
    if order is None:
        position = np.arange(1.0, m * k + 1)
    else:
        arguments.same_length(values=table, order=order)
        position = np.repeat(data_arguments.one_dimensional(order, name="order"), k)
    return table.ravel(), np.repeat(np.arange(m), k) if k > 1 else None, position


def _check_options(kind: str | None, sigmas: float, confidence: float) -> None:
    if kind is not None:
        arguments.one_of("kind", kind, CONTROL_CHARTS)
    arguments.number("sigmas", sigmas, above=0)
    arguments.share("confidence", confidence)


def control_chart_of_summaries(
    groups: Summaries,
    *,
    kind: str | None = None,
    rules: str | Iterable[str] = "three sigma",
    base: tuple[float, float] | None = None,
    phases: Sequence[float] = (),
    sigmas: float = 3.0,
    confidence: float = 0.95,
    unit: str = "",
) -> ChartStudy:
    """Chart a run from the summaries of its subgroups.

    Parameters
    ----------
    groups : Summaries
        From ``summarise`` or ``summaries_from_table``.
    kind : str, optional
        One of :data:`CONTROL_CHARTS`.
    rules : str or iterable of str
        Name of a published set, or keys of rules, for the locations.
    base : tuple of float, optional
        First and last order number of the period that sets the limits.
    phases : sequence of float
        Order numbers at which a new centre is allowed.
    sigmas : float
        Distance of the limits in standard errors, above 0.
    confidence : float
        Of the interval of the standard deviation within subgroups, between 0 and 1.
    unit : str
        Of the values, for tables and sentences.

    Returns
    -------
    ChartStudy
        As :func:`control_chart` gives it; signals expected by chance are those of normal parts.

    Raises
    ------
    CannotJudge
        As :func:`control_chart`; also medians asked of summaries that hold none.
    ValueError, TypeError
        As :func:`control_chart`.

    See Also
    --------
    control_chart : Model, formula, and when it misleads.
    summaries_from_table : Summaries made elsewhere, for instance in a data base.

    Notes
    -----
    Model and formula as for :func:`control_chart`. Misleads where values are not normal: the
    values themselves are not at hand to be put in random order.

    References
    ----------
    ISO 7870-2:2013. Burr, *Journal of Quality Technology* 1 (1969), 163-167 (unequal subgroups).

    Examples
    --------
    >>> from linestudy.stability.summaries import summarise
    >>> groups = summarise([1.0, 1.2, 1.1, 1.3], [0, 0, 1, 1])
    >>> round(control_chart_of_summaries(groups, kind="mean and range").sd_within, 4)
    0.1772
    """
    _check_options(kind, sigmas, confidence)
    kind = _kind(groups, kind)
    if groups.size < 2:
        raise CannotJudge("There is one subgroup only; a chart needs several.")
    own, phase = base_and_phases(groups, base, phases)
    picked = select_rules(rules)
    found = judge_points(groups, kind, own, phase, picked, sigmas)
    within, half_unit = found.within, found.half_unit
    total = found.centre_variance
    if by_median(kind):
        total = found.variance * total
    false = false_locations(found.variance, own, total, half_unit, sigmas)
    lengths = np.bincount(phase)
    rates = [(r.rate, r.m) for r in picked if r.key != "beyond"]
    false = (false if any(r.key == "beyond" for r in picked) else 0.0) + sum(
        rate * float(np.maximum(lengths - m + 1, 0).sum()) for rate, m in rates
    )
    false += false_spreads(found, groups, own, sigmas)
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
        signals=tuple(sorted(found.signals, key=lambda s: (s.point, s.kind, s.rule))),
        expected_false_signals=float(false),
        expected_by=NORMAL_PARTS,
        rules=tuple(rule.key for rule in picked),
        in_control_run_length=_in_control(picked, sigmas),
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
        points=Course(
            location_name(kind),
            groups.order,
            location,
            found.centres - found.half,
            found.centres + found.half,
        ),
        spread_points=found.spread,
    )


def _kind(groups: Summaries, kind: str | None) -> str:
    several = bool((groups.n > 1).any())
    if kind is None:
        return CONTROL_CHARTS[0] if several else "individuals and moving range"
    if kind == "individuals and moving range" and several:
        raise CannotJudge("A chart of individuals takes single values, not subgroups of several.")
    if by_median(kind) and not groups.has_median:
        raise CannotJudge("The summaries hold no medians, so medians cannot be charted.")
    return kind


def _squares(groups: Summaries) -> tuple[float, float, float]:
    """Compute sums of squares between and within subgroups, and the degrees of freedom within."""
    offset = float(groups.mean.mean())
    count = float(groups.n.sum())
    middle = float((groups.n * (groups.mean - offset)).sum()) / count
    between = float((groups.n * (groups.mean - offset - middle) ** 2).sum())
    return between, float(groups.squares.sum()), count - groups.size


def _overall(groups: Summaries) -> float:
    """Compute the standard deviation of all values from the summaries of the subgroups."""
    between, within, _ = _squares(groups)
    return math.sqrt((within + between) / (float(groups.n.sum()) - 1))


def _in_control(rules: Any, sigmas: float) -> float | None:
    from linestudy.stability.charts.run_lengths import average_run_length

    if sigmas != 3.0 or not all(rule.has_zones for rule in rules):
        return None
    return average_run_length([rule.key for rule in rules])


def _phases(groups: Summaries, phase: Any, centres: Any) -> tuple[ChartPhase, ...]:
    first = np.unique(phase, return_index=True)[1]
    counts = np.bincount(phase)
    return tuple(
        ChartPhase(float(groups.order[i]), int(c), float(centres[i]))
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
            "that within), so limits from the within-subgroup SD give false alarms and Cpk would overstate capability."
        )
    if between is None and overall < 0.97 * within and (mixed := _mixed(groups)):
        notes.append(mixed)
    return tuple(notes)


#: Level of the test that neighbours differ more than chance lets them, for each chart.
_MIXED = 0.01


def _mixed(groups: Summaries) -> str:
    """Say where neighbours differ more than parts of different times; empty where chance explains it.

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
            f"Neighbouring values differ more than chance lets them ({p_text(p)}): they alternate (stations that "
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
        f"({p_text(p)}): each subgroup mixes sources that differ (stations that alternate, for instance), so "
        "limits are too wide to see a shift."
    )
