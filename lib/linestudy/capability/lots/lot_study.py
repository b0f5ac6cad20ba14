"""What the lots seen (coils, batches) say of the process, and of a lot not yet seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.capability.lots.lot_draws import LotDraws, drawn_from
from linestudy.capability.lots.over_lots import sides_of
from linestudy.results import Absent, Finding, Interval, arguments, counted, data_arguments, show
from linestudy.results.declared import Declaration
from linestudy.results.tables import Quantity, Rows
from linestudy.shape.fitting import FittedDistribution

#: Lots are too few where they leave the lower bound of an index below this share of its estimate, and as
#: many are named as would bring it to the second (common practice, no source).
TOO_LITTLE, ENOUGH = 0.5, 0.8


@dataclass(frozen=True)
class LotStudy(Finding):
    """What lots say of the process that goes on to others.

    Attributes
    ----------
    level : str
        What a lot is called, as ``"coil"``.
    lots : int
        Lots seen.
    n : int
        Readings.
    lot_share : Interval
        Share of the variance that lies between lots.
    mean : Interval
        [unit of the values] Mean of the process over lots.
    sd : Interval
        [unit of the values] Standard deviation of the process over lots. Formula: ``sqrt(variance between + within)``.
    next_lot_mean : Interval
        [unit of the values] Where the mean of a lot not yet seen will lie (prediction).
    next_lot_Ppk : Interval or Absent
        Where the index of a lot not yet seen will lie (prediction), by its own mean and the spread within lots.
    bound_share : float or Absent
        Lower bound of Ppk by the lots alone, over Ppk.
    enough : bool
        Whether that is at least a half.
    lots_needed : int or None
        How many lots like these would bring it to four fifths; None beyond a thousand, or without an index.
    unit : str
        Of the values.
    """

    level: str
    lots: int
    n: int
    lot_share: Interval
    mean: Interval
    sd: Interval
    next_lot_mean: Interval
    next_lot_Ppk: Interval | Absent
    bound_share: float | Absent
    enough: bool
    lots_needed: int | None
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Lots seen and lots to come"

    @property
    def statement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        seen, share = counted(self.lots, self.level), show(self.lot_share.times(100))
        text = (
            f"{share} % of the variance lies between {seen}; the mean of the next {self.level} is expected between "
            f"{_ends(self.next_lot_mean)}{unit} ({self.next_lot_mean.confidence:.0%})."
        )
        if self.enough or isinstance(self.bound_share, Absent):
            return text
        text += (
            f" {seen} say too little of those to come: the lower bound of Ppk is {max(self.bound_share, 0.0):.0%} "
            "of its estimate by that alone"
        )
        if self.lots_needed is None:
            return f"{text}."
        return (
            f"{text}; about {counted(self.lots_needed, self.level)} would bring it to {ENOUGH:.0%}."
        )

    def _rows(self) -> Rows:
        needed: str | int = "more than 1,000" if self.lots_needed is None else self.lots_needed
        return [
            Quantity(f"lots seen ({self.level})", self.lots),
            Quantity("readings", self.n),
            Quantity("share of the variance between lots", self.lot_share, "%"),
            Quantity("mean of the process", self.mean, self.unit),
            Quantity("standard deviation of the process", self.sd, self.unit),
            Quantity("mean of the next lot (prediction)", self.next_lot_mean, self.unit),
            Quantity("Ppk of the next lot (prediction)", self.next_lot_Ppk),
            Quantity("lots that would be enough", needed),
        ]


LOTS = Declaration(
    "capability.lots",
    LotStudy,
    part="characteristic",
    question="fit",
    order=40,
)


def lot_capability(
    values: ArrayLike,
    lots: Sequence[ArrayLike] | LotDraws,
    lower: float | None = None,
    upper: float | None = None,
    *,
    by: str = "lot",
    fitted: FittedDistribution | None = None,
    confidence: float = 0.95,
    unit: str = "",
) -> LotStudy:
    r"""Judge what few lots (coils, batches) say of the process, and of a lot not yet seen.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In any unit and order, at least ten.
    lots : sequence of array_like, each of shape (n,), or LotDraws
        Lot of each value, then what is between lot and value (cask, specimen), if anything.
    lower, upper : float, optional
        Tolerance limits in the unit of the values.
    by : str
        What a lot is called, in the singular.
    fitted : FittedDistribution, optional
        Distribution of the values; normal when absent.
    confidence : float
        Of intervals and predictions, between 0 and 1.
    unit : str
        Of the values.

    Returns
    -------
    LotStudy
        Mean, spread and share between lots with intervals, and predictions for the next lot.

    Raises
    ------
    CannotJudge
        One lot only, a value that names none, fewer than ten values, or values that never differ.
    ValueError, TypeError
        Lengths that differ, or an argument outside its range.

    See Also
    --------
    process_capability : Takes the same `lots` for its intervals.
    nested_components : The components of variance one by one.

    Notes
    -----
    Model: lots random about the process mean, values random within them, both normal,

    .. math:: y_{ij} = \mu + a_i + \varepsilon_{ij}, \qquad \sigma^2 = \sigma_a^2 + \sigma_\varepsilon^2.

    With :math:`SS_b` the sum of squares of the k plain lot means and :math:`h` the mean of the reciprocals of
    the lot sizes, :math:`SS_b / (\sigma_a^2 + h \sigma_\varepsilon^2)` is close to chi-square with k − 1 degrees of
    freedom, and intervals follow from the generalized pivots

    .. math:: \sigma^2 \sim \frac{SS_b}{\chi^2_{k-1}} + (1 - h) \frac{SS_w}{\chi^2_{n-k}}, \qquad
        \mu \sim \bar y + Z \sqrt{\frac{SS_b}{k\, \chi^2_{k-1}}}.

    Where lots are few the first chi-square may be near zero, and the bound of an index next to nothing:
    that is what so few lots say. Misleads where the lots were chosen, or follow each other like one another.

    References
    ----------
    Krishnamoorthy & Mathew, *Technometrics* 46 (2004), 44-52; Krishnamoorthy & Mathew, *Statistical
    Tolerance Regions* (2009), ch. 5.

    Examples
    --------
    >>> import numpy as np
    >>> coil = np.repeat(np.arange(3), 20)
    >>> y = 80 + 4 * np.array([-1.0, 0.3, 0.7])[coil] + 3 * np.random.default_rng(2).normal(size=60)
    >>> study = lot_capability(y, [coil], 60.0, by="coil", unit="N")
    >>> study.enough
    False
    """
    y = data_arguments.one_dimensional(values, least=10)
    lower, upper = arguments.limits(lower, upper, needed=False)
    arguments.share("confidence", confidence)
    draws = drawn_from(y, lots)
    if draws is None:
        raise ValueError("lots = () cannot be used; give at least the lot of each value.")
    below, above = sides_of(draws, fitted, lower, upper)
    no_limit = Absent("there is no limit")
    share: float | Absent = no_limit
    needed = None
    next_index: Interval | Absent = no_limit
    shift, own = draws.next_lot(below, above)
    if own is not None:
        index = min(side for side in (below, above) if side is not None)
        share = Absent("the index is not positive")
        if index > 0:
            share = draws.bound(below, above, confidence) / index
            needed = draws.lots_for(ENOUGH, index, confidence)
        within = draws.within**0.5
        next_index = _around(index / within if within > 0 else index, own, confidence)
    return LotStudy(
        level=by,
        lots=draws.lots,
        n=draws.n,
        lot_share=_around(
            draws.lot_share, np.minimum(draws.lot_sd / draws.stretch, 1.0) ** 2, confidence
        ),
        mean=_around(draws.mean, draws.mean + draws.sd * draws.shift, confidence),
        sd=_around(
            draws.sd * (draws.between + draws.within) ** 0.5, draws.sd * draws.stretch, confidence
        ),
        next_lot_mean=_around(draws.mean, draws.mean + draws.sd * shift, confidence, "prediction"),
        next_lot_Ppk=next_index,
        bound_share=share,
        enough=isinstance(share, Absent) or share >= TOO_LITTLE,
        lots_needed=needed,
        unit=unit,
        cautions=(
            f"{counted(draws.lots, by)} are taken as a sample of those to come: neighbours that are alike (one heat, one "
            "delivery) count for less.",
        ),
    )


def _around(
    estimate: float, sample: Any, confidence: float, method: str = "generalized pivot"
) -> Interval:
    low, high = np.quantile(sample, [(1 - confidence) / 2, (1 + confidence) / 2])
    return Interval(
        float(estimate),
        min(float(low), float(estimate)),
        max(float(high), float(estimate)),
        confidence,
        method,
    )


def _ends(item: Interval) -> str:
    """Write both ends with the digits that the interval is shown with."""
    inside = show(item)
    return inside[inside.index("(") + 1 : -1].replace(" to ", " and ")
