"""Change points: unnamed steps of a run's mean, where and how large, and which of them are significant."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics.arrays import FloatArray
from linestudy.results import (
    CannotJudge,
    Finding,
    Interval,
    arguments,
    counted,
    data_arguments,
    show,
)
from linestudy.results.declared import Declaration
from linestudy.results.rounding import with_unit
from linestudy.results.tables import Rows
from linestudy.stability.movement.block_means import (
    block_means,
    correlation_time,
    without_stations,
)

#: Blocks the run is cut into where correlation allows, and candidates looked at.
_BLOCKS, _MOST = 240, 8


@dataclass(frozen=True, slots=True)
class ChangePoint:
    """One step of the mean.

    Attributes
    ----------
    at : Interval
        Order number.
    size : Interval
        [unit of the values] How far the mean steps, upwards positive.
    p : float
        Of no step there, the search included.
    event : str
        Name of a recorded event inside the interval, or "".
    """

    at: Interval
    size: Interval
    p: float
    event: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class SteppedPath:
    """Block means and the levels between the steps that were found.

    Attributes
    ----------
    order : numpy.ndarray of float
        Order number of each block.
    mean, fitted : numpy.ndarray of float
        [unit of the values] Its mean, and the level it belongs to.
    wear_taken_out : bool
        Whether known wear was taken out of the means.
    """

    order: FloatArray
    mean: FloatArray
    fitted: FloatArray
    wear_taken_out: bool


@dataclass(frozen=True)
class ChangePointStudy(Finding):
    """Change points of a run's mean.

    Attributes
    ----------
    change_points : tuple of ChangePoint
        The significant ones, in production order.
    n_candidates : int
        How many the search proposed.
    n_significant : int
        How many of them are significant.
    sloped : bool
        Whether a slope between the steps describes the run better.
    blocks : int
        Block means that were searched.
    block_length : int
        Parts in each.
    unit : str
        Of the values.
    """

    change_points: tuple[ChangePoint, ...]
    n_candidates: int
    n_significant: int
    sloped: bool
    blocks: int
    block_length: int
    unit: str
    cautions: tuple[str, ...]
    path: SteppedPath = field(repr=False, compare=False)
    title: ClassVar[str] = "Change points of the mean"
    picture: ClassVar[str] = "stability:change_point_path"

    @property
    def statement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        found = self.change_points
        if not found:
            return f"No significant mean shift ({counted(self.n_candidates, 'candidate')} among {self.blocks} positions)."
        named = [
            f"at stroke {s.at.estimate:,.0f} ({s.at.low:,.0f} to {s.at.high:,.0f}"
            f"{', ' + s.event if s.event else ''}) {show(s.size)}{unit}"
            for s in found[:4]
        ]
        more = f" and {len(found) - 4} more" if len(found) > 4 else ""
        return (
            f"{counted(self.n_significant, 'significant mean shift')} "
            f"({counted(self.n_candidates, 'candidate')}): {'; '.join(named)}{more}."
        )

    def _rows(self) -> Rows:
        step = with_unit("step", self.unit)
        return [
            {"at order": s.at, step: s.size, "p (search included)": s.p, "event": s.event}
            for s in self.change_points
        ] or [
            {"at order": None, step: None, "p (search included)": None, "event": "none significant"}
        ]


CHANGE_POINTS = Declaration("stability.change_points", ChangePointStudy)


def change_points(
    values: ArrayLike,
    order: ArrayLike | None = None,
    *,
    events: Sequence[tuple[float, str]] = (),
    station: ArrayLike | None = None,
    slope_per_thousand: float | None = None,
    confidence: float = 0.95,
    unit: str = "",
) -> ChangePointStudy:
    r"""Search a run for steps of its mean.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    order : array_like of float, shape (n,), optional
        Order number of each value; 1, 2, … when absent.
    events : sequence of (float, str)
        Recorded events, order number and name; one that lies in a step's interval is named beside it.
    station : array_like, shape (n,), optional
        Station of each value; station means are taken out first.
    slope_per_thousand : float, optional
        Wear known from elsewhere (``tool_wear``), in the unit of the values per thousand strokes, taken out
        first; what starts anew at a regrind or a wipe is then a step. Without it a slope is searched for
        together with the steps.
    confidence : float
        Of the intervals, between 0 and 1; a step is significant where its p is below one minus this.
    unit : str
        Of the values.

    Returns
    -------
    ChangePointStudy
        The significant steps, with position, size and p.

    Raises
    ------
    CannotJudge
        Fewer than 40 values, values that are missing or never differ, or a run too short against its
        serial correlation.
    ValueError, TypeError
        An argument outside its range, or lengths that differ.

    See Also
    --------
    tool_wear : A slope between named events.
    control_chart : Single points and patterns.

    Notes
    -----
    Model: block means :math:`\bar y_b` (long enough to be nearly independent) lie about a level that steps
    now and then, with or without a common slope,

    .. math:: \bar y_b = \mu + \beta x_b + \sum_j \Delta_j 1(x_b \ge \tau_j) + \varepsilon_b,

    whichever of the two describes the run better by BIC. Candidates come from binary segmentation
    (``ruptures``); each is then tested in one joint least-squares fit, and its p multiplied by the number of
    positions that were open to the search (Bonferroni), because the best of many places always looks like
    a step. The least credible is dropped and the rest are placed anew until all that stay are
    significant. Misleads where the mean wanders smoothly: a walk is then cut into steps that were never
    there.

    References
    ----------
    Fryzlewicz, *Annals of Statistics* 42 (2014), 2243-2281 (binary segmentation). Yao, *Annals of
    Statistics* 15 (1987), 1321-1328, and Bai, *Review of Economics and Statistics* 79 (1997), 551-563
    (interval of the position).

    Examples
    --------
    >>> import numpy as np
    >>> y = np.random.default_rng(4).normal(size=600) + np.repeat([0.0, 1.5], 300)
    >>> study = change_points(y)
    >>> study.n_significant, bool(280 < study.change_points[0].at.estimate < 320)
    (1, True)
    """
    arguments.share("confidence", confidence)
    y = data_arguments.one_dimensional(values, least=40)
    arguments.same_length(values=y, order=order, station=station)
    y, x = without_stations(y, station), np.arange(1.0, y.size + 1)
    if order is not None:
        x = data_arguments.one_dimensional(order, name="order", what="order number")
    if np.ptp(y) == 0:
        raise CannotJudge("The values never differ, so there is no step to find.")
    if slope_per_thousand is not None:
        arguments.number("slope_per_thousand", slope_per_thousand)
        y = y - slope_per_thousand / 1000 * (x - x.mean())
    time = _fast_time(y)
    length = int(max(math.ceil(5 * time), y.size // _BLOCKS, 1))
    if y.size // length < 12:
        raise CannotJudge(
            "The run is too short against its own serial correlation to tell steps from chance."
        )
    blocks = block_means(y, x, np.zeros(y.size, dtype=int), length)
    mean, position = blocks.mean, blocks.order
    sloped, cuts = _search(
        position, mean, (False, True) if slope_per_thousand is None else (False,)
    )
    proposed = len(cuts)
    found, fitted, cuts = _significant(position, mean, cuts, sloped, confidence)
    named = tuple(replace(step, event=_event_within(step.at, events)) for step in found)
    notes = []
    if time > 20:
        notes.append(
            "Neighbouring parts correlate over long stretches; slow wandering looks like steps."
        )
    if found:
        notes.append(
            "The size of a step takes its place as known: in simulated studies its interval held the truth "
            "in 92 to 93 % where 95 % is claimed."
        )
    if proposed >= _MOST:
        notes.append(f"The search stopped at {_MOST} steps; the mean may wander rather than step.")
    return ChangePointStudy(
        change_points=named,
        n_candidates=proposed,
        n_significant=len(named),
        sloped=sloped,
        blocks=int(mean.size),
        block_length=length,
        unit=unit,
        cautions=tuple(notes),
        path=SteppedPath(position, mean, fitted, wear_taken_out=slope_per_thousand is not None),
    )


def _event_within(at: Interval, events: Sequence[tuple[float, str]]) -> str:
    return next((name for place, name in events if place in at), "")


def _fast_time(y: Any) -> float:
    """Compute the correlation time within short stretches, so that the steps themselves do not count."""
    pieces = max(y.size // 1500, 4)
    length = y.size // pieces
    cut = y[: pieces * length].reshape(pieces, length)
    rest = (cut - cut.mean(axis=1, keepdims=True)).ravel()
    return correlation_time(rest)


class _LineCost:
    """Residual sum of squares of a straight line, or of a level, by running sums."""

    model = "running sums"

    def __init__(self, x: Any, sloped: bool) -> None:
        self.x = (x - x.mean()) / max(float(np.ptp(x)), 1e-300)
        self.sloped = sloped
        self.min_size = 4 if sloped else 2
        self.sums: list[list[float]] = []

    def fit(self, signal: Any) -> _LineCost:
        y = np.asarray(signal, dtype=float).ravel()
        self.signal = y[:, None]
        terms = (np.ones(y.size), self.x, self.x**2, y, self.x * y, y**2)
        self.sums = [np.concatenate([[0.0], np.cumsum(t)]).tolist() for t in terms]
        return self

    def error(self, start: int, end: int) -> float:
        n, sx, sxx, sy, sxy, syy = (s[end] - s[start] for s in self.sums)
        rest = syy - sy * sy / n
        if self.sloped:
            across = sxx - sx * sx / n
            if across > 0:
                rest -= (sxy - sx * sy / n) ** 2 / across
        return max(rest, 0.0)

    def sum_of_costs(self, bkps: list[int]) -> float:
        return sum(self.error(a, b) for a, b in zip([0, *bkps[:-1]], bkps, strict=True))


def _search(x: Any, y: Any, shapes: tuple[bool, ...]) -> tuple[bool, list[int]]:
    """Find candidates by binary segmentation, with or without slopes, whichever BIC prefers."""
    import ruptures

    scaled = (y - y.mean()) / max(float(y.std()), 1e-300)
    best: tuple[float, bool, list[int]] | None = None
    for sloped in shapes:
        # ruptures accepts a cost of one's own; its base class only checks the four methods.
        cost = _as_ruptures(_LineCost(x, sloped))
        finder = ruptures.Binseg(custom_cost=cost, min_size=cost.min_size, jump=1).fit(
            scaled[:, None]
        )
        most = min(_MOST, y.size // (2 * cost.min_size) - 1)
        for count in range(most + 1):
            ends = finder.predict(n_bkps=count) if count else [y.size]
            rest = max(cost.sum_of_costs(ends), 1e-12)
            # One slope, or one level, per stretch and one position per step.
            free = (count + 1) * (2 if sloped else 1) + count
            bic = y.size * math.log(rest / y.size) + free * math.log(y.size)
            if best is None or bic < best[0]:
                best = (bic, sloped, [int(e) for e in ends[:-1]])
    assert best is not None
    return best[1], best[2]


def _as_ruptures(cost: _LineCost) -> Any:
    from ruptures.base import BaseCost

    kind = type("LineCost", (type(cost), BaseCost), {})
    cost.__class__ = kind
    return cost


def _significant(
    x: Any, y: Any, cuts: list[int], sloped: bool, confidence: float
) -> tuple[list[ChangePoint], Any, list[int]]:
    """Drop the least credible candidate and place the rest anew, until all are significant."""
    cost = _LineCost(x, sloped).fit(y - y.mean())
    while True:
        found, fitted = _joint(x, y, cuts, sloped, confidence)
        weakest = max(range(len(cuts)), key=lambda i: found[i].p, default=None)
        if weakest is None or found[weakest].p < 1 - confidence:
            return found, fitted, cuts
        cuts = _placed(cost, [c for i, c in enumerate(cuts) if i != weakest], y.size)


def _placed(cost: _LineCost, cuts: list[int], n: int) -> list[int]:
    """Put each cut at its best place between its neighbours, twice over."""
    cuts = list(cuts)
    for _ in range(2):
        for i in range(len(cuts)):
            low = cuts[i - 1] if i else 0
            high = cuts[i + 1] if i + 1 < len(cuts) else n
            places = range(low + cost.min_size, high - cost.min_size + 1)
            cuts[i] = min(places, key=lambda c: cost.error(low, c) + cost.error(c, high))
    return cuts


def _joint(
    x: Any, y: Any, cuts: list[int], sloped: bool, confidence: float
) -> tuple[list[ChangePoint], Any]:
    """Estimate every step's size in one fit with a common slope, and its p."""
    from scipy.stats import t as student

    index = np.arange(y.size)
    columns = [np.ones(y.size)]
    if sloped:
        columns.append((x - x.mean()) / np.ptp(x))
    head = len(columns)
    columns += [(index >= cut).astype(float) for cut in cuts]
    design = np.column_stack(columns)
    keep = _clear_of(cuts, y.size)
    used = design[keep]
    inverse = np.linalg.pinv(used.T @ used)
    beta = inverse @ (used.T @ (y - y.mean())[keep])
    fitted = design @ beta + y.mean()
    df = max(int(keep.sum()) - design.shape[1], 1)
    noise = math.sqrt(float(np.square((y - fitted)[keep]).sum()) / df)
    reach = float(student.ppf((1 + confidence) / 2, df))
    wide = _position_reach(confidence)
    found = []
    for number, cut in enumerate(cuts):
        size = float(beta[head + number])
        error = noise * math.sqrt(max(float(inverse[head + number, head + number]), 0.0))
        p = float(2 * student.sf(abs(size) / error, df)) if error > 0 else 0.0
        p = min(1.0, p * y.size)
        # One block more on each side: the position is known to a block at best.
        away = math.ceil(wide * (noise / size) ** 2 if size else y.size) + 1
        low = x[max(cut - away, 0)]
        high = x[min(cut - 1 + away, y.size - 1)]
        middle = float((x[cut - 1] + x[cut]) / 2)
        found.append(
            ChangePoint(
                Interval(
                    middle, min(float(low), middle), max(float(high), middle), confidence, "Yao"
                ),
                Interval(
                    size,
                    size - reach * error,
                    size + reach * error,
                    confidence,
                    "Student's t on block means",
                ),
                p,
            )
        )
    return found, fitted


def _clear_of(cuts: list[int], n: int) -> Any:
    """Choose blocks that no step runs through: the one on each side of a cut may be mixed."""
    keep = np.ones(n, dtype=bool)
    edges = [0, *cuts, n]
    for before, cut, after in zip(edges[:-2], cuts, edges[2:], strict=True):
        if min(cut - before, after - cut) > 6:
            keep[cut - 1 : cut + 1] = False
    return keep


@lru_cache(maxsize=8)
def _position_reach(confidence: float) -> float:
    """Compute the quantile of the distance of the argmax of ``W(t) - |t|/2`` from zero (Yao 1987)."""
    from scipy.optimize import brentq
    from scipy.special import log_ndtr, ndtr

    def cdf(x: float) -> float:
        root = math.sqrt(x)
        return float(
            1
            + math.sqrt(x / (2 * math.pi)) * math.exp(-x / 8)
            - (x + 5) / 2 * ndtr(-root / 2)
            + 1.5 * math.exp(x + float(log_ndtr(-1.5 * root)))
        )

    return float(brentq(lambda x: cdf(x) - (1 + confidence) / 2, 1e-6, 400.0))
