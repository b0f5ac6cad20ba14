"""Points of a Shewhart chart: their centres and limits, and what the limits and the rules signal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from linestudy.numerics.arrays import BoolArray, FloatArray, IntArray
from linestudy.results import CannotJudge
from linestudy.stability.charts.chart_study import ChartSignal, Course
from linestudy.stability.charts.control_limits import (
    Spread,
    false_moving_ranges,
    false_ranges,
    false_sds,
    from_moving_ranges,
    from_ranges,
    median_variance,
    moving_range_half,
    pooled,
    range_half,
    sd_half,
)
from linestudy.stability.charts.rules import complete_at
from linestudy.stability.summaries import Summaries


def by_median(kind: str) -> bool:
    """Check whether a chart shows medians."""
    return kind == "median and range"


def location_name(kind: str) -> str:
    """Name the measure of location that a chart shows."""
    return {"median and range": "median", "individuals and moving range": "value"}.get(kind, "mean")


@dataclass(frozen=True)
class ChartPoints:
    """Points with their limits and signals; one entry for each point unless it says otherwise.

    Attributes
    ----------
    location, weight, variance : numpy.ndarray of float
        What is charted, its weight in the centre, and its variance in sigma squared.
    centres, centre_variance, half : numpy.ndarray of float
        Centre of its phase, the centre's variance in units of a weight of one, distance of the limits.
    within, half_unit : Spread
        Spread within subgroups, and the one that limits of the locations come from.
    spread : Course
        The other half of the chart.
    spread_at : numpy.ndarray of int
        Which subgroups its points belong to.
    signals : list of ChartSignal
    """

    location: FloatArray
    weight: FloatArray
    variance: FloatArray
    centres: FloatArray
    centre_variance: FloatArray
    half: FloatArray
    within: Spread
    half_unit: Spread
    spread: Course
    spread_at: IntArray
    signals: list[ChartSignal]


def judge_points(
    groups: Summaries, kind: str, own: Any, phase: Any, rules: Any, sigmas: float
) -> ChartPoints:
    """Set the limits of a chart and find what they and the rules signal."""
    single = kind == "individuals and moving range"
    location = groups.median if by_median(kind) else groups.mean
    one_each = single or by_median(kind) or kind == "mean between and within"
    weight = np.ones(groups.size) if one_each else groups.n
    centres, total = _centres(location, weight, own, phase)
    setters = groups.where(own)
    if single:
        within = from_moving_ranges(location[own], phase[own])
        variance = np.ones(groups.size)
    else:
        within = from_ranges(setters) if kind.endswith("range") else pooled(setters)
        variance = median_variance(groups.n) if by_median(kind) else 1 / groups.n
    half_unit = within
    if kind == "mean between and within":
        half_unit = from_moving_ranges(location[own], phase[own])
        variance = np.ones(groups.size)
    half = sigmas * half_unit.sd * np.sqrt(variance)
    # Trends and runs of a later phase begin anew.
    z = (location - centres) / (half / sigmas)
    signals = _location_signals(rules, z, phase, location, groups.order, kind, sigmas)
    at, spread = _spread_half(kind, groups, phase, within, sigmas)
    signals += _spread_signals(at, spread)
    return ChartPoints(
        location, weight, variance, centres, total, half, within, half_unit, spread, at, signals
    )


def base_and_phases(
    groups: Summaries, base: tuple[float, float] | None, phases: Sequence[float]
) -> tuple[Any, Any]:
    """Find the points that set the limits, and the phase of every point."""
    own = np.ones(groups.size, dtype=bool)
    if base is not None:
        if len(phases):
            raise ValueError("base and phases are both given; limits come from one or the other.")
        own = (groups.order >= base[0]) & (groups.order <= base[1])
        if own.sum() < 2:
            raise CannotJudge("The base period holds fewer than two points.")
    marks = np.sort(np.asarray(phases, dtype=float))
    phase = np.searchsorted(marks, groups.order, side="right")
    return own, np.unique(phase, return_inverse=True)[1]


def _centres(location: Any, weight: Any, own: Any, phase: Any) -> tuple[Any, Any]:
    """Compute the centre of each point's phase, and its variance in units of a weight-one point's."""
    offset = float(location.mean())
    used = np.where(own, weight, 0.0)
    total = np.bincount(phase, used)
    middle = np.bincount(phase, used * (location - offset)) / total
    return offset + middle[phase], (1 / total)[phase]


def _location_signals(
    rules: Any, z: Any, phase: Any, location: Any, order: Any, kind: str, sigmas: float
) -> list[ChartSignal]:
    name = location_name(kind)
    ends = np.flatnonzero(np.diff(phase)) + 1
    found = []
    for rule in rules:
        if rule.key == "beyond":
            hit = np.abs(z) > sigmas
        else:
            hit = np.concatenate([complete_at(rule, piece) for piece in np.split(z, ends)])
        found += [
            ChartSignal(int(i) + 1, float(order[i]), name, rule.key, float(location[i]))
            for i in np.flatnonzero(hit)
        ]
    return found


def _spread_half(
    kind: str, groups: Summaries, phase: Any, within: Spread, sigmas: float
) -> tuple[IntArray, Course]:
    if kind == "individuals and moving range":
        inside = np.flatnonzero(np.diff(phase) == 0) + 1
        moves = np.abs(groups.mean[inside] - groups.mean[inside - 1])
        high = np.full(moves.size, moving_range_half(within, sigmas))
        low = np.zeros(moves.size)
        return inside, Course("moving range", groups.order[inside], moves, low, high)
    index = np.flatnonzero(groups.n > 1)
    several = groups.where(index)
    ranges = kind.endswith("and range")
    low, high = (range_half if ranges else sd_half)(several, within, sigmas)
    if ranges:
        return index, Course("range", several.order, several.range, low, high)
    return index, Course("standard deviation", several.order, several.sd, low, high)


def false_spreads(found: ChartPoints, groups: Summaries, own: BoolArray, sigmas: float) -> float:
    """Compute the expected number of signals of the other half of a chart by chance, for normal parts."""
    index, what = found.spread_at, found.spread.what
    if what == "moving range":
        return false_moving_ranges(index.size, sigmas)
    several = groups.where(index)
    if what == "range":
        return false_ranges(several, own[index], sigmas)
    return false_sds(several, own[index], found.within, sigmas)


def _spread_signals(at: IntArray, spread: Course) -> list[ChartSignal]:
    return [
        ChartSignal(
            int(at[i]) + 1, float(spread.order[i]), spread.what, "beyond", float(spread.value[i])
        )
        for i in np.flatnonzero(spread.out)
    ]
