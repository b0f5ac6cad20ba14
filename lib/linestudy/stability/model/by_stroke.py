"""The tests of control for streams made side by side, several parts to a stroke.

Model under test: what the parts of one stroke have in common (the strip's thickness, the press) may be anything, and strokes follow
each other as values do in `rank_tests`. Parts of one stroke are then no neighbours in time: taken as such, a tool whose lanes
correlate within their stroke by 0.3 was said to move in two of three runs that held still. So every stream is tested by itself, and
so is the mean of all streams in each stroke, where a common movement is visible; the p-values of one test are put
together by Cauchy's combination, which allows for what streams have in common.

Where streams rise and fall together, each one's level is tested once more with that taken off: what is left of its scores after
least squares on the mean score of the others in the same stroke. A lane that leaves the others is seen sooner there, as
its scatter is smaller. Streams that take turns, one part to a stroke, are tested together and each by itself; p-values of
the single ones for level, and for spread, are put together into one each. What neighbours have in common may be more in it than in the stream itself; where it is more than is allowed a
stream, nothing is concluded. It misleads where a part's number does not tell its stroke.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from linestudy.stability.model.combination import combined
from linestudy.stability.model.named_wear import without_wear
from linestudy.stability.model.rank_tests import (
    ALLOWED,
    ONE_OF_SEVERAL,
    StabilityTests,
    inside_subgroups,
    normal_scores,
    put_together,
    stability_tests,
)
from linestudy.stability.model.spread_patterns import SpreadChange, chance_of_parts, spread_change

#: Numbers for each part below which parts share their strokes; least share of whole strokes that speak for all.
_SHARED, _WHOLE = 0.75, 0.5
#: Parts of a stream that are a subgroup where those named hold several streams.
_NEIGHBOURS = 5
#: Correlation of a stream with the others from which it is held against them (a choice: a tenth of its variance or more is
#: theirs), and fewest strokes in which all are there.
_TOGETHER, _STROKES = 0.3, 40
#: Subgroups of a stream from which it is tested by itself as well where streams take turns.
_LEAST_GROUPS = 8


def side_by_side(order: Any, stream: Any) -> bool:
    """Tell whether streams share their strokes.

    Parameters
    ----------
    order : numpy.ndarray of float, shape (n,)
    stream : numpy.ndarray of int, shape (n,), or None

    Returns
    -------
    bool
    """
    return stream is not None and bool(np.unique(order).size < _SHARED * order.size)


def stability_tests_by_stroke(
    y: Any,
    order: Any,
    subgroup: Any,
    stream: Any = None,
    resets: tuple[float, ...] = (),
    *,
    within: Any = None,
) -> StabilityTests:
    """Test whether the process is in statistical control, whatever parts of one stroke have in common.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
        In production order.
    order : numpy.ndarray of float, shape (n,)
        Strokes.
    subgroup : numpy.ndarray of int, shape (n,)
        -1 for values that belong to none.
    stream : numpy.ndarray of int, shape (n,), optional
    resets : tuple of float
        Named regrinds.
    within : numpy.ndarray of int, shape (n,), optional
        What values are ranked within; the stream when absent.

    Returns
    -------
    StabilityTests

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> strip, lane, stroke = rng.normal(size=500), np.tile([0, 1], 500), np.repeat(np.arange(500.0), 2)
    >>> y = np.repeat(strip, 2) + 0.5 * rng.normal(size=1000)
    >>> group = (stroke // 5 * 2 + lane).astype(int)
    >>> stability_tests_by_stroke(y, stroke, group, lane).p > 0.005
    True
    """
    ranked = stream if within is None else within
    if not side_by_side(order, stream):
        found = stability_tests(y, order, subgroup, ranked, resets)
        return found if stream is None else _and_alone(found, y, order, subgroup, stream, resets)
    rest, slope = without_wear(y, order, resets)
    mixed = _mixed(subgroup, stream)
    lanes = []
    for code in np.unique(stream):
        rows = np.flatnonzero(stream == code)
        own = _by_neighbours(rows.size) if mixed else subgroup[rows]
        lanes.append(stability_tests(rest[rows], order[rows], own, ranked[rows]))
    stroke, first, at = np.unique(order, return_index=True, return_inverse=True)
    held = np.bincount(at)
    mean = np.bincount(at, normal_scores(rest, ranked)) / held
    whole = held == held.max()
    used = whole if whole.mean() >= _WHOLE else np.ones(stroke.size, dtype=bool)
    groups = _by_neighbours(int(used.sum())) if mixed else subgroup[first][used]
    common = stability_tests(mean[used], stroke[used], groups)
    tests = {
        name: combined([one.tests[name] for one in (*lanes, common) if name in one.tests])
        for name in dict.fromkeys(name for one in (*lanes, common) for name in one.tests)
    }
    against: dict[str, list[float]] = {}
    leaving = 0.0
    every = held == np.unique(stream).size
    codes = _by_neighbours(int(every.sum())) if mixed else subgroup[first][every]
    for one, variance in _against_the_others(rest, ranked, at, stream, every, stroke, codes):
        leaving = max(leaving, one.level_share * variance)
        for name in one.tests:
            if name.startswith("level"):
                against.setdefault(ONE_OF_SEVERAL + name.removeprefix("level"), []).append(
                    one.tests[name]
                )
    tests |= {name: combined(ps) for name, ps in against.items()}
    parts, variance = float(held[used].mean()), float(mean[used].var())
    alike = float(np.clip((variance * parts - 1) / (parts - 1), 0.0, 1.0))
    return StabilityTests(
        put_together(tests) if tests else 1.0,
        tests,
        float(np.mean([one.neighbours for one in lanes])),
        max(*(one.level_share for one in lanes), common.level_share * variance, leaving),
        max(one.sd_share for one in lanes),
        max(sum(one.n_eff_mean for one in lanes) / (1 + (parts - 1) * alike), 2.0),
        max(sum(one.n_eff_sd for one in lanes) / (1 + (parts - 1) * alike**2), 4.0),
        sum(one.subgroups for one in lanes),
        slope,
        alone=1 + (parts - 1) * alike,
    )


def _and_alone(
    found: StabilityTests, y: Any, order: Any, subgroup: Any, stream: Any, resets: tuple[float, ...]
) -> StabilityTests:
    """Add what each stream shows by itself where streams take turns: among all, one of six that spreads more is hardly seen."""
    if _mixed(subgroup, stream):
        return found
    rest, _ = without_wear(y, order, resets)
    alone = []
    for code in np.unique(stream[stream >= 0]):
        rows = np.flatnonzero(stream == code)
        charted = subgroup[rows][subgroup[rows] >= 0]
        if charted.size < rows.size and charted.size < _STROKES:
            continue
        if np.unique(charted).size >= _LEAST_GROUPS:
            alone.append(stability_tests(rest[rows], order[rows], subgroup[rows]))
    if len(alone) < 2:
        return found
    tests = dict(found.tests)
    for kind in ("level", "spread"):
        own = [p for one in alone for name, p in one.tests.items() if name.startswith(kind)]
        if own:
            tests[f"{kind} of one stream"] = combined(own)
    return replace(
        found,
        tests=tests,
        p=put_together(tests),
        level_share=max(found.level_share, *(one.level_share for one in alone)),
        sd_share=max(found.sd_share, *(one.sd_share for one in alone)),
    )


def _against_the_others(
    rest: Any, ranked: Any, at: Any, stream: Any, every: Any, stroke: Any, groups: Any
) -> Iterator[tuple[StabilityTests, float]]:
    """Test each stream without what it has in common with the others, and give the variance that is left.

    Only strokes that all streams are in (`every`) count; `at` is the place of each value's stroke.
    """
    count = int(every.sum())
    if count < max(_STROKES, _WHOLE * every.size) or (groups >= 0).sum() < _STROKES:
        return
    used = every[at]
    place = np.cumsum(every) - 1
    code = np.unique(stream[used], return_inverse=True)[1]
    table = np.full((count, int(code.max()) + 1), np.nan)
    table[place[at[used]], code] = normal_scores(rest, ranked)[used]
    if np.isnan(table).any():
        return
    for k in range(table.shape[1]):
        own, others = table[:, k], np.delete(table, k, axis=1).mean(axis=1)
        own, others = own - own.mean(), others - others.mean()
        scale = float(np.sqrt((own @ own) * (others @ others)))
        if not scale > 0 or own @ others < _TOGETHER * scale:
            continue
        left = own - (own @ others) / (others @ others) * others
        variance = float(left.var())
        if variance < 1e-9 or inside_subgroups(left, groups) >= ALLOWED:
            continue
        yield stability_tests(left, stroke[every], groups), variance


def _mixed(subgroup: Any, stream: Any) -> bool:
    """Check whether a subgroup holds parts of several streams."""
    used = subgroup >= 0
    pairs = np.unique(np.column_stack([subgroup[used], stream[used]]), axis=0)
    return bool(len(pairs) > np.unique(subgroup[used]).size)


def _by_neighbours(n: int) -> Any:
    codes = np.arange(n) // _NEIGHBOURS
    codes[codes == n // _NEIGHBOURS] = -1
    return codes


def spread_by_stream(
    rest: Any, groups: Any, stream: Any, whole: Any, labels: Any = None
) -> SpreadChange | None:
    """Test whether the spread within subgroups changes, stream by stream.

    Parameters
    ----------
    rest : numpy.ndarray of float, shape (n,)
        Parts less their subgroup's mean.
    groups, stream : numpy.ndarray of int, shape (n,)
        Subgroup, numbered from 0, and stream of each part.
    whole : numpy.ndarray of float, shape (n,)
        Parts less what moves their subgroups.
    labels : numpy.ndarray of int, shape (subgroups,), optional
        Batch of each.

    Returns
    -------
    SpreadChange or None
        Of the stream where it is plainest, its p-value times their number; None where subgroups hold several streams, or
        a stream has fewer than eight of two parts.
    """
    if _mixed(groups, stream):
        return None
    found = []
    for code in np.unique(stream):
        rows = np.flatnonzero(stream == code)
        named, own = np.unique(groups[rows], return_inverse=True)
        sizes, part = np.bincount(own), rest[rows]
        if (sizes > 1).sum() < 8 or not np.any(part):
            return None
        chance = chance_of_parts(part, own, sizes, whole[rows])
        squares = np.bincount(own, part * part).astype(float)
        found.append(
            spread_change(squares, sizes, chance, None if labels is None else labels[named])
        )
    worst = min(found, key=lambda one: one.p)
    return SpreadChange(min(worst.p * len(found), 1.0), worst.size, worst.kind)
