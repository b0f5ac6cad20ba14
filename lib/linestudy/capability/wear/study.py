"""Tool life: capability of a fresh, a half-worn and a worn tool and over the whole sawtooth, and when to regrind."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from linestudy.capability.wear.remainder import Remainder
from linestudy.capability.wear.tool_life_finding import Regrind, Sawtooth, ToolLifeStudy
from linestudy.capability.wear.trend import Trend, sawtooth
from linestudy.numerics import generator
from linestudy.numerics.arrays import FloatArray
from linestudy.results import (
    Absent,
    CannotJudge,
    Interval,
    arguments,
    counted,
    data_arguments,
)
from linestudy.results.rounding import p_text, show_in
from linestudy.results.tables import over_strokes, strokes_for_slopes

_DRAWS = 1000
#: p of no wear below which a life and its regrinds are planned: at 0.05 one of twenty characteristics that do not wear has one.
PLANNED = 0.001
#: Share of the wear that a regrind is to take back.
_TAKEN_BACK = 0.5


def tool_life(
    values: ArrayLike,
    order: ArrayLike,
    lower: float | None = None,
    upper: float | None = None,
    *,
    resets: Sequence[float] = (),
    unnamed: int = 0,
    station: ArrayLike | None = None,
    batch: ArrayLike | None = None,
    index: float = 1.33,
    subgroup_size: int = 5,
    drift: Interval | None = None,
    over: int | None = None,
    confidence: float = 0.95,
    seed: int | None = None,
    unit: str = "",
) -> ToolLifeStudy:
    r"""Estimate capability over the life of a tool, and when to grind it.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    order : array_like of float, shape (n,)
        Stroke of each part.
    lower, upper : float, optional
        Tolerance limits in the unit of the values; at least one.
    resets : sequence of float
        Strokes at which the tool was ground or set anew.
    unnamed : int
        How many of them nobody named.
    station : array_like of shape (n,), optional
        Stream of each part; the worst stream counts.
    batch : array_like of shape (n,), optional
        Batch (coil) of each part; the doubt that their own levels leave about slope and level is then in every interval.
    index : float
        Index that the parts made last are to have.
    subgroup_size : int
        Parts of a subgroup whose mean is held against the acceptance control limit.
    drift : Interval, optional
        Drift of the gauge per thousand strokes, in the unit of the values.
    over : int, optional
        Strokes to which slopes are reported; chosen by their size when absent.
    confidence : float
        Of the intervals, between 0 and 1.
    seed : int, optional
        Of the draws behind intervals.
    unit : str
        Of the values.

    Returns
    -------
    ToolLifeStudy
        Wear, capability along a life, strokes until the limit, where to start, and the steps at regrinds.

    Raises
    ------
    CannotJudge
        Too few independent stretches, or a slope that is not distinguished from none (p below 0.001).
    ValueError, TypeError
        An argument outside its range, limits out of order, or lengths that differ.

    See Also
    --------
    linestudy.stability.tool_wear : The slope alone.
    stream_capability : Streams beside each other.

    Notes
    -----
    Model:

    .. math:: y_i = a_{l(i)} + \beta s_i + d_{k(i)} + e_i,

    with :math:`a` the level of life l just after a regrind, s the strokes since, d the distance of stream k
    and e a remainder of any shape that does not change. At s strokes the parts have the index of
    :math:`\bar a + \beta s + d_k + e`; over a whole life s is uniform. Level and slope come from means of blocks many
    correlation times long, so Student's t holds; where coils are named each has a level of its own beside the blocks, normal
    about the trend, whose variance is integrated out of the restricted likelihood. Levels and slope are drawn from it and the remainder's
    spread from its chi-square distribution, and the ends of an interval are quantiles of what the draws give.
    Lives differ: their levels' own scatter is added to that of the fresh level. The acceptance control limit is
    :math:`U - z_{0.99865}\,\sigma + z_{0.95}\,\sigma / \sqrt n` (and its mirror image): the mean of a subgroup passes it
    in one of twenty while 0.135 % lie beyond the limit, and more often afterwards. Misleads where wear is not
    straight, beyond the strokes seen, and where a regrind restores nothing.

    References
    ----------
    ISO 7870-3:2020 (acceptance control charts; formula from memory). Draper & Smith, *Applied Regression
    Analysis*, 3rd ed. (1998), ch. 14. ISO 22514-2:2017, model C3.

    Examples
    --------
    >>> import numpy as np
    >>> s = np.arange(6000.0)
    >>> y = 10 + 0.02 * (s % 2000) / 1000 + 0.005 * np.random.default_rng(1).normal(size=6000)
    >>> found = tool_life(y, s, 9.95, 10.06, resets=[2000, 4000])
    >>> 0.02 in found.slope_per_thousand, found.life
    (True, 2000.0)
    """
    y = data_arguments.one_dimensional(values, least=60)
    x = data_arguments.one_dimensional(order, name="order", what="order number")
    arguments.same_length(values=y, order=x, station=station, batch=batch)
    lower, upper = arguments.limits(lower, upper)
    arguments.share("confidence", confidence)
    arguments.number("index", index, above=0)
    arguments.whole("subgroup_size", subgroup_size, least=1)
    trend = sawtooth(y, x, resets, station, batch)
    life = float(trend.whole_lives.max())
    known = Remainder.of(trend, y, station, lower, upper)
    rng = generator(seed, "tool life")
    level, weights = trend.fresh_level()
    # The worst stream's spread is known from its own parts.
    own = trend.n_eff_sd / known.sd.size
    drawn = _drawn(trend, weights, own, known.reach_error, rng)
    half = 1000 * trend.slope_error * _t(confidence, trend.df)
    per = 1000 * trend.slope
    slope = Interval(per, per - half, per + half, confidence, "Student's t on block means")
    p = 2 * _sf(abs(trend.slope) / trend.slope_error, trend.df) if trend.slope_error > 0 else 0.0
    if p >= PLANNED:
        raise CannotJudge(
            f"The slope is not distinguished from none ({p_text(p)}; resets are planned from p < {PLANNED:g} on), so the tool is "
            "not seen to wear."
        )

    def at(strokes: float) -> Interval:
        best = known.index_at(level + trend.slope * strokes)
        sample = [known.index_at(a + b * strokes, k) for a, b, k in drawn]
        return _interval(best, np.array(sample), confidence)

    table = known.table()
    whole = _interval(
        known.whole(table, level, trend.slope * life),
        np.array([known.whole(table, a, b * life, k) for a, b, k in drawn]),
        confidence,
    )
    limit = _strokes(known, level, trend.slope, drawn, 1.0, confidence)
    until = _strokes(known, level, trend.slope, drawn, index, confidence)
    start, longest = _best_start(known, trend.slope, index)
    return ToolLifeStudy(
        slope_per_thousand=slope,
        lives=int(trend.levels.size),
        life=life,
        residual_sd=float(max(known.sd)),
        Ppk_start=at(0.0),
        Ppk_middle=at(life / 2),
        Ppk_end=at(life),
        Ppk_whole=whole,
        strokes_to_limit=limit,
        strokes_to_index=until,
        index=float(index),
        start=start,
        longest_life=longest,
        control_limit=known.control_limit(trend.slope > 0, subgroup_size),
        subgroup_size=int(subgroup_size),
        regrinds=_regrinds(trend, confidence),
        found=int(unnamed),
        gauge_drift=drift,
        lower=lower,
        upper=upper,
        unit=unit,
        over=over,
        cautions=(
            *_not_taken_back(trend, confidence, unit),
            *_cautions(trend, slope, life, until, unnamed, drift, unit, over),
        ),
        shape=Sawtooth(
            *trend.blocks,
            trend.begins,
            trend.ends,
            trend.levels,
            trend.slope,
            float(max(known.sd * known.reach[1 if trend.slope > 0 else 0])),
        ),
    )


def _t(confidence: float, df: float) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(df, (1 + confidence) / 2))


def _sf(t: float, df: float) -> float:
    from scipy.special import stdtr

    return float(stdtr(df, -t))


def _drawn(
    trend: Trend, weights: FloatArray, n_eff_sd: float, reach_error: float, rng: np.random.Generator
) -> list[tuple[float, float, float]]:
    """Draw fresh level, slope and stretch of the remainder within their uncertainty."""
    along = np.zeros((2, trend.levels.size + 1))
    along[0], along[1, -1] = weights, 1.0
    covariance = along @ trend.covariance @ along.T
    fresh = trend.levels[trend.fresh] if trend.fresh.sum() > 1 else np.empty(0)
    if fresh.size:
        # Lives differ; the next one is not the mean of those seen.
        inner = float(np.mean(np.diag(trend.covariance)[:-1][trend.fresh]))
        covariance[0, 0] += max(float(fresh.var(ddof=1)) - inner, 0.0) / fresh.size
    root = np.linalg.cholesky(covariance + 1e-30 * np.eye(2))
    heavy = np.sqrt(trend.df / rng.chisquare(trend.df, _DRAWS))
    centre = np.array([trend.fresh_level()[0], trend.slope])
    points = centre + heavy[:, None] * (rng.standard_normal((_DRAWS, 2)) @ root.T)
    n = max(n_eff_sd - 1, 2.0)
    stretch = np.sqrt(n / rng.chisquare(n, _DRAWS)) * np.exp(
        reach_error * rng.standard_normal(_DRAWS)
    )
    return [(float(a), float(b), float(k)) for (a, b), k in zip(points, stretch, strict=True)]


def _interval(estimate: float, sample: FloatArray, confidence: float) -> Interval:
    low, high = np.quantile(sample, [(1 - confidence) / 2, (1 + confidence) / 2])
    return Interval(
        estimate,
        float(min(low, estimate)),
        float(max(high, estimate)),
        confidence,
        "draws of level, slope and spread",
    )


def _strokes(
    known: Remainder,
    level: float,
    slope: float,
    drawn: list[tuple[float, float, float]],
    index: float,
    confidence: float,
) -> Interval | Absent:
    """Count strokes after which the parts made then have the index towards the limit that the tool wears to."""
    up = slope > 0
    limit = known.upper if up else known.lower
    if limit is None:
        return Absent("the tool wears towards no limit")
    below, above, middle = known.reach

    def reached(a: float, b: float, stretch: float) -> float:
        if b * slope <= 0:
            return math.inf
        at = []
        for d, sd in zip(known.distance, known.sd * stretch, strict=True):
            width = (above - middle) * sd if up else -(below + middle) * sd
            at.append((limit - index * width - middle * sd - d - a) / b)
        return float(min(at))

    best = reached(level, slope, 1.0)
    if best <= 0:
        return Absent("a tool just ground is beyond it")
    sample = np.array([reached(*one) for one in drawn])
    tails = [(1 - confidence) / 2, (1 + confidence) / 2]
    # Between one that never gets there and another nothing lies.
    low, high = np.quantile(
        sample, tails, method="linear" if np.isfinite(sample).all() else "inverted_cdf"
    )
    return Interval(
        best,
        float(max(min(low, best), 0.0)),
        float(max(high, best)),
        confidence,
        "draws of level, slope and spread",
    )


def _best_start(
    known: Remainder, slope: float, index: float
) -> tuple[float | Absent, float | Absent]:
    """Find where a fresh tool should be set, and how long it then lasts, with the index at both ends of its life."""
    if known.lower is None or known.upper is None:
        why = Absent("there is one limit only")
        return why, why
    below, above, middle = known.reach
    lowest = max(
        known.lower + (index * (below + middle) - middle) * sd - d
        for d, sd in zip(known.distance, known.sd, strict=True)
    )
    highest = min(
        known.upper - (index * (above - middle) + middle) * sd - d
        for d, sd in zip(known.distance, known.sd, strict=True)
    )
    if highest <= lowest:
        why = Absent(f"no level leaves an index of {index:g} to both limits")
        return why, why
    return float(lowest if slope > 0 else highest), float((highest - lowest) / abs(slope))


def _regrinds(trend: Trend, confidence: float) -> tuple[Regrind, ...]:
    found = []
    t = _t(confidence, trend.df)
    for k in range(1, trend.levels.size):
        length = trend.begins[k] - trend.begins[k - 1]
        before = float(trend.levels[k - 1] + trend.slope * length)
        along = np.zeros(trend.levels.size + 1)
        along[k], along[k - 1], along[-1] = 1.0, -1.0, -length
        step = float(trend.levels[k]) - before
        half = t * math.sqrt(float(along @ trend.covariance @ along))
        interval = Interval(
            step, step - half, step + half, confidence, "Student's t on block means"
        )
        found.append(Regrind(float(trend.begins[k]), before, float(trend.levels[k]), interval))
    return tuple(found)


def _not_taken_back(trend: Trend, confidence: float, unit: str) -> list[str]:
    """List regrinds after which the tool is no better than before, or that removed little of the wear."""
    notes = []
    for k, item in enumerate(_regrinds(trend, confidence), start=1):
        worn = trend.slope * (trend.begins[k] - trend.begins[k - 1])
        back = -item.step.estimate / worn
        where, step = f"At stroke {item.at:,.0f}", show_in(abs(item.step.estimate), unit)
        if 0 not in item.step and back < 0:
            notes.append(
                f"{where} the level moved on by {step} the way the tool wears: what was done there made it worse."
            )
        elif max(-item.step.low / worn, -item.step.high / worn) < _TAKEN_BACK:
            notes.append(
                f"{where} {max(back, 0.0):.0%} of the wear before it was taken back: the tool was not restored there."
            )
    return notes


def _cautions(
    trend: Trend,
    slope: Interval,
    life: float,
    until: Interval | Absent,
    found: int,
    drift: Interval | None,
    unit: str,
    over: int | None,
) -> tuple[str, ...]:
    notes = []
    if drift is not None and 0 not in drift:
        half = math.hypot(drift.high - drift.low, slope.high - slope.low) / 2
        left = slope.estimate - drift.estimate
        rest = Interval(left, left - half, left + half, slope.confidence, "")
        (drop, per), (rest, _) = (
            over_strokes(x, over=over or strokes_for_slopes([slope])) for x in (drift, rest)
        )
        much = "as much" if abs(left) <= half else f"{show_in(drop, unit)} {per}"
        may = (
            "what moves may be the gauge, not the tool"
            if abs(left) <= half
            else "readings move with it"
        )
        notes.append(
            f"The gauge drifts on its master by {much}: {may}; less that drift {show_in(rest, unit)} {per} is left."
        )
    fresh = int(trend.fresh.sum())
    if not fresh:
        notes.append("No reset lies inside the run: what one restores was not seen.")
    elif fresh == 1:
        notes.append("One reset was seen; how far lives differ from one another is not known.")
    if found:
        notes.append(
            f"{counted(found, 'reset')} of the tool {'was' if found == 1 else 'were'} found in the values and "
            f"{'is' if found == 1 else 'are'} named nowhere."
        )
    if isinstance(until, Interval) and until.estimate > 1.5 * life:
        notes.append(
            f"The index is reached far beyond the {life:,.0f} strokes that a life was seen to last; the line is drawn "
            "out beyond all data."
        )
    return tuple(notes)
