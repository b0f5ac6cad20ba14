"""What a study of linearity found: slope of the bias, bias at the limits."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from linestudy.results import Finding, Interval, show, show_in
from linestudy.results.declared import Declaration
from linestudy.results.rounding import p_text
from linestudy.results.tables import Quantity, Rows


@dataclass(frozen=True)
class LinearityStudy(Finding):
    """Whether the bias changes with size.

    Attributes
    ----------
    n : int
        Readings.
    slope : Interval
        Change of bias per unit of size (dimensionless).
    intercept : Interval
        [unit of the readings] Bias extrapolated to size zero.
    slope_t : float
        Of the test that the bias does not change with size. Formula: slope / its standard error.
    slope_p : float
        Of that test; the larger where each master's own spread, where known, gives another one.
    intercept_t : float
        Of the test that the line passes through zero. Formula: intercept / its standard error.
    intercept_p : float
        Two-sided p of that test.
    r_squared : float
        Share of the variance of the errors that the line explains.
    residual_sd : float
        [unit of the readings] Standard deviation about the line; within masters where these are uncertain.
    at_limits : dict of str to Interval
        [unit of the readings] Bias at each tolerance limit, ``lower`` and ``upper``.
    lack_of_fit_p : float or None
        Of the test that a straight line describes the means of the masters.
    unit : str
        Unit of the readings.
    readings : numpy.ndarray of float, shape (n, 2)
        Size of the master and error of each reading.
    """

    n: int
    slope: Interval
    intercept: Interval
    slope_t: float
    slope_p: float
    intercept_t: float
    intercept_p: float
    r_squared: float
    residual_sd: float
    at_limits: dict[str, Interval]
    lack_of_fit_p: float | None
    unit: str
    cautions: tuple[str, ...]
    readings: NDArray[np.float64] = field(repr=False, compare=False)
    title: ClassVar[str] = "Linearity"
    picture: ClassVar[str] = "gauges:bias_against_size"

    @property
    def statement(self) -> str:
        moves = (
            "changes"
            if not self.slope.low <= 0 <= self.slope.high
            else "does not change significantly"
        )
        ends = "; ".join(
            f"at the {name} limit it is {show_in(value, self.unit)}"
            for name, value in self.at_limits.items()
        )
        tail = f"; {ends}" if ends else ""
        line = (
            f"The bias {moves} with size (slope {show(self.slope)}, {p_text(self.slope_p)}){tail}."
        )
        if self.lack_of_fit_p is None or self.lack_of_fit_p >= _NOT_STRAIGHT:
            return line
        return (
            f"The bias changes with size, and not along a straight line ({p_text(self.lack_of_fit_p)}): "
            "the bias on each master counts. "
        ) + line.replace(
            "The bias does not change significantly", "A straight line shows no significant change"
        ).replace("The bias changes", "The straight line changes")

    def _rows(self) -> Rows:
        limits = [
            Quantity(f"bias at the {name} limit", value, self.unit)
            for name, value in self.at_limits.items()
        ]
        return [
            Quantity("slope", self.slope),
            Quantity("p, no slope", self.slope_p, "p"),
            Quantity("intercept", self.intercept, self.unit),
            Quantity("p, no intercept", self.intercept_p, "p"),
            *limits,
        ]


#: Level of the test of the straight line; below it the bias on each master decides.
_NOT_STRAIGHT = 0.01

LINEARITY = Declaration("gauges.{gauge}.linearity", LinearityStudy, "Linearity of the bias")


def cautions_of_limits(
    levels: NDArray[np.float64], lower: float | None, upper: float | None
) -> tuple[str, ...]:
    """Say where the masters do not reach a limit."""
    beyond = [
        name
        for name, limit, out in (
            ("lower", lower, lower is not None and lower < levels[0]),
            ("upper", upper, upper is not None and upper > levels[-1]),
        )
        if out
    ]
    if not beyond:
        return ()
    return (
        f"The masters do not reach the {' and '.join(beyond)} limit; the bias there is extrapolated.",
    )
