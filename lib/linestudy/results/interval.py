"""An estimate with the interval it is known to, and a value that cannot be given."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Absent:
    """A value that cannot be given, and why.

    Attributes
    ----------
    reason : str
        A clause that can follow "not given:".
    """

    reason: str

    def __bool__(self) -> bool:
        return False

    def __str__(self) -> str:
        return f"not given: {self.reason}"

    def record(self) -> dict[str, str]:
        """Return ``{"absent": reason}``, the form used in results.json."""
        return {"absent": self.reason}


@dataclass(frozen=True, slots=True)
class Interval:
    """An estimate and its confidence interval.

    Attributes
    ----------
    estimate, low, high : float
        In the unit of the quantity. A one-sided bound leaves the other end infinite.
    confidence : float
        Nominal coverage, for example 0.95.
    method : str
        How the interval was formed, for example ``"noncentral t"``.
    """

    estimate: float
    low: float
    high: float
    confidence: float
    method: str

    def __post_init__(self) -> None:
        if not 0 < self.confidence < 1:
            raise ValueError("confidence must lie between 0 and 1")
        for name in ("estimate", "low", "high"):
            if math.isnan(getattr(self, name)):
                raise ValueError(f"the {name} of an interval is not a number (NaN)")
        if self.low > self.high:
            raise ValueError(f"interval ends are out of order: {self.low} > {self.high}")

    def __contains__(self, value: float) -> bool:
        return self.low <= value <= self.high

    def __str__(self) -> str:
        from linestudy.results.rounding import show

        return show(self)

    def __format__(self, spec: str) -> str:
        """Format all three numbers alike, as in ``f"{interval:.2f}"``; without a format as a report shows it."""
        if not spec:
            return str(self)
        low, high = (format(end, spec) for end in (self.low, self.high))
        return f"{format(self.estimate, spec)} ({low} to {high})"

    def __float__(self) -> float:
        return float(self.estimate)

    @property
    def half_width(self) -> float:
        """Return half of the distance between the ends; infinite for a one-sided bound."""
        return (self.high - self.low) / 2

    def mapped(self, change: Callable[[float], float], method: str | None = None) -> Interval:
        """Apply a monotone function to the estimate and both ends.

        A decreasing function swaps the ends, so that ``low <= high`` still holds.
        """
        low, high = change(self.low), change(self.high)
        if low > high:
            low, high = high, low
        return Interval(change(self.estimate), low, high, self.confidence, method or self.method)

    def times(self, factor: float) -> Interval:
        """Return the interval in another unit: every number times `factor`."""
        return self.mapped(lambda value: value * factor)

    def record(self) -> dict[str, Any]:
        """Return the five fields as results.json holds them; an infinite end is absent."""
        return {
            "estimate": _finite(self.estimate),
            "low": _finite(self.low),
            "high": _finite(self.high),
            "confidence": self.confidence,
            "method": self.method,
        }


def _finite(value: float) -> float | dict[str, str]:
    if math.isfinite(value):
        return float(value)
    return Absent("one-sided bound" if math.isinf(value) else "not determined by the data").record()
