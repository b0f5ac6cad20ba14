"""How many parts make an interval as narrow as one wishes.

Model: independent normal parts. The interval of a one-sided index (or of Cpk and Ppk where one limit
decides) is exact from the noncentral t distribution; its half width at a sample whose index comes out
as planned is what is held against the wish. Misleads as every plan does: the sample's own index will
be another, and correlated parts count for fewer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from linestudy.numerics.normal_intervals import one_sided_index_interval
from linestudy.results import CannotJudge, Finding, Interval, arguments
from linestudy.results.tables import Rows
from linestudy.running.deprecation import old_keywords, renamed


@dataclass(frozen=True, slots=True)
class Width:
    """The interval that one sample size would give.

    Attributes
    ----------
    n : int
        Independent parts.
    index : Interval
        The index as planned, with the interval that so many parts give it.
    """

    n: int
    index: Interval


@dataclass(frozen=True)
class IntervalSize(Finding):
    """How many parts give the interval of an index a half width asked for.

    Attributes
    ----------
    n : int
        Independent parts needed.
    index : float
        What the index is believed to be.
    half_width : float
        Half width asked for.
    confidence : float
        Of the two-sided interval.
    widths : tuple of Width
        Sample sizes with the interval each would give.
    """

    n: int
    index: float
    half_width: float
    confidence: float
    widths: tuple[Width, ...]
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

    def _rows(self) -> Rows:
        return [{"parts": one.n, "index": one.index} for one in self.widths]


@old_keywords(
    renamed("index", "true_index", since="0.3.0", removal="0.4.0"),
)
def interval_size(
    *,
    true_index: float = 1.67,
    half_width: float = 0.2,
    confidence: float = 0.95,
    largest: int = 100_000,
) -> IntervalSize:
    r"""Find the smallest number of parts whose interval is as narrow as asked for.

    Parameters
    ----------
    true_index : float
        What the index is believed to be; above zero.
    half_width : float
        Half width of its two-sided interval; above zero.
    confidence : float
        Of the interval, between 0 and 1.
    largest : int
        Number of parts at which the search gives up.

    Returns
    -------
    IntervalSize
        With the interval that several sample sizes would give.

    Raises
    ------
    CannotJudge
        The sample would be too large.
    ValueError
        An argument outside its range.

    See Also
    --------
    sample_size : Parts that show an index above what is required.

    Notes
    -----
    Model: independent values of one normal distribution and one limit that decides. The ends of the
    interval are the indices :math:`C` for which the observed :math:`3\sqrt{n}\hat C` is the
    :math:`(1 \pm \gamma)/2` quantile of :math:`t_{n-1}(3\sqrt{n}\,C)`, with :math:`\gamma` the
    confidence. Misleads as every plan does: the sample's own index will be another.

    References
    ----------
    Owen, *Technometrics* 10 (1968), 445-478.

    Examples
    --------
    >>> print(interval_size(true_index=1.67, half_width=0.2).statement)
    An index of 1.67 is known to within 0.2 at 95% confidence from 146 independent parts.
    """
    arguments.number("true_index", true_index, above=0)
    arguments.number("half_width", half_width, above=0)
    arguments.share("confidence", confidence)
    arguments.whole("largest", largest, least=2)

    def at(n: int) -> Interval:
        return one_sided_index_interval(3 * true_index, 1.0, n, n - 1, confidence)

    low, high = 1, 2
    while at(high).half_width > half_width:
        if high == largest:
            raise CannotJudge(f"More than {largest:,} parts would be needed.")
        low, high = high, min(high * 2, largest)
    while high - low > 1:
        middle = (low + high) // 2
        if at(middle).half_width > half_width:
            low = middle
        else:
            high = middle
    sizes = sorted({10, 30, 50, 100, 125, 300, 1000, high})
    return IntervalSize(
        high, true_index, half_width, confidence, tuple(Width(n, at(n)) for n in sizes)
    )
