"""Intervals that hold a stated share of all parts, without a word about their distribution.

Model: values of independent parts, of any continuous distribution. The share that lies between the
r-th smallest and the s-th largest of n values has a beta distribution whatever the parent (Wilks,
*Annals of Mathematical Statistics* 12 (1941), 91-96; David & Nagaraja, *Order Statistics*, 3rd ed.,
2003, ch. 7.2; ISO 16269-6:2014). Ranks are taken so that the interval is as short as the confidence
allows. Where values are serially correlated, ranks are chosen for the effective number of values and
scaled back; that is common practice, no source, and only as good as the effective number.

When it misleads: few values hold little: below the stated sample sizes no interval exists. Tied
(rounded) values make the interval hold more than it says. It describes the readings, gauge error
included, and only the process as it ran while they were taken.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.numerics.samples import as_sample
from linestudy.results import Finding, plain, show
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd

#: Shares people ask for: AIAG and ISO speak of 99.73 %; the others are common practice, no source.
CONTENTS = (0.95, 0.99, 0.9973)
LARGEST = 10_000_000
#: Fewer different values than this make a rank coarse (common practice, no source).
COARSE = 20


@dataclass(frozen=True)
class ToleranceIntervals(Finding):
    """Distribution-free tolerance intervals of one characteristic.

    Attributes
    ----------
    n : int
        Values.
    effective_n : float
        What the ranks were chosen with.
    sides : {"both", "lower", "upper"}
        Which ends the interval has.
    intervals : tuple of dict
        For each content: ``content``, ``low``, ``high`` (in the unit of the values; None where
        there is no such end), ``confidence`` that was attained, ``needed`` values; or ``absent``.
    extremes_hold : float
        Share of all parts that the smallest and the largest value (or the one that counts)
        hold between them at the stated confidence.
    within : bool or None
        Whether the interval of the largest content that exists lies inside the limits.
    confidence : float
    """

    n: int
    effective_n: float
    sides: str
    intervals: tuple[dict[str, Any], ...]
    extremes_hold: float
    within: bool | None
    confidence: float
    unit: str
    cautions: tuple[str, ...]
    drawn: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Tolerance intervals without a distribution"
    picture: ClassVar[str] = "capability:held_shares"

    @property
    def statement(self) -> str:
        found = [item for item in self.intervals if "absent" not in item]
        unit = f" {self.unit}" if self.unit else ""
        if not found:
            least = self.intervals[0]
            return (
                f"{self.effective_n:,.0f} independent values are too few for an interval that holds "
                f"{100 * least['content']:.4g} % of all parts at {self.confidence:.0%} confidence without a "
                f"distribution; {least['needed']:,} are needed."
            )
        best = found[-1]
        ends = {
            "both": f"between {self._end(best['low'])} and {self._end(best['high'])}{unit}",
            "lower": f"above {self._end(best['low'])}{unit}",
            "upper": f"below {self._end(best['high'])}{unit}",
        }[self.sides]
        inside = {True: ", inside the limits", False: ", not inside the limits", None: ""}
        return (
            f"Whatever the distribution, at least {100 * best['content']:.4g} % of parts lie {ends} at "
            f"{self.confidence:.0%} confidence{inside[self.within]}."
        )

    def _end(self, value: float | None) -> str:
        """A number of the interval, to a fiftieth of what the values span."""
        span = self.drawn[4] - self.drawn[2]
        return "" if value is None else show(value, span / 50 or None)

    def _cell(self, item: dict[str, Any], end: str) -> str:
        return "too few values" if "absent" in item else self._end(item[end])

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        return pd.DataFrame(
            {
                "share of parts": [f"{100 * item['content']:.4g} %" for item in self.intervals],
                f"from{unit}": [self._cell(item, "low") for item in self.intervals],
                f"to{unit}": [self._cell(item, "high") for item in self.intervals],
                "independent values needed": [f"{item['needed']:,}" for item in self.intervals],
            }
        )

    def record(self) -> dict[str, Any]:
        """``n, effective_n, sides, intervals, extremes_hold, within, confidence``."""
        names = ("n", "effective_n", "sides", "extremes_hold", "within", "confidence")
        content = {name: getattr(self, name) for name in names}
        return content | {
            "intervals": plain(self.intervals),
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


TOLERANCE_INTERVALS = Declaration(
    "capability.tolerance_intervals", ToleranceIntervals, "Tolerance intervals"
)


def confidence_of(n: float, content: float, left_out: int) -> float:
    """Confidence that what is left of n values, `left_out` extremes dropped, holds a share.

    Parameters
    ----------
    n : float
        (Effective) number of independent values.
    content : float
        Share of the population, between 0 and 1.
    left_out : int
        Values outside the interval plus one for each of its ends: 2 for the two extremes, 1 for
        one extreme with nothing on the other side.

    Returns
    -------
    float

    Raises
    ------
    ValueError
        A share that is not between 0 and 1, or no value left out.

    Notes
    -----
    ``P(Beta(n - m + 1, m) >= content)`` with ``m = left_out``: Wilks (1941).

    Examples
    --------
    >>> round(confidence_of(93, 0.95, 2), 3)
    0.95
    """
    from scipy.special import betaincc

    if not 0 < content < 1:
        raise ValueError("the share must lie between 0 and 1")
    if left_out < 1:
        raise ValueError("an interval has one end at least")
    if n - left_out + 1 <= 0:
        return 0.0
    return float(betaincc(n - left_out + 1, left_out, content))


def values_needed(content: float, confidence: float = 0.95, sides: int = 2) -> int:
    """How many independent values an interval from their extremes needs to hold a share.

    Parameters
    ----------
    content : float
        Share of the population.
    confidence : float
    sides : {1, 2}
        1 where only the largest (or smallest) value bounds the interval.

    Returns
    -------
    int

    Raises
    ------
    ValueError
        A share that is not between 0 and 1.

    Notes
    -----
    Wilks (1941); the one-sided case is ``log(1 - confidence) / log(content)``.

    Examples
    --------
    >>> values_needed(0.95), values_needed(0.95, sides=1)
    (93, 59)
    """
    low, high = sides, sides + 1
    while confidence_of(high, content, sides) < confidence and high < LARGEST:
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        if confidence_of(middle, content, sides) < confidence:
            low = middle
        else:
            high = middle
    return high


def share_held(n: float, confidence: float = 0.95, left_out: int = 2) -> float:
    """Share of the population that what is left of n values holds at a confidence.

    Parameters
    ----------
    n : float
    confidence : float
    left_out : int
        As for `confidence_of`.

    Returns
    -------
    float
        0 where nothing is left.

    Notes
    -----
    The quantile of the beta distribution of `confidence_of`: Wilks (1941).

    Examples
    --------
    >>> round(share_held(93), 3)
    0.95
    """
    from scipy.special import betaincinv

    if n - left_out + 1 <= 0:
        return 0.0
    return float(betaincinv(n - left_out + 1, left_out, 1 - confidence))


def tolerance_intervals(
    values: Any,
    lower: float | None = None,
    upper: float | None = None,
    contents: tuple[float, ...] = CONTENTS,
    confidence: float = 0.95,
    n_effective: float | None = None,
    unit: str = "",
) -> ToleranceIntervals:
    """Distribution-free tolerance intervals.

    Parameters
    ----------
    values : array_like of float, shape (n,)
    lower, upper : float, optional
        Tolerance limits; with one of them the interval is one-sided, with none it has both ends.
    contents : tuple of float
        Shares of all parts, in ascending order.
    confidence : float
    n_effective : float, optional
        How many independent values they are worth; n when absent.
    unit : str

    Returns
    -------
    ToleranceIntervals

    Raises
    ------
    CannotJudge
        Fewer than two values.

    Notes
    -----
    Wilks (1941); ISO 16269-6:2014.

    Examples
    --------
    >>> found = tolerance_intervals(range(1, 101), contents=(0.9,))
    >>> found.intervals[0]["low"], found.intervals[0]["high"]
    (2.0, 99.0)
    """
    import numpy as np

    y = np.sort(as_sample(values, least=2))
    n = int(y.size)
    worth = min(n_effective or n, n)
    sides = "both" if (lower is None) == (upper is None) else "lower" if upper is None else "upper"
    ends = 2 if sides == "both" else 1
    rows: list[dict[str, Any]] = []
    for content in contents:
        needed = values_needed(content, confidence, ends)
        # The most values that may stay outside.
        out = _left_out(worth, content, confidence)
        if out < ends:
            rows.append(
                {"content": content, "needed": needed, "absent": f"{needed} values are needed"}
            )
            continue
        below = {"both": out // 2, "lower": out, "upper": 0}[sides]
        above = {"both": out // 2, "lower": 0, "upper": out}[sides]
        rows.append(
            {
                "content": content,
                "needed": needed,
                "low": float(y[_rank(below, n, worth)]) if below else None,
                "high": float(y[n - 1 - _rank(above, n, worth)]) if above else None,
                "confidence": confidence_of(worth, content, below + above),
            }
        )
    found = [row for row in rows if "absent" not in row]
    within = None
    if found and (lower is not None or upper is not None):
        best = found[-1]
        within = (lower is None or best["low"] >= lower) and (
            upper is None or best["high"] <= upper
        )
    return ToleranceIntervals(
        n=n,
        effective_n=float(worth),
        sides=sides,
        intervals=tuple(rows),
        extremes_hold=share_held(worth, confidence, ends),
        within=within,
        confidence=confidence,
        unit=unit,
        cautions=_cautions(y, n, worth),
        drawn=(lower, upper, float(y[0]), float(np.median(y)), float(y[-1])),
    )


def _left_out(n: float, content: float, confidence: float) -> int:
    """The largest number left out that still holds the share; 0 where none does."""
    low, high = 0, max(math.ceil(n * (1 - content)) + 1, 2)
    while high - low > 1:
        middle = (low + high) // 2
        if confidence_of(n, content, middle) >= confidence:
            low = middle
        else:
            high = middle
    return low


def _rank(outside: int, n: int, worth: float) -> int:
    """Place, from 0, of the value that bounds the interval."""
    return max(math.floor(outside * n / worth) - 1, 0)


def _cautions(y: Any, n: int, worth: float) -> tuple[str, ...]:
    import numpy as np

    notes = []
    if worth < 0.9 * n:
        notes.append(
            f"{n:,} values, not independent of each other, are worth {worth:,.0f}; the ranks use that "
            "number."
        )
    if len(np.unique(y)) < COARSE:
        notes.append(
            "Readings take few different values, so the intervals hold rather more than they say."
        )
    return tuple(notes)
