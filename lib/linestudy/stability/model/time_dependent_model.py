"""Time-dependent distribution model in the sense of ISO 22514-2: what the evidence supports."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.numerics.arrays import FloatArray, IntArray
from linestudy.results import CannotJudge, Finding, arguments, data_arguments
from linestudy.results.declared import Declaration
from linestudy.results.tables import Rows
from linestudy.stability.model.by_stroke import (
    side_by_side,
    spread_by_stream,
    stability_tests_by_stroke,
)
from linestudy.stability.model.combination import combined
from linestudy.stability.model.level_patterns import (
    BATCHES,
    CURVED,
    NAMED_SAWTOOTH,
    ONE_STEP,
    SAWTOOTH,
    STEPS,
    TREND,
    WAVE,
    Pattern,
    level_pattern,
)
from linestudy.stability.model.rank_tests import ONE_OF_SEVERAL, SMALL
from linestudy.stability.model.spread_patterns import (
    Chance,
    SpreadChange,
    chance_of_parts,
    spread_change,
    without_steps,
)
from linestudy.stability.model.subgroup_means import between_subgroups
from linestudy.stability.movement.block_means import without_stations

_MEANING = {
    "A1": "location and spread are constant and the values are normal",
    "A2": "location and spread are constant and the values are not normal",
    "B": "the location is constant and the spread changes {spread}",
    "C1": "the location moves {level}, and the values are normal overall",
    "C2": "the location moves {level}, and the values are not normal overall",
    "C3": "the location moves {level}",
    "C4": "the location moves {level}",
    "D": "the location moves {level}, and the spread changes {spread}",
}
#: Letter of a location that moves in one of these ways; of all others C1 or C2.
_LETTER = {
    **dict.fromkeys((TREND, CURVED, NAMED_SAWTOOTH, SAWTOOTH, WAVE), "C3"),
    **dict.fromkeys((ONE_STEP, STEPS, BATCHES), "C4"),
}


@dataclass(frozen=True)
class TimeModelStudy(Finding):
    """Which time-dependent model the evidence supports.

    Attributes
    ----------
    model : str
        ``A1``, ``A2``, ``B``, ``C1``, ``C2``, ``C3``, ``C4`` or ``D``.
    may_report_within : bool
        Whether indices from the spread within subgroups (Cp, Cpk) may be reported.
    level_kind : str
        How the location moves, in words that follow "moves"; empty where it does not.
    spread_kind : str
        How the spread changes, in words that follow "changes"; empty where it does not.
    cycles : float
        Of a wave or a sawtooth, how many the run saw; 0 for other movements.
    between_share : float
        Share of the variance of single values that lies between subgroups.
    trend_share : float
        Share of the movement between subgroups that a trend explains.
    step_share : float
        Share of the movement between subgroups that batches explain.
    moved_share : float
        Share of the variance that moves, of blocks of one to twenty-five subgroups the largest.
    location_p : float
        Of one mean throughout (the tests of control that look at the level, put together).
    spread_p : float
        Of one standard deviation within subgroups throughout.
    spread_size : float
        Standard deviation of the logarithm of the subgroups' standard deviations beyond chance.
    spread_ratio : float
        Largest over smallest standard deviation of eight stretches.
    normal_p : float
        Of normal values (skewness and kurtosis together).
    """

    model: str
    may_report_within: bool
    level_kind: str
    spread_kind: str
    cycles: float
    between_share: float
    trend_share: float
    step_share: float
    moved_share: float
    location_p: float
    spread_p: float
    spread_size: float
    spread_ratio: float
    normal_p: float
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Time-dependent model (ISO 22514-2)"

    @property
    def statement(self) -> str:
        allowed = (
            "Cp and Cpk may be reported beside Pp and Ppk."
            if self.may_report_within
            else "Only Pp and Ppk may be reported."
        )
        meaning = _MEANING[self.model].format(level=self.level_kind, spread=self.spread_kind)
        seen = f" ({self.cycles:.1f} cycles seen)" if self.cycles else ""
        return f"Model {self.model}: {meaning}{seen}. {allowed}"

    def _rows(self) -> Rows:
        rows: list[dict[str, Any]] = [
            {
                "evidence": "variance that moves (%)",
                "size": 100 * self.moved_share,
                "p": self.location_p,
            },
            {
                "evidence": "variance between subgroups (%)",
                "size": 100 * self.between_share,
                "p": None,
            },
            {
                "evidence": "of that movement, a trend explains (%)",
                "size": 100 * self.trend_share,
                "p": None,
            },
            {
                "evidence": "of that movement, batches explain (%)",
                "size": 100 * self.step_share,
                "p": None,
            },
            {
                "evidence": "SD within subgroups varies beyond chance (%)",
                "size": 100 * self.spread_size,
                "p": self.spread_p,
            },
            {
                "evidence": "largest over smallest SD of eight stretches",
                "size": self.spread_ratio,
                "p": None,
            },
            {"evidence": "normal values", "size": None, "p": self.normal_p},
        ]
        return rows


TIME_MODEL = Declaration(
    "stability.time_model",
    TimeModelStudy,
    "Time-dependent model",
    part="characteristic",
    question="control",
    order=30,
)


#: Levels of the tests of movement and of normality; share of the variance, and of the spread, below which a movement is too small to count.
_LEVEL, _NORMAL, _MATTERS, _WIDENS = 0.005, 0.01, SMALL, 0.08
#: Where the spread changes, tests of the level are too ready: the level has to be this plain.
_PLAIN = 1e-4


def time_model(
    values: ArrayLike,
    subgroup: ArrayLike,
    order: ArrayLike | None = None,
    *,
    batch: ArrayLike | None = None,
    station: ArrayLike | None = None,
    resets: tuple[float, ...] = (),
) -> TimeModelStudy:
    r"""Decide which time-dependent model of ISO 22514-2 a run supports.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    subgroup : array_like, shape (n,)
        Subgroup of each value; values whose subgroup is missing are left out.
    order : array_like of float, shape (n,), optional
        Order number of each value; 0, 1, … when absent.
    batch : array_like, shape (n,), optional
        Batch (coil) of each value.
    station : array_like, shape (n,), optional
        Station of each value; its mean is taken out first.
    resets : tuple of float
        Order numbers at which a trend starts anew.

    Returns
    -------
    TimeModelStudy
        The model, and the evidence for it.

    Raises
    ------
    CannotJudge
        Fewer than eight subgroups of two or more, or values within them that never differ.
    ValueError, TypeError
        Lengths that differ, or values of more than one dimension.

    See Also
    --------
    control_chart : The chart of the same subgroups.
    variance_components : The variance by coil, stop and quarter hour.

    Notes
    -----
    The letters: A1 location and spread are constant, normal; A2 the same, not normal; B the spread changes;
    C1, C2 the location moves at random (overall normal, or not); C3 it moves in a systematic way (trend, wear,
    wave); C4 by steps, such as batches; D both change. That the location moves is said by the tests of control
    that the decision uses (``model.rank_tests``), p < 0.005 and at least a hundredth of the variance; that the spread
    changes by tests on the variances within subgroups (``model.spread_patterns``), p < 0.005 and at least 8 % of
    the standard deviation. How the location moves is the description of the subgroup means with the smallest

    .. math:: BIC = (k - 1) \log \frac{SS}{k - 1} + p \log k

    among those of ``model.level_patterns``. Misleads on short
    runs: what has not moved yet has not been seen to move.

    References
    ----------
    ISO 22514-2:2017, 5.3 (from memory). Schwarz, *Annals of Statistics* 6 (1978), 461-464.

    Examples
    --------
    >>> import numpy as np
    >>> rng = np.random.default_rng(3)
    >>> time_model(rng.normal(size=200), np.repeat(np.arange(40), 5)).model
    'A1'
    """
    import pandas as pd

    y = data_arguments.one_dimensional(values, least=16)
    arguments.same_length(values=y, subgroup=subgroup, order=order, batch=batch, station=station)
    of: Any = subgroup
    groups = np.asarray(pd.factorize(pd.array(of))[0])
    position = np.arange(float(y.size)) if order is None else np.asarray(order, dtype=float)
    at: Any = station
    stream = None if station is None else np.asarray(pd.factorize(pd.array(at))[0])
    y = without_stations(y, station)
    steady = stability_tests_by_stroke(y, position, groups, stream, resets)
    lanes = stream if side_by_side(position, stream) else None
    effective = min(steady.n_eff_sd / y.size, 1.0)
    inside = groups >= 0
    y, position = y[inside], position[inside]
    _, groups = np.unique(groups[inside], return_inverse=True)
    sizes = np.bincount(groups)
    if sizes.size < 8 or (sizes > 1).sum() < 8:
        raise CannotJudge(
            "Fewer than eight subgroups of two or more parts: movement cannot be judged."
        )
    y = y - y.mean()
    means = np.bincount(groups, y) / sizes
    rest = y - means[groups]
    if not np.any(rest):
        raise CannotJudge("Values within subgroups never differ; resolution hides their spread.")
    spread_out = without_steps(y)
    rest = spread_out - (np.bincount(groups, spread_out) / sizes)[groups]
    # Of each mean the part that is movement, and not what chance gives a mean.
    still = _real_share(means, sizes, float(rest @ rest))
    begins = np.unique(groups, return_index=True)[1]
    labels: Any = None
    if batch is not None:
        made: Any = batch
        labels = np.asarray(pd.factorize(pd.array(made))[0])[inside][begins]
    beyond = spread_out - still * means[groups]
    change = (
        None if lanes is None else spread_by_stream(rest, groups, lanes[inside], beyond, labels)
    )
    level = [p for name, p in steady.tests.items() if name.startswith(_OF_LEVEL)]
    return decide(
        means,
        sizes,
        np.bincount(groups, rest * rest).astype(float),
        position[begins],
        labels,
        resets,
        (combined(level), steady.level_share),
        change or chance_of_parts(rest, groups, sizes, beyond),
        _normal(y, effective),
        wears=steady.wear_per_thousand is not None,
    )


#: Tests of control that look at the level.
_OF_LEVEL = ("level", ONE_OF_SEVERAL, "farthest", "correlation")


def decide(
    means: FloatArray,
    sizes: NDArray[Any],
    squares: FloatArray,
    starts: FloatArray,
    labels: IntArray | None,
    resets: tuple[float, ...],
    level: tuple[float, float],
    chance: Chance | SpreadChange,
    normal_p: float,
    cautions: tuple[str, ...] = (),
    wears: bool = False,
) -> TimeModelStudy:
    """Decide which model the evidence of subgroups supports.

    Parameters
    ----------
    means, sizes : numpy.ndarray of float, shape (subgroups,)
        Mean and number of parts of each subgroup.
    squares : numpy.ndarray of float, shape (subgroups,)
        Sum of squares within each.
    starts : numpy.ndarray of float, shape (subgroups,)
        Order number of the first part of each.
    labels : numpy.ndarray of int, shape (subgroups,), or None
        Batch of each.
    resets : tuple of float
        Order numbers at which a trend starts anew.
    level : tuple of float
        p of one mean throughout, and the share of the variance that moves.
    chance : Chance or SpreadChange
        What the variances within subgroups would do, did all scatter alike; or what was found of them already.
    normal_p : float
        Of normal values.
    cautions : tuple of str
        To which those of this function are added.
    wears : bool
        Whether wear between named resets was removed from the values of `level`.

    Returns
    -------
    TimeModelStudy
        The model, and the evidence for it.
    """
    total = float(squares.sum())
    between, plain_p = between_subgroups(means, sizes, total)
    trend = _trend_share(starts, means, resets)
    steps = 0.0 if labels is None else _step_share(labels, means)
    # Means also scatter by chance; the shares are of what moves beyond that.
    real = max(_real_share(means, sizes, total), 0.05)
    trend, steps = min(trend / real, 1.0), min(steps / real, 1.0)
    change = (
        chance
        if isinstance(chance, SpreadChange)
        else spread_change(squares, sizes, chance, labels)
    )
    widens = change.p < _LEVEL and change.size >= _WIDENS
    location_p, moved = level
    if wears and plain_p < location_p and between >= _MATTERS:
        # Wear was taken off before the tests; it moves the location all the same.
        location_p, moved = plain_p, between
    moves = location_p < (_PLAIN if widens else _LEVEL) and moved >= _MATTERS
    pattern = level_pattern(means, starts, labels, resets) if moves else Pattern("", 0.0)
    model = _letter(moves, widens, pattern.kind, normal_p)
    if sizes.size < 25:
        cautions = (
            *cautions,
            f"{sizes.size} subgroups are few to see movement by; 25 are usual.",
        )
    return TimeModelStudy(
        model=model,
        may_report_within=model in ("A1", "A2"),
        level_kind=pattern.kind,
        spread_kind=change.kind if widens else "",
        cycles=pattern.cycles,
        between_share=between,
        trend_share=trend,
        step_share=steps,
        moved_share=moved,
        location_p=location_p,
        spread_p=change.p,
        spread_size=change.size,
        spread_ratio=_ratio(squares, sizes),
        normal_p=normal_p,
        cautions=cautions,
    )


def _real_share(means: Any, sizes: Any, squares: float) -> float:
    """Estimate the share of the variance of subgroup means that is not left over from the spread within."""
    total = float(means.var(ddof=1))
    chance = squares / (int(sizes.sum()) - sizes.size) * float((1 / sizes).mean())
    return min(max(1 - chance / total, 0.0), 1.0) if total > 0 else 1.0


def _ratio(squares: Any, sizes: Any) -> float:
    """Divide the largest by the smallest standard deviation within subgroups of eight stretches."""
    stretch = np.arange(sizes.size) * 8 // sizes.size
    pooled = np.bincount(stretch, squares, 8) / np.maximum(np.bincount(stretch, sizes - 1, 8), 1)
    return float((pooled.max() / pooled.min()) ** 0.5) if pooled.min() > 0 else float("inf")


def _trend_share(starts: Any, means: Any, resets: tuple[float, ...]) -> float:
    """Estimate the share of the variance of subgroup means that one slope between resets explains (adjusted)."""
    marks = np.array([starts[0], *[r for r in sorted(resets) if starts[0] < r < starts[-1]]])
    since = starts - marks[np.searchsorted(marks, starts, side="right") - 1]
    x = since - since.mean()
    total = float(((means - means.mean()) ** 2).sum())
    if total == 0 or not np.any(x):
        return 0.0
    explained = float(x @ means) ** 2 / float(x @ x) / total
    n = means.size
    return float(max(1 - (1 - explained) * (n - 1) / (n - 2), 0.0))


def _step_share(labels: Any, means: Any) -> float:
    """Estimate the share of the variance of subgroup means between batches (adjusted)."""
    total = float(((means - means.mean()) ** 2).sum())
    # A batch of a few parts may be in no subgroup.
    labels = np.unique(labels, return_inverse=True)[1]
    counts = np.bincount(labels)
    if total == 0 or counts.size < 2 or counts.size >= means.size - 1:
        return 0.0
    centres = np.bincount(labels, means) / counts
    left = float(((means - centres[labels]) ** 2).sum())
    return float(max(1 - left / (means.size - counts.size) / (total / (means.size - 1)), 0.0))


def _normal(y: Any, effective: float) -> float:
    """Test normality of the values on the chart by skewness and kurtosis; `effective` is n_eff over n."""
    from scipy.special import chdtrc
    from scipy.stats import normaltest

    return float(chdtrc(2, effective * float(normaltest(y).statistic))) if y.size >= 20 else 1.0


def _letter(moves: bool, widens: bool, kind: str, normal_p: float) -> str:
    if moves and widens:
        return "D"
    if widens:
        return "B"
    normal = normal_p >= _NORMAL
    if not moves:
        return "A1" if normal else "A2"
    return _LETTER.get(kind, "C1" if normal else "C2")
