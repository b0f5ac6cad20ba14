"""A run as the decision sees it: its streams with their tails, how still it held, what lay beyond.

Everything here is without limits and without criteria: one description serves any tolerance. Named
streams (stations, cavities, feeds) are described separately, and the worst of them decides; statistical control is
judged with each stream's own level and spread taken off, so that stations that alternate are no
correlation. Streams that were made one after the other (a coil or a shift in the column of stations) are
described too, but their levels stay in: what they differ by is then movement of the run.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.capability.lots.lot_draws import LotDraws, lot_draws
from linestudy.numerics.arrays import FloatArray
from linestudy.numerics.samples import as_sample, mean_and_sd
from linestudy.results import CannotJudge
from linestudy.stability.model.by_stroke import stability_tests_by_stroke
from linestudy.stability.model.rank_tests import ALLOWED, StabilityTests, with_chart
from linestudy.tails import Tails, tails
from linestudy.verdict.process.points import OutPoint, chart_points
from linestudy.verdict.process.tags import (
    MOST_STREAMS,
    Tags,
    coded,
    hours_and_days,
    in_stretches,
    subgroups_of,
)

if TYPE_CHECKING:
    from linestudy.stability.charts.chart_study import ChartStudy

#: Fewest values of a stream that is described separately; smaller ones stay with the whole.
LEAST_STREAM = 20
#: Standard deviations from their mean to a bound within which values of streams are taken to differ by a factor (a choice).
_NEAR_BOUND = 3.0
#: Level at which streams have different shapes. Beside a bound a stream that lies farther off has another shape than its
#: neighbours, and what one factor makes of both is true of neither, so that doubt counts sooner there.
_SHAPES, _SHAPES_BESIDE_BOUND = 0.001, 0.05
#: What values are called whose row names no stream where others do.
_NAMELESS = "no stream named"


@dataclass(frozen=True)
class Stream:
    """One named stream, or all values where none is named.

    Attributes
    ----------
    name : str
        Empty for all values.
    tails : Tails
    """

    name: str
    tails: Tails


@dataclass(frozen=True)
class Process:
    """A run without its limits.

    Attributes
    ----------
    n : int
    mean, sd, smallest, largest : float
        Of all values, in their unit.
    streams : tuple of Stream
    steady : StabilityTests
    inside : StabilityTests
        The same within lots, where two are named: what serial correlation is left there.
    points : tuple of OutPoint
        Beyond the chart's limits.
    expected_points : float
        How many chance would give, under the values' own distribution.
    coils, regrinds : int or None
        Coils seen and named regrinds inside the run; None where nothing names them.
    hours : float or None
    days : int or None
        From the first reading to the last, and days of the calendar; None without a clock.
    lots : LotDraws or None
        What the lots seen leave open about those to come; None where fewer than two are named.
    lots_seen : int or None
        Lots named (coils of a run, batches of a destructive test).
    one_by_one : bool
        Whether the streams were made one after the other, so that their levels and the run's movement are one.
    values : numpy.ndarray
        For counting what lies beyond limits.
    bound : float or None
        Physical bound below all values.
    """

    n: int
    mean: float
    sd: float
    smallest: float
    largest: float
    streams: tuple[Stream, ...]
    steady: StabilityTests
    inside: StabilityTests
    points: tuple[OutPoint, ...]
    expected_points: float
    subgroups: int
    coils: int | None
    regrinds: int | None
    hours: float | None
    days: int | None
    lots: LotDraws | None
    lots_seen: int | None
    one_by_one: bool
    values: FloatArray = field(repr=False, compare=False)
    bound: float | None = None


def describe(
    values: ArrayLike,
    tags: Tags | None = None,
    *,
    bound: float | None = None,
    seed: int | None = None,
) -> Process:
    """Describe a run.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    tags : Tags, optional
        Order, clock, coil, stream and subgroup of each reading; nothing when absent.
    bound : float, optional
        Physical bound below all values.
    seed : int, optional
        For the draws behind the expected points.

    Returns
    -------
    Process
        The process as far as its readings tell, without any limit.

    Raises
    ------
    CannotJudge
        Fewer than ten values, or hardly any that differ.

    See Also
    --------
    linestudy.verdict.judge : Holds it against limits and criteria.

    Examples
    --------
    >>> import numpy as np
    >>> describe(np.random.default_rng(1).normal(size=125)).n
    125
    """
    tags = tags or Tags()
    y = as_sample(values, least=10)
    if not np.ptp(y):
        raise CannotJudge("All values are the same, so nothing is known of their spread.")
    order = tags.orders(y.size)
    stream, names = _streams(tags, y.size)
    codes = subgroups_of(tags, y.size)
    rest = tags.without_wear(y)
    # Levels of streams made one after the other are movement as well: the two cannot be separated, and the whole counts too.
    one_by_one = stream is not None and in_stretches(stream)
    codes_of_streams, stream = stream, None if one_by_one and tags.timed else stream
    centred = _about_streams(rest, stream)
    first = stability_tests_by_stroke(rest, order, codes, stream)
    rho = float(np.clip(first.neighbours, 0.0, ALLOWED))
    seen = chart_points(centred, order, codes, rho, tags, seed, alone=first.alone)
    steady = first if seen is None else with_chart(first, seen.p)
    levels = tags.lots or (() if tags.coil is None else (tags.coil,))
    lots = _over_lots(y, levels, centred)
    # What lots to come may bring is counted by the lots; serial correlation then is that within them.
    inside = steady
    if lots is not None:
        within = _joint(stream, coded(levels[0]))
        inside = stability_tests_by_stroke(rest, order, codes, stream, within=within)
    described = _described(y, codes_of_streams, names, bound, inside)
    # Streams of a few values are judged with the whole; a name of one row does not prevent a stream's own judgement.
    if (one_by_one and tags.timed and len(described) > 1) or not _all_in(names):
        described += _described(y, None, [("", None)], bound, inside)
    mean, sd = mean_and_sd(y)
    return Process(
        int(y.size),
        float(mean),
        float(sd),
        float(y.min()),
        float(y.max()),
        tuple(described),
        steady,
        inside,
        () if seen is None else seen.found,
        0.0 if seen is None else seen.expected,
        steady.subgroups if tags.subgroup is not None else 0,
        None if tags.coil is None else _named(tags.coil),
        tags.regrinds(y.size),
        *hours_and_days(tags.time),
        lots,
        _named(levels[0]) if levels else None,
        one_by_one,
        y,
        bound,
    )


def _over_lots(y: Any, levels: Any, centred: Any) -> LotDraws | None:
    """Lay out what lots leave open, wear between named regrinds and the streams' own levels known."""
    if not levels:
        return None
    named = np.logical_and.reduce([coded(level) >= 0 for level in levels])
    if not named.any():
        return None
    try:
        return lot_draws(
            y[named], [np.asarray(level)[named] for level in levels], (y - centred)[named]
        )
    except CannotJudge:
        return None


def _named(labels: Any) -> int | None:
    """Count the labels; None where all are empty."""
    codes = coded(labels)
    return int(np.unique(codes[codes >= 0]).size) or None


def _joint(stream: Any, lot: Any) -> Any:
    """Number each stream in each lot."""
    return lot if stream is None else lot * (int(stream.max()) + 2) + stream + 1


def decision_chart(values: Any, tags: Tags | None = None, *, unit: str = "") -> Any:
    """Chart the subgroups that stability is judged by: named wear taken off, each stream about its own level.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    tags : Tags, optional
        As for :func:`describe`.
    unit : str
        Of the values.

    Returns
    -------
    ChartStudy
        Its signals are the points of the decision.

    Raises
    ------
    CannotJudge
        No chart can be drawn of so few values or subgroups.
    """
    from linestudy.stability import control_chart

    tags = tags or Tags()
    y = as_sample(values, least=10)
    order = tags.orders(y.size)
    centred = _about_streams(tags.without_wear(y), _side_by_side(tags, y.size))
    codes = subgroups_of(tags, y.size)
    used = codes >= 0
    return control_chart(centred[used], codes[used], order=order[used], unit=unit)


def limits_of_streams(chart: ChartStudy, values: Any, tags: Tags) -> dict[str, tuple[float, float]]:
    """Give each stream the limits of its own means, about its own level and in its own spread.

    Parameters
    ----------
    chart : ChartStudy
        Of :func:`decision_chart`, where all streams are brought to one level.
    values : array_like of float, shape (n,)
        In production order.
    tags : Tags
        As for :func:`describe`.

    Returns
    -------
    dict of str to (float, float)
        By stream, in the unit of the values; empty where one chart of all holds: without streams, and where a subgroup has parts of several.
    """
    y = as_sample(values, least=10)
    stream, codes = _side_by_side(tags, y.size), subgroups_of(tags, y.size)
    if stream is None or tags.stream is None:
        return {}
    used = codes >= 0
    pairs = np.unique(np.column_stack([codes[used], stream[used]]), axis=0)
    if len(pairs) > np.unique(pairs[:, 0]).size:
        return {}
    free, labels = tags.without_wear(y), np.asarray(tags.stream)
    middle, spread = float(free.mean()), _spread_of_largest(free, stream)
    found = {}
    for code in np.unique(stream[stream >= 0]):
        here = stream == code
        level, stretch = float(free[here].mean()), float(free[here].std()) / (spread or 1.0)
        low, high = (level + (limit - middle) * stretch for limit in chart.limits)
        found[str(labels[here][0])] = (low, high)
    return found


def _side_by_side(tags: Tags, n: int) -> Any:
    """Number each value's stream; None where there are none, or each was made in a stretch of its own."""
    stream, _ = _streams(tags, n)
    return None if stream is not None and tags.timed and in_stretches(stream) else stream


def _described(
    y: Any, codes: Any, names: list[tuple[str, Any]], bound: float | None, steady: StabilityTests
) -> list[Stream]:
    """Describe the tails of every stream; of all together where the streams have one shape."""
    share_mean, share_spread = steady.n_eff_mean / y.size, steady.n_eff_sd / y.size
    if len(names) > 1:
        z, about = np.full(y.size, np.nan), {}
        for name, here in names:
            mean, sd = mean_and_sd(y[here])
            about[name] = float(mean), float(sd), int(here.sum())
            if sd > 0:
                z[here] = (
                    (y[here] - mean) / sd if bound is None else (y[here] - bound) / (mean - bound)
                )
        held = ~np.isnan(z)
        z, codes = z[held], codes[held]
        level = _SHAPES if bound is None else _SHAPES_BESIDE_BOUND
        if _of_one_kind(list(about.values()), bound) and _one_shape(z, codes, level):
            shares = {"n_eff_mean": share_mean * z.size, "n_eff_sd": share_spread * z.size}
            if bound is None:
                shape = tails(z, bound=None, **shares)
                return [Stream(name, shape.moved(*known)) for name, known in about.items()]
            shape = tails(z, bound=0.0, **shares)
            # What describes none of them together may describe each.
            if shape.admissible:
                return [
                    Stream(name, shape.stretched(bound, *known)) for name, known in about.items()
                ]
    found = []
    for name, here in names:
        part = y if here is None else y[here]
        try:
            found.append(
                Stream(
                    name,
                    tails(
                        part,
                        bound=bound,
                        n_eff_mean=share_mean * part.size,
                        n_eff_sd=share_spread * part.size,
                    ),
                )
            )
        except CannotJudge:
            if here is None:
                raise
    return found or [
        Stream("", tails(y, bound=bound, n_eff_mean=steady.n_eff_mean, n_eff_sd=steady.n_eff_sd))
    ]


def _of_one_kind(about: list[tuple[float, float, int]], bound: float | None) -> bool:
    """Check whether streams may differ by level and spread alone; beside a bound that values come near, by one factor."""
    if not all(sd > 0 for _, sd, _ in about):
        return False
    return bound is None or all(0 < mean - bound < _NEAR_BOUND * sd for mean, sd, _ in about)


def _one_shape(z: Any, codes: Any, level: float) -> bool:
    """Test whether the streams' standardised values fall alike into five ranges (chi-square)."""
    from scipy.stats import chi2

    edges = np.quantile(z, [0.05, 0.25, 0.75, 0.95])
    ranges = np.searchsorted(edges, z)
    rows = np.unique(codes, return_inverse=True)[1]
    table = np.zeros((rows.max() + 1, 5))
    np.add.at(table, (rows, ranges), 1)
    expected = table.sum(1, keepdims=True) * table.sum(0) / table.sum()
    used = expected > 0
    statistic = float(((table - expected)[used] ** 2 / expected[used]).sum())
    return bool(chi2.sf(statistic, 4 * (table.shape[0] - 1)) > level)


def _streams(tags: Tags, n: int) -> tuple[Any, list[tuple[str, Any]]]:
    """Number each value's stream (or None), and list the streams to describe."""
    if tags.stream is None:
        return None, [("", None)]
    codes = coded(tags.stream)
    labels = np.asarray(tags.stream)
    kinds = np.unique(codes)
    if kinds.size < 2 or kinds.size > MOST_STREAMS:
        return None, [("", None)]
    large = [code for code in kinds if (codes == code).sum() >= LEAST_STREAM]
    found = [
        (str(labels[codes == code][0]) if code >= 0 else _NAMELESS, codes == code) for code in large
    ]
    return codes, found or [("", None)]


def _all_in(names: list[tuple[str, Any]]) -> bool:
    """Check whether every value lies in one of the streams described, or in the whole."""
    return names[0][1] is None or bool(np.logical_or.reduce([here for _, here in names]).all())


def _about_streams(y: Any, stream: Any) -> Any:
    """Bring each stream's level to that of all, and its spread to that of the largest stream."""
    if stream is None:
        return y
    out = y.astype(float).copy()
    middle, spread = float(y.mean()), _spread_of_largest(y, stream)
    for code in np.unique(stream):
        here = stream == code
        level, sd = float(y[here].mean()), float(y[here].std())
        if sd > 0:
            out[here] = middle + (y[here] - level) * spread / sd
    return out


def _spread_of_largest(y: Any, stream: Any) -> float:
    """Give the spread of the stream with most values: one row that names another stream, or none, has no spread."""
    codes, counts = np.unique(stream, return_counts=True)
    return float(y[stream == codes[counts.argmax()]].std())
