"""How many parts make an interval as narrow as one wishes.

Model: independent normal parts. The interval of a one-sided index (or of Cpk and Ppk where one limit
decides) is exact from the noncentral t distribution; its half width at a sample whose index comes out
as planned is what is held against the wish. Misleads as every plan does: the sample's own index will
be another, and correlated parts count for fewer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from linestudy.numerics.normal_intervals import one_sided_index_interval
from linestudy.results import CannotJudge, Finding

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class IntervalSize(Finding):
    """How many parts give an interval of an index a wished half width.

    Attributes
    ----------
    n : int
        Independent parts needed.
    index, half_width, confidence : float
    widths : tuple of (int, float, float)
        Sample sizes with the low and high end of the interval each would give.
    """

    n: int
    index: float
    half_width: float
    confidence: float
    widths: tuple[tuple[int, float, float], ...]
    cautions: tuple[str, ...] = (
        "Parts must be independent: on a fast line take them far enough apart.",
    )
    title: ClassVar[str] = "Sample size for an interval"
    picture: ClassVar[str] = "plan:narrowing"

    @property
    def statement(self) -> str:
        return (
            f"An index of {self.index:g} is known to within {self.half_width:g} at "
            f"{self.confidence:.0%} confidence from {self.n:,} independent parts."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        return pd.DataFrame(
            {
                "parts": [n for n, _, _ in self.widths],
                "interval": [f"{low:.2f} to {high:.2f}" for _, low, high in self.widths],
            }
        )


def interval_size(
    index: float = 1.67,
    half_width: float = 0.2,
    confidence: float = 0.95,
    largest: int = 100_000,
) -> IntervalSize:
    """Smallest number of parts whose interval is as narrow as wished.

    Parameters
    ----------
    index : float
        What the index is believed to be; above zero.
    half_width : float
        Wished half width of its two-sided interval.
    confidence : float
    largest : int
        Where to give up.

    Returns
    -------
    IntervalSize

    Raises
    ------
    CannotJudge
        A wish that is not above zero, or a sample that would be too large.

    Notes
    -----
    Noncentral t, as for the index itself: Owen, *Technometrics* 10 (1968).

    Examples
    --------
    >>> interval_size(1.67, 0.2).n
    146
    """
    if not (index > 0 and half_width > 0):
        raise CannotJudge("Index and half width must be above zero.")

    def ends(n: int) -> tuple[float, float]:
        interval = one_sided_index_interval(3 * index, 1.0, n, n - 1, confidence)
        return interval.low, interval.high

    def half(n: int) -> float:
        low, high = ends(n)
        return (high - low) / 2

    low, high = 2, 4
    while half(high) > half_width:
        low, high = high, high * 2
        if high > largest:
            raise CannotJudge(f"More than {largest:,} parts would be needed.")
    while high - low > 1:
        middle = (low + high) // 2
        if half(middle) > half_width:
            low = middle
        else:
            high = middle
    sizes = sorted({10, 30, 50, 100, 125, 300, 1000, high})
    return IntervalSize(high, index, half_width, confidence, tuple((n, *ends(n)) for n in sizes))
