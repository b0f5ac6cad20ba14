"""Gauge performance curve: how the chance of acceptance falls with the measured value behind a judgement.

Model: whoever judges compares a part, seen with a normal error, with a threshold of their own:
``P(accept) = Phi((threshold - x) / spread)`` at an upper limit, and the mirror image at a lower one
(probit; Finney, *Probit Analysis*, 3rd ed., 1971). With two limits each
part belongs to the nearer one. The grey zone is where between 5 and 95 % are accepted; the bias at the
limit is threshold less limit. Maximum likelihood by statsmodels, brought to the root of its score; intervals
by profile likelihood, whose inner maximum is the root of a score that only falls, widened for judgements of one
part that are alike (`probit_curve`).

When it misleads: where nobody says which judgements are of one part, intervals are a little short; parts
far from the limit tell nothing; where no part was judged both ways only the gap between sure acceptance and
sure rejection is known.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.gauges.judgement.probit_curve import allowance, probit, profile
from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    arguments,
    data_arguments,
    show,
    show_in,
)
from linestudy.results.declared import Declaration
from linestudy.results.rounding import as_given, with_unit
from linestudy.results.tables import Rows

#: The grey zone: accepted with more than this and less than one minus this.
GREY = 0.05
#: Judgements near a limit from which the intervals of its curve hold.
_ENOUGH = 100
#: Parts from which the interval of the judgements' SD holds where several judgements of a part go together.
_PARTS = 40


@dataclass(frozen=True, slots=True)
class PerformanceAtLimit:
    """Threshold and sharpness of judgements at one limit.

    Attributes
    ----------
    threshold : Interval
        [unit of the measured value] Where half of the judgements accept.
    judgement_sd : Interval
        [unit of the measured value] Standard deviation with which a part is seen. Formula: 1 / probit slope.
    grey_low : float
        [unit of the measured value] Lower end of the grey zone. Formula: threshold - 1.645 judgement_sd.
    grey_high : float
        [unit of the measured value] Upper end of the grey zone. Formula: threshold + 1.645 judgement_sd.
    limit : float or None
        [unit of the measured value] Limit of the characteristic.
    bias : Interval or None
        [unit of the measured value] Formula: threshold - limit.
    judgements : int
        Judgements the curve rests on.
    """

    threshold: Interval
    judgement_sd: Interval
    grey_low: float
    grey_high: float
    limit: float | None
    bias: Interval | None
    judgements: int


@dataclass(frozen=True)
class GaugePerformanceCurve(Finding):
    """Threshold and sharpness of judgements, per limit.

    Attributes
    ----------
    sides : dict of str to PerformanceAtLimit
        ``lower`` and ``upper``, as far as judged.
    unjudged : dict of str to str
        Side, and why it could not be judged.
    unit : str
        Unit of the measured value.
    points : dict of str to numpy.ndarray
        For the picture: each measured value of a side and the share of judgements that accept it.
    """

    sides: dict[str, PerformanceAtLimit]
    unjudged: dict[str, str]
    unit: str
    cautions: tuple[str, ...]
    points: dict[str, NDArray[np.float64]] = field(repr=False, compare=False)
    title: ClassVar[str] = "Gauge performance curve"
    picture: ClassVar[str] = "gauge_error:performance_curve"

    @property
    def statement(self) -> str:
        parts = []
        for name, side in self.sides.items():
            fine = side.judgement_sd.estimate / 5
            text = (
                f"At the {name} limit judgements turn at {show_in(side.threshold, self.unit)}, and between "
                f"{show(side.grey_low, fine)} and {show_in(side.grey_high, self.unit, fine)} "
                "a part may be judged either way"
            )
            if side.bias is not None:
                where = "beyond" if _outward(name, side.bias.estimate) else "inside"
                size = show_in(abs(side.bias.estimate), self.unit)
                text += f"; the threshold lies {size} {where} the limit"
            parts.append(f"{text}.")
        parts += [f"At the {name} limit: {why}" for name, why in self.unjudged.items()]
        return " ".join(parts)

    def _rows(self) -> Rows:
        return [
            {
                "limit": name,
                with_unit("threshold", self.unit): side.threshold,
                with_unit("judgement SD", self.unit): side.judgement_sd,
                with_unit("grey zone from", self.unit): side.grey_low,
                with_unit("grey zone to", self.unit): side.grey_high,
                with_unit("bias at the limit", self.unit): Absent("no limit")
                if side.bias is None
                else side.bias,
                "judgements": side.judgements,
            }
            for name, side in self.sides.items()
        ]


PERFORMANCE_CURVE = Declaration(
    "attribute.performance_curve",
    GaugePerformanceCurve,
    part="characteristic",
    question="measurement",
    order=31,
)


def _outward(side: str, bias: float) -> bool:
    return bias > 0 if side == "upper" else bias < 0


def gauge_performance_curve(
    measured: ArrayLike,
    accepted: ArrayLike,
    lower: float | None = None,
    upper: float | None = None,
    *,
    part: ArrayLike | None = None,
    confidence: float = 0.95,
    unit: str = "",
) -> GaugePerformanceCurve:
    r"""Fit the probability of acceptance against a measured value.

    Parameters
    ----------
    measured : array_like of float, shape (n,)
        Value behind each judgement, in `unit`; a judgement without one (NaN) is passed over.
    accepted : array_like of bool, shape (n,)
        Whether the judgement accepts.
    lower, upper : float, optional
        Limits of the measured value, in `unit`. With neither, the side is seen from the data.
    part : array_like, shape (n,), optional
        Which part each judgement is of. Several judgements of one part tell less than those of several parts,
        and intervals then allow for it; absent, all judgements count as independent.
    confidence : float
        Of the intervals, between 0 and 1.
    unit : str
        Unit of the measured value, for table, statement and picture.

    Returns
    -------
    GaugePerformanceCurve
        Threshold, standard deviation, grey zone and bias at each limit.

    Raises
    ------
    CannotJudge
        Fewer than ten judgements, or no side on which judgements overlap.
    ValueError
        Arguments of different length, limits that are swapped, judgements other than true and false.

    See Also
    --------
    judgement_agreement : Rates and kappa of the same judgements.
    own_thresholds : Each appraiser's own curve.

    Notes
    -----
    Model: whoever judges compares a part, seen with a normal error, with a threshold T of their own
    (probit); at an upper limit

    .. math:: P(\text{accept} \mid x) = \Phi\left((T - x)/\sigma_J\right)

    and the mirror image at a lower one. Maximum likelihood; profile-likelihood intervals, widened by part
    where parts are named. Misleads where they are not and looks at one part are remembered (intervals a little
    short), and where no part was judged both ways. Several appraisers with thresholds of their own widen the
    curve; :func:`own_thresholds` separates them.

    References
    ----------
    Finney, *Probit Analysis*, 3rd ed. (1971). AIAG MSA, 4th ed. (2010), ch. III, section C. Rotnitzky &
    Jewell, *Biometrika* 77 (1990), 485-497.

    Examples
    --------
    >>> x = [1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9]
    >>> curve = gauge_performance_curve(x, [1, 1, 1, 1, 0, 1, 0, 0, 0, 0], upper=1.5)
    >>> round(curve.sides["upper"].threshold.estimate, 3)
    1.45
    """
    x = data_arguments.one_dimensional(measured, name="measured", what="part")
    said = np.asarray(accepted)
    if x.shape != said.shape or x.ndim != 1:
        raise ValueError(f"measured has shape {x.shape}, accepted {said.shape}; both must be (n,)")
    if not np.isin(said, (0, 1)).all():
        raise ValueError("accepted holds something else than True and False (or 1 and 0).")
    y = said.astype(bool)
    lower, upper = arguments.limits(lower, upper, needed=False)
    arguments.share("confidence", confidence)
    who = None if part is None else np.asarray(part).astype(str)
    if who is not None and who.shape != x.shape:
        raise ValueError(f"part has shape {who.shape}, measured {x.shape}; both must be (n,)")
    here = np.isfinite(x)
    data_arguments.computable(x[here], what="measured value")
    # Sums, and so all numbers, then do not depend on the order of the rows.
    order = np.flatnonzero(here)
    names = who[order] if who is not None else np.zeros(order.size)
    order = order[np.lexsort((names, y[order], x[order]))]
    x, y = x[order], y[order]
    who = None if who is None else who[order]
    if x.size < 10:
        raise CannotJudge(f"{x.size} judgements have a measured value; ten are needed for a curve.")
    sides: dict[str, PerformanceAtLimit] = {}
    unjudged: dict[str, str] = {}
    points: dict[str, NDArray[np.float64]] = {}
    few_again: dict[str, int] = {}
    for name, limit, own in _split(x, y, lower, upper):
        try:
            parts = None if who is None else who[own]
            sides[name] = _one_side(x[own], y[own], name, limit, confidence, parts)
            points[name] = _shares(x[own], y[own])
            known = 0 if parts is None else np.unique(parts).size
            if known < _PARTS and sides[name].judgements >= 2 * known:
                few_again[name] = known
        except CannotJudge as why:
            unjudged[name] = why.reason
    if not sides:
        raise CannotJudge(" ".join(unjudged.values()))
    notes = []
    for name, side in sides.items():
        if side.judgements < _ENOUGH:
            notes.append(
                f"{side.judgements} judgements near the {name} limit leave its curve uncertain: its intervals hold in 92 to 94 of 100 studies "
                "rather than 95."
            )
        elif few_again.get(name):
            notes.append(
                f"{few_again[name]} parts, each judged several times, are few near the {name} limit: where what is seen stays with a part, the interval of "
                "the judgements' SD holds in 91 to 94 of 100 studies rather than 95."
            )
        if side.bias is not None and 0.0 not in side.bias:
            kind = (
                "accepts bad parts" if _outward(name, side.bias.estimate) else "rejects good parts"
            )
            notes.append(f"At the {name} limit the judgement is biased: it {kind}.")
    return GaugePerformanceCurve(sides, unjudged, unit, tuple(notes), points)


def _shares(x: NDArray[np.float64], y: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Pair each value with the share of its judgements that accept."""
    values, inverse = np.unique(x, return_inverse=True)
    return np.column_stack([values, np.bincount(inverse, y) / np.bincount(inverse)])


def _split(
    x: NDArray[np.float64], y: NDArray[np.bool_], lower: float | None, upper: float | None
) -> list[tuple[str, float | None, NDArray[np.bool_]]]:
    if lower is not None and upper is not None:
        middle = (lower + upper) / 2
        return [("lower", lower, x <= middle), ("upper", upper, x > middle)]
    everything = np.ones(x.size, dtype=bool)
    if lower is not None:
        return [("lower", lower, everything)]
    if upper is not None:
        return [("upper", upper, everything)]
    rising = y.any() and not y.all() and x[y].mean() > x[~y].mean()
    return [("lower" if rising else "upper", None, everything)]


def _one_side(
    x: NDArray[np.float64],
    y: NDArray[np.bool_],
    name: str,
    limit: float | None,
    confidence: float,
    part: NDArray[Any] | None,
) -> PerformanceAtLimit:
    if x.size == 0 or y.all() or not y.any():
        only = "accepted" if y.any() else "rejected"
        raise CannotJudge(
            f"In all {x.size} judgements the parts near it were {only}, so nothing is known of where judgements turn."
        )
    sign = 1.0 if name == "lower" else -1.0
    # Towards higher z parts are accepted.
    z = sign * x
    sure, none = float(z[y].min()), float(z[~y].max())
    # Where all that overlaps is one value, the curve may still be as steep as one likes.
    if sure >= none:
        ends = sorted((sign * sure, sign * none))
        raise CannotJudge(
            f"No part was judged both ways; judgements turn somewhere between {as_given(ends[0], digits=5)} and {as_given(ends[1], digits=5)}."
        )
    centre, scale = float(z.mean()), float(z.std())
    u = (z - centre) / scale
    slope, level = probit(u, y)
    if slope <= 0:
        raise CannotJudge(
            "Parts farther out of the limit were accepted more often, so there is no curve."
        )
    best, spread = -level / slope, 1 / slope
    rises = allowance(u, part, y, best, math.log(spread), confidence)
    threshold = profile(u, y, best, math.log(spread), rises[0], 0)
    sharpness = profile(u, y, best, math.log(spread), rises[1], 1)
    ends = sorted(sign * (centre + scale * end) for end in threshold)
    at = sign * (centre + scale * best)
    width = scale * spread
    from scipy.special import ndtri

    grey = float(ndtri(1 - GREY)) * width
    how = "profile likelihood" if part is None else "profile likelihood, by part"
    found = Interval(at, ends[0], ends[1], confidence, how)
    return PerformanceAtLimit(
        threshold=found,
        judgement_sd=Interval(
            width,
            scale * math.exp(sharpness[0]),
            scale * math.exp(sharpness[1]),
            confidence,
            how,
        ),
        grey_low=at - grey,
        grey_high=at + grey,
        limit=limit,
        bias=None
        if limit is None
        else Interval(at - limit, ends[0] - limit, ends[1] - limit, confidence, how),
        judgements=int(x.size),
    )
