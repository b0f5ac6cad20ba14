"""Intervals that hold a stated share of all parts, whatever their distribution."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar, Literal

import numpy as np
from numpy.typing import ArrayLike

from linestudy.capability.order_statistics import (
    confidence_of,
    share_held,
    tolerance_interval_sample_size,
)
from linestudy.results import Absent, Finding, arguments, data_arguments
from linestudy.results.declared import Declaration
from linestudy.results.rounding import alike, decimals_for, with_unit
from linestudy.results.tables import Rows, numeric_table
from linestudy.running.deprecation import old_keywords, renamed

if TYPE_CHECKING:
    import pandas as pd

#: Shares people ask for: AIAG and ISO speak of 99.73 %; the others are common practice, no source.
CONTENTS = (0.95, 0.99, 0.9973)
#: Fewer different values than this make a rank coarse (common practice, no source).
COARSE = 20
#: Which ends an interval has.
Sides = Literal["both", "lower", "upper"]


@dataclass(frozen=True, slots=True)
class ToleranceInterval:
    """One tolerance interval.

    Attributes
    ----------
    content : float
        Share of all parts that it holds at least.
    needed : int
        Sample size from which on such an interval exists.
    low, high : float or None
        [unit of the values] Its ends; None where it has no such end, or does not exist.
    confidence : float or Absent
        Confidence that is attained, at least the one asked for; absent where there are too few values.
        Formula: ``P{Beta(n - m + 1, m) >= content}``, m values being outside.
    """

    content: float
    needed: int
    low: float | None
    high: float | None
    confidence: float | Absent

    @property
    def exists(self) -> bool:
        """Whether there are values enough for it."""
        return not isinstance(self.confidence, Absent)


@dataclass(frozen=True)
class ToleranceIntervals(Finding):
    """Distribution-free tolerance intervals of one characteristic.

    Attributes
    ----------
    n : int
        Values.
    n_eff : float
        Effective sample size that the ranks were chosen with.
    sides : {"both", "lower", "upper"}
        Which ends the intervals have.
    intervals : tuple of ToleranceInterval
        One for each content, in ascending order.
    extremes_hold : float
        Share of all parts that the smallest and the largest value (or the one that counts)
        hold between them at the stated confidence.
    inside_limits : bool or None
        Whether the interval of the largest content that exists lies inside the tolerance limits; None
        without limits or interval.
    confidence : float
        Confidence that was asked for.
    unit : str
        Unit of the values; not recorded here.
    lower, upper : float or None
        [unit of the values] Tolerance limits; not recorded here.
    extremes : (float, float, float)
        [unit of the values] Smallest value, median, largest value; not recorded.
    """

    n: int
    n_eff: float
    sides: Sides
    intervals: tuple[ToleranceInterval, ...]
    extremes_hold: float
    inside_limits: bool | None
    confidence: float
    unit: str = field(repr=False)
    cautions: tuple[str, ...]
    lower: float | None = field(repr=False, compare=False)
    upper: float | None = field(repr=False, compare=False)
    extremes: tuple[float, float, float] = field(repr=False, compare=False)
    title: ClassVar[str] = "Tolerance intervals without a distribution"
    picture: ClassVar[str] = "capability:tolerance_interval_plot"

    @property
    def statement(self) -> str:
        found = [item for item in self.intervals if item.exists]
        unit = f" {self.unit}" if self.unit else ""
        if not found:
            least = self.intervals[0]
            return (
                f"{self.n_eff:,.0f} independent values are too few for an interval that holds "
                f"{100 * least.content:.4g} % of all parts at {self.confidence:.0%} confidence without a "
                f"distribution; {least.needed:,} are needed."
            )
        best = found[-1]
        low, high = self._ends(best)
        ends = {
            "both": f"between {low} and {high}{unit}",
            "lower": f"above {low}{unit}",
            "upper": f"below {high}{unit}",
        }[self.sides]
        inside = {True: ", inside the limits", False: ", not inside the limits", None: ""}
        return (
            f"Distribution-free, at {self.confidence:.0%} confidence: at least {100 * best.content:.4g} % of parts "
            f"lie {ends}{inside[self.inside_limits]}."
        )

    def _ends(self, item: ToleranceInterval) -> tuple[str, str]:
        """Write both ends, rounded to a fiftieth of the values' range but no finer than they were read."""
        span = self.extremes[2] - self.extremes[0]
        known = [end for end in (item.low, item.high) if end is not None]
        shown = iter(alike(known, decimals_for(span / 50) if span else 6))
        low, high = ("" if end is None else next(shown) for end in (item.low, item.high))
        return low, high

    def _rows(self) -> Rows:
        return [
            {
                "share of parts (%)": 100 * item.content,
                with_unit("from", self.unit): math.nan if item.low is None else item.low,
                with_unit("to", self.unit): math.nan if item.high is None else item.high,
                "independent values needed": item.needed,
            }
            for item in self.intervals
        ]

    def shown(self) -> pd.DataFrame:
        """Return the table as text, ends rounded to a fiftieth of what the values span.

        Returns
        -------
        pandas.DataFrame
        """
        table = numeric_table(self._rows()).astype(object)
        share, low, high, needed = table.columns
        table[share] = [f"{100 * item.content:.4g}" for item in self.intervals]
        for name, end in ((low, 0), (high, 1)):
            table[name] = [
                self._ends(item)[end] if item.exists else "too few values"
                for item in self.intervals
            ]
        table[needed] = [f"{item.needed:,}" for item in self.intervals]
        return table


TOLERANCE_INTERVALS = Declaration(
    "capability.tolerance_intervals", ToleranceIntervals, "Tolerance intervals"
)


@old_keywords(renamed("n_effective", "n_eff", since="0.2.0", removal="0.3.0"))
def tolerance_intervals(
    values: ArrayLike,
    lower: float | None = None,
    upper: float | None = None,
    *,
    contents: tuple[float, ...] = CONTENTS,
    confidence: float = 0.95,
    n_eff: float | None = None,
    unit: str = "",
) -> ToleranceIntervals:
    r"""Compute distribution-free tolerance intervals.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Readings in any unit, at least two.
    lower, upper : float, optional
        Tolerance limits in the unit of the values; with one of them the interval is one-sided, with
        none it has both ends.
    contents : tuple of float
        Shares of all parts, each between 0 and 1, in ascending order.
    confidence : float
        At which the interval holds its share, between 0 and 1.
    n_eff : float, optional
        Effective sample size where values are serially correlated; n when absent.
    unit : str
        Unit of the values, for texts and pictures.

    Returns
    -------
    ToleranceIntervals
        One interval for each share.

    Raises
    ------
    CannotJudge
        Fewer than two values, or values that are missing.
    ValueError, TypeError
        Limits that are not in order, a share outside 0 to 1, a table, or an array of other than one
        dimension.

    See Also
    --------
    tolerance_interval_sample_size : From how many values on there is such an interval.
    process_capability : The indices, which rest on a distribution.

    Notes
    -----
    Model: independent values of any continuous distribution. The share that lies between the r-th
    smallest and the s-th largest of n values has a beta distribution whatever the parent,

    .. math:: P \sim \mathrm{Beta}(n - m + 1, m), \qquad m = r + s;

    ranks are taken so that the interval is as short as the confidence allows. Where values are serially
    correlated, ranks are chosen for the effective sample size and scaled back; that is common practice,
    no source, and only as good as the effective sample size. Misleads where values are tied (rounded): the
    interval then holds more than it says. It describes the readings, gauge error included, and only the
    process as it ran while they were taken.

    References
    ----------
    Wilks, *Annals of Mathematical Statistics* 12 (1941), 91-96; David & Nagaraja, *Order Statistics*,
    3rd ed. (2003), ch. 7.2; ISO 16269-6:2014.

    Examples
    --------
    >>> found = tolerance_intervals(range(1, 101), contents=(0.9,), unit="mm")
    >>> print(found.statement)
    Distribution-free, at 95% confidence: at least 90 % of parts lie between 2 and 99 mm.
    """
    y = np.sort(data_arguments.one_dimensional(values, least=2))
    lower, upper = arguments.limits(lower, upper, needed=False)
    arguments.share("confidence", confidence)
    if not contents:
        raise ValueError("contents is empty; give at least one share of parts.")
    if n_eff is not None:
        arguments.number("n_eff", n_eff, above=0)
    n = int(y.size)
    effective = min(n_eff or n, n)
    sides: Sides = (
        "both" if (lower is None) == (upper is None) else "lower" if upper is None else "upper"
    )
    ends: Literal[1, 2] = 2 if sides == "both" else 1
    intervals = []
    for content in contents:
        arguments.share("contents", content)
        needed = tolerance_interval_sample_size(content, confidence=confidence, sides=ends)
        # The most values that may stay outside.
        out = _left_out(effective, content, confidence)
        if out < ends:
            too_few = Absent(f"{needed} values are needed")
            intervals.append(ToleranceInterval(content, needed, None, None, too_few))
            continue
        below = {"both": out // 2, "lower": out, "upper": 0}[sides]
        above = {"both": out // 2, "lower": 0, "upper": out}[sides]
        intervals.append(
            ToleranceInterval(
                content,
                needed,
                low=float(y[_rank(below, n, effective)]) if below else None,
                high=float(y[n - 1 - _rank(above, n, effective)]) if above else None,
                confidence=confidence_of(effective, content, below + above),
            )
        )
    found = [item for item in intervals if item.exists]
    inside = None
    if found and (lower is not None or upper is not None):
        best = found[-1]
        inside = (lower is None or (best.low is not None and best.low >= lower)) and (
            upper is None or (best.high is not None and best.high <= upper)
        )
    return ToleranceIntervals(
        n=n,
        n_eff=float(effective),
        sides=sides,
        intervals=tuple(intervals),
        extremes_hold=share_held(effective, confidence=confidence, left_out=ends),
        inside_limits=inside,
        confidence=confidence,
        unit=unit,
        cautions=_cautions(y, n, effective),
        lower=lower,
        upper=upper,
        extremes=(float(y[0]), float(np.median(y)), float(y[-1])),
    )


def _left_out(n: float, content: float, confidence: float) -> int:
    """Find the largest number left out that still holds the share; 0 where none does."""
    low, high = 0, max(math.ceil(n * (1 - content)) + 1, 2)
    while high - low > 1:
        middle = (low + high) // 2
        if confidence_of(n, content, middle) >= confidence:
            low = middle
        else:
            high = middle
    return low


def _rank(outside: int, n: int, n_eff: float) -> int:
    """Return the place, from 0, of the value that bounds the interval."""
    return max(math.floor(outside * n / n_eff) - 1, 0)


def _cautions(y: Any, n: int, n_eff: float) -> tuple[str, ...]:
    notes = []
    if n_eff < 0.9 * n:
        notes.append(
            f"{n:,} values, not independent of each other, have an effective sample size of {n_eff:,.0f}; the ranks "
            "use that number."
        )
    if len(np.unique(y)) < COARSE:
        notes.append(
            "Readings take few different values, so the intervals hold rather more than they say."
        )
    return tuple(notes)
