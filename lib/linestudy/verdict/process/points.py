"""Points beyond the chart's limits, one by one, and how many of them chance would give.

Model: had the process held still, subgroups would be draws from one distribution of the shape that
the values have, their neighbours correlated as far as `stability_tests` allows. So many such subgroups
are drawn (normal scores of an autoregression carried to the quantiles of the values), brought to
the chart's own centre and spread within subgroups, and counted beyond the chart's own limits: the
share of them beyond, times the points, is expected. For skewed or heavy-tailed values that is a
multiple of what normal theory says. The count found is held against a Poisson distribution with
that mean and the doubt of the draws.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from linestudy.numerics import generator
from linestudy.results import CannotJudge

#: Subgroups drawn for the expectation.
_DRAWN = 12_000
#: Constants of moving ranges of two (ISO 7870-2).
_D2, _D4 = 1.128, 3.267


@dataclass(frozen=True)
class OutPoint:
    """One point beyond a limit of the chart.

    Attributes
    ----------
    point : int
        From 1.
    order : float
        Stroke of its first part.
    time : str
        Of its first part; empty where not recorded.
    coil, stream : str
        Of its parts; several are listed.
    kind, rule : str
        What was charted, and which rule it breaks.
    value : float
        In the unit of the values (about the stream's own level where there are several).
    cause : str
        Name of an event inside the subgroup's stretch, or a cause that study.toml gives; else a change of
        coil or a pause that the record shows; empty where nothing is known.
    """

    point: int
    order: float
    time: str
    coil: str
    stream: str
    kind: str
    rule: str
    value: float
    cause: str = ""


@dataclass(frozen=True)
class ChartPoints:
    """What the chart shows and what chance would."""

    found: tuple[OutPoint, ...]
    expected: float
    p: float
    points: int


def chart_points(
    y: Any,
    order: Any,
    codes: Any,
    rho: float,
    tags: Any,
    seed: int | None = None,
    *,
    alone: float = 1.0,
) -> ChartPoints | None:
    """Chart subgroups of the values and count what lies beyond.

    Parameters
    ----------
    y, order : numpy.ndarray of float, shape (n,)
    codes : numpy.ndarray of int, shape (n,)
        Subgroup, -1 for none.
    rho : float
        Correlation of neighbours that the process is allowed.
    tags : Tags
        For what is known of each point.
    seed : int, optional
    alone : float
        Points of one stretch of strokes per effective point (design effect), where its streams are correlated.

    Returns
    -------
    ChartPoints or None
        None where no chart can be drawn.
    """
    used = codes >= 0
    values, groups = y[used], codes[used]
    sizes = np.bincount(groups)
    try:
        size = int(np.median(sizes[sizes > 0])) if values.size else 0
        study = _chart(values, groups, order[used], alone=size < 2)
    except CannotJudge:
        return None
    expected = _expected(y, study, size, rho, seed)
    found = tuple(_point(signal, used, groups, order[used], tags) for signal in study.signals)
    return ChartPoints(
        found,
        expected,
        _p(round(len(found) / alone), expected / alone, study.n_subgroups),
        study.n_subgroups,
    )


def _chart(values: Any, groups: Any, order: Any, *, alone: bool) -> Any:
    """Chart the values; what chance signals in random order, which takes most of the time, only for values that stand alone."""
    from linestudy.stability import control_chart
    from linestudy.stability.charts.shewhart import control_chart_of_summaries
    from linestudy.stability.summaries import summarise

    if alone:
        return control_chart(values, groups, order=order)
    return control_chart_of_summaries(summarise(values, groups, order))


def _p(count: int, expected: float, points: int) -> float:
    from scipy.special import bdtrc, pdtrc

    if count == 0:
        return 1.0
    # Limits are set from the points themselves: with few of them the count varies more than chance's.
    spread = expected * (1 + 3 / np.sqrt(max(points, 1)))
    if spread < points:
        return float(max(pdtrc(count - 1, spread), 1e-300))
    return float(max(bdtrc(count - 1, 2 * points, 0.5), 1e-300))


def _expected(y: Any, study: Any, size: int, rho: float, seed: int | None) -> float:
    if size < 2:
        return _expected_alone(y, study, rho, seed)
    ranked = np.sort(y)
    drawn = ranked[(_shares(size, round(rho, 2), seed) * ranked.size).astype(np.intp)]
    within = float(np.sqrt(drawn.var(axis=1, ddof=1).mean()))
    if within <= 0:
        return float(study.expected_false_signals)
    drawn = study.centre + (drawn - drawn.mean()) * (study.sd_within / within)
    means = drawn.mean(axis=1)
    sds = drawn.std(axis=1, ddof=1)
    low, high = study.limits
    beyond = float(((means < low) | (means > high)).mean())
    b3, b4 = _spread_limits(size, study.sd_within)
    return (beyond + float(((sds < b3) | (sds > b4)).mean())) * int(study.n_subgroups)


def _expected_alone(y: Any, study: Any, rho: float, seed: int | None) -> float:
    """Count the expected signals of single values and their moving ranges, whose limits correlated neighbours narrow."""
    from scipy.special import ndtr

    if rho < 0.02:
        return float(study.expected_false_signals)
    from scipy.signal import lfilter

    rho = round(rho, 2)
    z = generator(seed, "chart points alone").standard_normal(_DRAWN) * np.sqrt(1 - rho * rho)
    share = np.minimum(ndtr(lfilter([1.0], [1.0, -rho], z)), 1 - 1e-12)
    drawn = np.sort(y)[(share * y.size).astype(np.intp)]
    ranges = np.abs(np.diff(drawn))
    mean = float(ranges.mean())
    reach = 3 * mean / _D2
    beyond = float((np.abs(drawn - drawn.mean()) > reach).mean())
    return (beyond + float((ranges > _D4 * mean).mean())) * int(study.n_subgroups)


@lru_cache(maxsize=16)
def _shares(size: int, rho: float, seed: int | None) -> Any:
    """Draw shares of a distribution at which subgroups of neighbours lie; the same draws for every chart."""
    from scipy.special import ndtr

    z = generator(seed, "chart points").standard_normal((_DRAWN, size))
    for j in range(1, size):
        z[:, j] = rho * z[:, j - 1] + np.sqrt(1 - rho * rho) * z[:, j]
    return np.minimum(ndtr(z), 1 - 1e-12)


def _spread_limits(size: int, sigma: float) -> tuple[float, float]:
    from linestudy.stability import sd_limits

    low, _, high = sd_limits(size)
    return float(low) * sigma, float(high) * sigma


def _point(signal: Any, used: Any, groups: Any, order: Any, tags: Any) -> OutPoint:
    where = np.flatnonzero(used)
    starts = np.unique(groups, return_index=True)[1]
    at = int(where[starts[signal.point - 1]])

    inside = where[groups == groups[starts[signal.point - 1]]]

    def tag(column: Any) -> str:
        return "" if column is None else str(np.asarray(column)[at])

    def tags_inside(column: Any) -> str:
        """List every label in the subgroup: neighbours may come from several stations."""
        if column is None:
            return ""
        return ", ".join(dict.fromkeys(str(v) for v in np.asarray(column)[inside]))

    # An event since the subgroup before, or inside this one, is named; whether it is the cause is not known.
    before = order[starts[signal.point - 2]] if signal.point > 1 else -np.inf
    last = order[groups == groups[starts[signal.point - 1]]].max()
    named = [name for mark, name in tags.events if before < mark <= last]
    return OutPoint(
        int(signal.point),
        float(signal.order),
        tag(tags.time),
        tags_inside(tags.coil),
        tags_inside(tags.stream),
        str(signal.kind),
        str(signal.rule),
        float(signal.value),
        f"event: {named[-1]}"
        if named
        else _known_before(signal, groups, where, inside, starts, tags),
    )


#: Pauses that are reported with a point: so many usual steps of the clock, and at least a minute.
_PAUSE, _A_MINUTE = 50.0, 60.0


def _known_before(signal: Any, groups: Any, where: Any, inside: Any, starts: Any, tags: Any) -> str:
    """Say what the record itself shows of the time before a point: another coil, or a pause."""
    if signal.point < 2:
        return ""
    earlier = where[groups == groups[starts[signal.point - 2]]]
    if tags.coil is not None:
        coils = np.asarray(tags.coil)
        before, now = str(coils[earlier[-1]]), [str(v) for v in coils[inside]]
        other = next((coil for coil in now if coil != before), "")
        if other:
            return f"coil changed from {before} to {other}"
    clock = None if tags.time is None else np.asarray(tags.time)
    if clock is None or clock.dtype.kind != "M":
        return ""
    # Between the subgroup before and the end of this one, part by part.
    stretch = clock[earlier[-1] : inside[-1] + 1].astype("datetime64[ms]").astype(float) / 1000
    steps = np.diff(stretch)
    usual = np.diff(clock[: min(clock.size, 2000)].astype("datetime64[ms]").astype(float)) / 1000
    if not steps.size or not np.isfinite(steps).all():
        return ""
    if steps.max() > max(_PAUSE * float(np.median(usual)), _A_MINUTE):
        return f"pause of {steps.max() / 60:,.0f} minutes"
    return ""
