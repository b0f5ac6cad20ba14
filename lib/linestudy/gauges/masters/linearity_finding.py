"""What a study of linearity found: slope of the bias, bias at the limits."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.results import Finding, Interval, plain, show
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class LinearityStudy(Finding):
    """Whether the bias changes with size.

    Attributes
    ----------
    n : int
    slope : Interval
        Change of bias per unit of size (dimensionless).
    intercept : Interval
        Bias extrapolated to size zero, in the unit of the readings.
    slope_t, slope_p, intercept_t, intercept_p : float
    r_squared, residual_sd : float
    at_limits : dict of str to Interval
        Bias at each tolerance limit.
    lack_of_fit_p : float or None
        Test that a straight line describes the means of the masters.
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
    readings: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Linearity"
    picture: ClassVar[str] = "gauges:bias_against_size"

    @property
    def statement(self) -> str:
        moves = "changes" if not self.slope.low <= 0 <= self.slope.high else "is not seen to change"
        ends = "; ".join(
            f"at the {name} limit it is {show(value)} {self.unit}".rstrip()
            for name, value in self.at_limits.items()
        )
        tail = f"; {ends}" if ends else ""
        return (
            f"The bias {moves} with size (slope {show(self.slope)}, p = {self.slope_p:.2g}){tail}."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        rows: list[tuple[str, str, float | None]] = [
            ("slope", show(self.slope), self.slope_p),
            (f"intercept{unit}", show(self.intercept), self.intercept_p),
        ]
        rows += [(f"bias at {k} limit{unit}", show(v), None) for k, v in self.at_limits.items()]
        return pd.DataFrame(rows, columns=["quantity", "value", "p"])

    def record(self) -> dict[str, Any]:
        """Keys as in format 1; added: n, intervals, at_limits, lack_of_fit_p."""
        return {
            "n": self.n,
            "slope": self.slope.record(),
            "intercept": self.intercept.record(),
            "slope_t": self.slope_t,
            "slope_p": self.slope_p,
            "intercept_t": self.intercept_t,
            "intercept_p": self.intercept_p,
            "r_squared": self.r_squared,
            "residual_sd": self.residual_sd,
            "at_limits": plain(self.at_limits),
            "lack_of_fit_p": self.lack_of_fit_p,
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


LINEARITY = Declaration("gauges.{gauge}.linearity", LinearityStudy, "Linearity of the bias")


def outside(levels: Any, lower: float | None, upper: float | None) -> tuple[str, ...]:
    """Caution where the masters do not reach a limit."""
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
