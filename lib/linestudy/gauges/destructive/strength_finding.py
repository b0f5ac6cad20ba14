"""What a study of strength by size found: line, assured strength, least size."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from linestudy.results import Absent, Finding, Interval, show_in
from linestudy.results.declared import Declaration
from linestudy.results.rounding import as_given
from linestudy.results.tables import Quantity, Rows


@dataclass(frozen=True)
class StrengthAssurance(Finding):
    """What a size that is read on every part says of a strength that is not.

    Attributes
    ----------
    n : int
        Parts that were measured and then destroyed.
    batches : int
        Batches they came from; 0 where none are named.
    slope : Interval
        [unit of the strength per unit of the size] Change of strength with size.
    intercept : Interval
        [unit of the strength] Strength extrapolated to size zero.
    sd : float
        [unit of the strength] Standard deviation of a single part about the line, batches included.
    batch_share : float
        Share of that variance that lies between batches.
    required : float
        [unit of the strength] Least strength asked for.
    content : float
        Share of the parts that is to reach it.
    confidence : float
        Of the bounds, one-sided.
    width_limit : float or Absent
        [unit of the size] Least size that assures the required strength; never below the smallest that was
        tested. Formula: lower tolerance bound at the size = required.
    guarded_limit : float or Absent
        [unit of the size] The same with a guard for the accepting gauge. Formula: width_limit + z(confidence) ·
        gauge_sd.
    at_limits : dict of str to float
        [unit of the strength] Lower tolerance bound of the strength at each tolerance limit of the size.
    reaches : tuple of float
        [unit of the size] Smallest and largest size among the parts.
    low_quantile_slope : Interval or Absent
        [unit of the strength per unit of the size] Slope of the line below which a tenth of the parts lie
        (quantile regression, leaning on no distribution), to hold against ``slope``.
    curved_p : float
        Of the test that strength follows size along a straight line (squared term).
    spread_p : float
        Of the test that the spread about the line does not change with size (Breusch and Pagan, Koenker's form).
    normal_p : float
        Of the test that the distances from the line are normal (Shapiro and Wilk).
    pulls_needed : int or Absent
        Parts of the same spread of sizes that would assure the strength at the lower limit of the size, if line
        and spread are what they seem.
    size_unit : str
        Unit of the size.
    unit : str
        Unit of the strength.
    points : numpy.ndarray of float, shape (n, 2)
        Size and strength of each part.
    curve : numpy.ndarray of float, shape (60, 3)
        Size, line and lower tolerance bound.
    """

    n: int
    batches: int
    slope: Interval
    intercept: Interval
    sd: float
    batch_share: float
    required: float
    content: float
    confidence: float
    width_limit: float | Absent
    guarded_limit: float | Absent
    at_limits: dict[str, float]
    reaches: tuple[float, float]
    low_quantile_slope: Interval | Absent
    curved_p: float
    spread_p: float
    normal_p: float
    pulls_needed: int | Absent
    size_unit: str
    unit: str
    cautions: tuple[str, ...]
    points: NDArray[np.float64] = field(repr=False, compare=False)
    curve: NDArray[np.float64] = field(repr=False, compare=False)
    title: ClassVar[str] = "Strength by size"
    picture: ClassVar[str] = "gauge_error:strength_by_size"

    @property
    def statement(self) -> str:
        held = f"{100 * self.content:.3g} % of the parts ({100 * self.confidence:.3g} % confidence)"
        need = f"{as_given(self.required)} {self.unit}".strip()
        if isinstance(self.width_limit, Absent):
            return f"No size assures {need} for {held}: {self.width_limit.reason}."
        limit = self.width_limit if isinstance(self.guarded_limit, Absent) else self.guarded_limit
        guard = "" if isinstance(self.guarded_limit, Absent) else ", the gauge's guard included"
        size = f"{as_given(float(f'{limit:.4g}'))} {self.size_unit}".strip()
        text = f"A size of at least {size} assures {need} for {held}{guard}"
        if limit == self.reaches[0]:
            text = f"Every size that was tested, {size} and more, assures {need} for {held}"
        if "lower" not in self.at_limits:
            return f"{text}."
        bound = self.at_limits["lower"]
        enough = "which is enough" if bound >= self.required else "which is not enough"
        return f"{text}. At the lower limit of the size {show_in(bound, self.unit, self.sd)} are assured, {enough}."

    def _rows(self) -> Rows:
        return [
            Quantity("parts destroyed", self.n),
            Quantity("slope", self.slope),
            Quantity("slope of the lowest tenth", self.low_quantile_slope),
            Quantity("SD about the line", self.sd, self.unit),
            Quantity("required strength", self.required, self.unit),
            Quantity("least size that assures it", self.width_limit, self.size_unit),
            Quantity("the same, gauge's guard included", self.guarded_limit, self.size_unit),
            *(
                Quantity(f"assured at the {name} limit of the size", value, self.unit)
                for name, value in self.at_limits.items()
            ),
            Quantity("p, straight line", self.curved_p, "p"),
            Quantity("p, equal spread", self.spread_p, "p"),
            Quantity("p, normal about the line", self.normal_p, "p"),
            Quantity("parts needed to assure the lower limit", self.pulls_needed),
        ]


STRENGTH = Declaration(
    "gauges.{gauge}.strength", StrengthAssurance, "Strength by size", picture=54, with_table=True
)
