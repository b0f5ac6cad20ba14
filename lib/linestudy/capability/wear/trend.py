"""The trend of a tool that wears: a level for each life, one slope, and what is left about them.

Model: ``value = level of its life + slope · strokes since the tool was ground + stream's distance + remainder``, fitted by
least squares (statsmodels) to means of blocks many correlation times long, so that Student's t holds although
neighbours are alike (see ``stability.movement.block_means``). Coils that are longer than such blocks and have levels of their
own are in the errors too (`coil_levels`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from linestudy.numerics.arrays import FloatArray, IntArray
from linestudy.results import CannotJudge, counted
from linestudy.stability.movement.block_means import (
    block_means,
    correlation_time,
    stretch_of,
    without_stations,
    without_stretches,
)
from linestudy.stability.movement.coil_levels import (
    CoilFit,
    first_of,
    fit_over_coils,
    within_coils,
)


@dataclass(frozen=True)
class Trend:
    """A sawtooth fitted to a run.

    Attributes
    ----------
    levels : numpy.ndarray of float, shape (lives,)
        Level of each life at its first stroke.
    begins, ends : numpy.ndarray of float, shape (lives,)
        Its first and last stroke.
    fresh : numpy.ndarray of bool, shape (lives,)
        Whether it began with a regrind inside the run.
    slope : float
        [unit of the values per stroke]
    covariance : numpy.ndarray, shape (lives + 1, lives + 1)
        Of the levels and the slope.
    df : float
        Degrees of freedom of their errors.
    residual : numpy.ndarray of float, shape (n,)
        Values less trend and stream.
    since : numpy.ndarray of float, shape (n,)
        Strokes since the life of each part began.
    n_eff_sd : float
        Effective sample size of the residuals' standard deviation.
    time : float
        Parts of a stream per independent one.
    blocks : tuple of numpy.ndarray
        Order, mean and life of each block.
    """

    levels: FloatArray
    begins: FloatArray
    ends: FloatArray
    fresh: Any
    slope: float
    covariance: Any = field(repr=False)
    df: float
    residual: FloatArray = field(repr=False)
    since: FloatArray = field(repr=False)
    n_eff_sd: float
    time: float
    blocks: tuple[FloatArray, FloatArray, IntArray] = field(repr=False)

    @property
    def slope_error(self) -> float:
        """Standard error of the slope."""
        return math.sqrt(float(self.covariance[-1, -1]))

    @property
    def whole_lives(self) -> FloatArray:
        """Strokes of the lives that began with a regrind; of all where none did, or none that went half as far as another."""
        every = self.ends - self.begins + 1
        found = every[self.fresh]
        return found if found.size and found.max() >= every.max() / 2 else every

    def fresh_level(self) -> tuple[float, FloatArray]:
        """Mean level of a tool just ground, and the weights of the levels in it."""
        use = self.fresh if self.fresh.any() else np.ones(self.levels.size, dtype=bool)
        weights = use / use.sum()
        return float(weights @ self.levels), np.append(weights, 0.0)


def sawtooth(
    values: Any, order: Any, resets: Sequence[float], station: Any = None, coil: Any = None
) -> Trend:
    """Fit the trend of a tool that wears.

    Parameters
    ----------
    values : numpy.ndarray of float, shape (n,)
        In production order.
    order : numpy.ndarray of float, shape (n,)
        Strokes.
    resets : sequence of float
        Strokes at which the tool was ground.
    station : array_like of shape (n,), optional
        Stream of each part; the streams' own means are taken out.
    coil : array_like of shape (n,), optional
        Coil of each part.

    Returns
    -------
    Trend

    Raises
    ------
    CannotJudge
        Too few independent blocks for a slope.
    """
    y = without_stations(values, station)
    marks = np.array(sorted({float(r) for r in resets if order[0] < r <= order[-1]}))
    life = stretch_of(order, marks)
    inside = within_coils(life, coil)
    time, length = _blocks_of(y, order, inside, station)
    if length > np.median(np.bincount(inside)):
        # Coils shorter than a block are chance within it.
        inside, coil = life, None
        time, length = _blocks_of(y, order, life, station)
    blocks = block_means(y, order, inside, length)
    of_life = first_of(life, inside)[blocks.stretch]
    lives = int(life.max()) + 1
    held = np.bincount(of_life, minlength=lives) > 0
    df = blocks.mean.size - int(held.sum()) - 1
    if df < 4 or not held.all():
        raise CannotJudge(
            f"The run has {counted(blocks.mean.size, 'independent stretch')} in "
            f"{lives} tool {'life' if lives == 1 else 'lives'}; that is too few for a trend."
        )
    begins = np.concatenate([[float(order[0])], marks])[:lives]
    design = np.zeros((blocks.mean.size, lives + 1))
    design[np.arange(blocks.mean.size), of_life] = 1.0
    design[:, -1] = blocks.order - begins[of_life]
    spread = float(without_stretches(y, life, order).var())
    coils = None if coil is None else first_of(coil, inside)[blocks.stretch]
    fit = _fit(blocks, design, coils, spread)
    since = order - begins[life]
    residual = y - fit.coefficients[life] - fit.coefficients[-1] * since
    squares = residual**2 - float((residual**2).mean())
    inner = np.append(begins[1:] - 1, float(order[-1]))
    return Trend(
        levels=fit.coefficients[:-1],
        begins=begins,
        ends=inner,
        fresh=np.concatenate([[False], np.ones(lives - 1, dtype=bool)]),
        slope=float(fit.coefficients[-1]),
        covariance=fit.covariance,
        df=fit.df,
        residual=residual,
        since=since,
        n_eff_sd=_of_spread(y.size / correlation_time(squares), residual, fit),
        time=float(time),
        blocks=(blocks.order, blocks.mean, of_life),
    )


def _blocks_of(y: Any, order: Any, stretch: Any, station: Any) -> tuple[float, int]:
    """Count parts of a stream per independent one within stretches, and parts of a block long against that."""
    rest = without_stretches(y, stretch, order)
    time = max(correlation_time(part) for part in _by_station(rest, station))
    streams = 1 if station is None else max(np.unique(np.asarray(station)).size, 1)
    return time, int(max(math.ceil(10 * time) * streams, y.size // 240, 1))


def _fit(blocks: Any, design: Any, coil: Any, spread: float) -> CoilFit:
    """Fit by least squares on block means; where coils are known, with a level of each."""
    import statsmodels.api as sm

    if coil is not None:
        fit = fit_over_coils(blocks.mean, blocks.n, design, coil)
        if fit is not None:
            return fit
    found = sm.WLS(blocks.mean, design, weights=blocks.n).fit()
    # What blocks scatter beyond what their parts do is alike over each of them, as a level of a coil would be.
    beyond = max(float(found.mse_resid) - spread, 0.0) / float(np.mean(blocks.n))
    return CoilFit(
        found.params, found.cov_params(), float(found.df_resid), beyond, int(found.df_resid)
    )


def _of_spread(n_eff: float, residual: Any, fit: CoilFit) -> float:
    """Compute the effective sample size of the residuals' spread.

    What is alike over whole coils or blocks is a share c of the variance that only so many of them tell of, which
    correlation between neighbouring squares does not show: 1/n + c²/df.
    """
    variance = float(residual.var())
    if not variance > 0:
        return max(float(n_eff), 4.0)
    slow = min(fit.between / variance, 1.0)
    return max(1 / (1 / n_eff + slow**2 / fit.coil_df), 4.0)


def _by_station(rest: Any, station: Any) -> list[Any]:
    """Group the remainders by stream: neighbours of one stream are what correlates."""
    if station is None:
        return [rest]
    labels = np.asarray(station)
    return [rest[labels == name] for name in np.unique(labels)]


#: Slices of a tool life that are taken as one level each.
_SLICES = 8


@dataclass(frozen=True)
class Slices:
    """A worn run as parts of one level each: slices of the tool life, stream by stream.

    Attributes
    ----------
    values : list of numpy.ndarray
        Of each slice and stream, the wear within the slice removed.
    n_eff_mean, n_eff_sd : float
        Effective sample sizes about the trend.
    level_error : float
        [unit of the values] Standard error of the trend's level at that end of a life where it is less known: the outer
        quantiles of a worn run are those of its first or last slices, whose level depends on the slope.
    """

    values: list[FloatArray]
    n_eff_mean: float
    n_eff_sd: float
    level_error: float = 0.0


def slices_of_life(
    values: Any, order: Any, resets: Sequence[float], station: Any = None, coil: Any = None
) -> Slices | None:
    """Cut a worn run into slices of the tool life; None where no wear is seen between named regrinds.

    Parameters
    ----------
    values, order : numpy.ndarray of float, shape (n,)
        In production order.
    resets : sequence of float
        Strokes at which the tool was ground.
    station : array_like of shape (n,), optional
        Stream of each part.
    coil : array_like of shape (n,), optional
        Coil of each part.

    Returns
    -------
    Slices or None
    """
    if not len(resets):
        return None
    try:
        trend = sawtooth(values, order, resets, station, coil)
    except CannotJudge:
        return None
    if abs(trend.slope) < 4 * trend.slope_error or not trend.fresh.any():
        return None
    labels = np.zeros(values.size, dtype=int) if station is None else np.asarray(station)
    # By what the trend says, not by strokes: how worn the tool was when the run began nobody knows, and lives differ.
    along = trend.levels[stretch_of(order, trend.begins[1:])] + trend.slope * trend.since
    edges = np.quantile(along, np.arange(1, _SLICES) / _SLICES)
    place = np.searchsorted(edges, along, side="right")
    middle = np.bincount(place, along) / np.bincount(place)
    level = values - along + middle[place]
    cut = [
        level[(labels == name) & (place == k)] for name in np.unique(labels) for k in range(_SLICES)
    ]
    if min(part.size for part in cut) < 20:
        return None
    n_eff_mean = max(values.size / trend.time, 2.0)
    return Slices(cut, n_eff_mean, trend.n_eff_sd, _level_error(trend))


def _level_error(trend: Trend) -> float:
    """Compute the standard error of the level of a tool just ground, or at the end of its life, whichever is larger."""
    _, along = trend.fresh_level()
    ends = []
    for strokes in (0.0, float(trend.since.max())):
        at = along.copy()
        at[-1] = strokes
        ends.append(float(at @ trend.covariance @ at))
    return math.sqrt(max(ends))
