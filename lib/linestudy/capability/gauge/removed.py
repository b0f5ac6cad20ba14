"""Capability of the parts themselves, with the gauge's variance taken out.

Model: a reading is the part plus the gauge's bias plus a normal error that does not depend on the part, so
the variance of the readings is that of the parts plus the gauge's. Quantiles of the parts are those of the
readings drawn towards the median by the square root of what share of the variance the parts hold:
exact for a normal process, shape-keeping otherwise. The gauge's variance carries its own interval
into the index by drawing: the process from the uncertainty of its fitted parameters, the gauge from
chi-square with the degrees of freedom of its study (generalized pivots; Burdick, Borror & Montgomery
2005, appendix B).

Admissible only where the gauge holds clearly less than the readings' variance: where in more than one draw of
forty nothing is left for the parts, the data do not exclude that all of it is gauge, and no index is given.
It misleads where the gauge study was made under calmer conditions than the run (too little is taken out) and
where gauge and process vary together. It is an addition to the index of the readings and never replaces it: the
customer buys parts that were measured with this gauge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.numerics.randomness import normal_draws
from linestudy.results import CannotJudge, Finding, Interval, show
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd

_QUANTILES = (0.00135, 0.5, 0.99865)
#: Share of draws without anything left for the parts from which on no index is given.
_LOST = 0.025

Truth = tuple[tuple[float, float, float], float, float]


@dataclass(frozen=True)
class GaugeRemoved(Finding):
    """Index of the parts, without the gauge.

    Attributes
    ----------
    Ppk : Interval
        Of the parts.
    with_gauge : float
        Of the readings, by the same quantiles.
    share_of_parts : Interval
        Variance of the parts over that of the readings.
    bias : float
        Taken from the readings, in their unit; 0 where none was seen.
    """

    Ppk: Interval
    with_gauge: float
    share_of_parts: Interval
    bias: float
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Capability without the gauge"

    @property
    def statement(self) -> str:
        text = (
            f"The parts themselves have Ppk = {show(self.Ppk)}; read through the gauge it is "
            f"{self.with_gauge:.2f}. The gauge holds {1 - self.share_of_parts.estimate:.1%} of the "
            "variance of the readings"
        )
        if self.bias:
            return f"{text}, and its bias of {self.bias:.3g} {self.unit} is taken off.".replace(
                "  ", " "
            )
        return f"{text}."

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        rows = [
            ("Ppk of the parts", show(self.Ppk)),
            ("Ppk of the readings", f"{self.with_gauge:.3f}"),
            ("variance of the parts over that of the readings", show(self.share_of_parts)),
            (f"bias taken off{unit}", show(self.bias) if self.bias else "none"),
        ]
        return pd.DataFrame(rows, columns=["quantity", "value"])


GAUGE_REMOVED = Declaration(
    "capability.gauge_removed",
    GaugeRemoved,
    "Without the gauge",
    part="characteristic",
    question="fit",
    order=30,
    brief=True,
)


def gauge_removed(
    quantiles: Sequence[float],
    sd: float,
    gauge_sd: float,
    lower: float | None,
    upper: float | None,
    draws: Sequence[Truth],
    bias: float = 0.0,
    confidence: float = 0.95,
    unit: str = "",
) -> GaugeRemoved:
    """Take the gauge's variance out of an index.

    Parameters
    ----------
    quantiles : (float, float, float)
        Of the readings' distribution, at 0.135, 50 and 99.865 %.
    sd : float
        Standard deviation of that distribution.
    gauge_sd : float
        Of the gauge's error, all in one unit.
    lower, upper : float or None
    draws : sequence of (quantiles, sd, gauge_sd)
        Equally likely truths, at least a hundred.
    bias : float
        Reading less true value, on average.
    confidence : float
    unit : str

    Returns
    -------
    GaugeRemoved

    Raises
    ------
    CannotJudge
        No limit, or the data do not exclude that all spread is the gauge's.

    Examples
    --------
    >>> q = (-3.0, 0.0, 3.0)
    >>> found = gauge_removed(q, 1.0, 0.6, -4.0, 4.0, [(q, 1.0, 0.6)] * 100)
    >>> round(found.Ppk.estimate, 3), round(found.with_gauge, 3)
    (1.667, 1.333)
    """
    if lower is None and upper is None:
        raise CannotJudge("Without a limit there is no index.")
    best = _index(quantiles, sd, gauge_sd, lower, upper, bias)
    drawn = [_index(q, s, g, lower, upper, bias) for q, s, g in draws]
    kept = [row for row in drawn if row is not None]
    if best is None or len(kept) < (1 - _LOST) * len(drawn):
        raise CannotJudge(
            "The gauge's spread is so near to that of the readings that all of it may be the gauge's; taking "
            "it out is not admissible."
        )
    rows = np.array(kept)
    tails = ((1 - confidence) / 2, (1 + confidence) / 2)
    ends = np.quantile(rows, tails, axis=0)

    def interval(column: int) -> Interval:
        value = best[column]
        low, high = (float(end) for end in ends[:, column])
        return Interval(value, min(low, value), max(high, value), confidence, "generalized pivot")

    whole = _index(quantiles, sd, 0.0, lower, upper, 0.0)
    assert whole is not None
    notes = (
        "This is an addition to the index of the readings, on which the verdict rests; it is right only as far "
        "as the gauge study saw the gauge as it is in the run.",
    )
    return GaugeRemoved(interval(0), whole[0], interval(1), bias, unit, notes)


def _index(
    quantiles: Sequence[float],
    sd: float,
    gauge_sd: float,
    lower: float | None,
    upper: float | None,
    bias: float,
) -> tuple[float, float] | None:
    share = 1 - (gauge_sd / sd) ** 2
    if share <= 0:
        return None
    shrink = share**0.5
    low, middle, high = quantiles
    centre = middle - bias
    sides = []
    if upper is not None:
        sides.append((upper - centre) / (shrink * (high - middle)))
    if lower is not None:
        sides.append((centre - lower) / (shrink * (middle - low)))
    return min(sides), share


def truths(
    fitted: Any,
    moments: Any,
    effective: float | None,
    sizes: Any,
    rng: np.random.Generator,
    shifts: Any = 0.0,
) -> list[Truth]:
    """Draws of process and gauge for `gauge_removed`.

    Parameters
    ----------
    fitted : Fitted
        With the covariance of its free parameters.
    moments : callable
        Mean and standard deviation of a fitted distribution.
    effective : float or None
        What serial correlation leaves of the number of values.
    sizes : numpy.ndarray of float, shape (draws,)
        Drawn standard deviations of the gauge.
    rng : numpy.random.Generator
    shifts : array_like of float, shape (draws,) or scalar
        Drawn displacements of the whole process, where its mean is known less well than its spread.

    Returns
    -------
    list of (quantiles, sd, gauge_sd)
    """
    widen = max(fitted.n / effective, 1.0) if effective else 1.0
    covariance = widen * np.asarray(fitted.covariance)
    free = np.asarray(fitted.free, dtype=float)

    def numbers(point: Any) -> Any:
        one = fitted.with_free(point)
        return np.append(one.ppf(_QUANTILES), moments(one)[1])

    # Quantiles move linearly within the uncertainty of the parameters; a mixture's are dear to compute.
    best = numbers(free)
    steps = np.sqrt(np.diag(covariance))
    slopes = np.array(
        [
            (numbers(free + step * axis) - numbers(free - step * axis)) / (2 * step or 1.0)
            for step, axis in zip(steps, np.eye(free.size), strict=True)
        ]
    )
    moves = normal_draws(covariance, len(sizes), rng) @ slopes
    drawn = best + moves
    drawn[:, :3] += np.reshape(shifts, (-1, 1))
    return [
        ((float(row[0]), float(row[1]), float(row[2])), max(float(row[3]), 1e-300), float(size))
        for row, size in zip(drawn, sizes, strict=True)
    ]
