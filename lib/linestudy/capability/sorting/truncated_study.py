"""What is said of a process before its parts were sorted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import ClassVar

from linestudy.gauges.budget.risk_study import per_million
from linestudy.numerics.arrays import FloatArray
from linestudy.results import Finding, Interval, show
from linestudy.results.declared import Declaration
from linestudy.results.tables import Quantity, Rows


@dataclass(frozen=True, slots=True)
class RunnerUp:
    """The next best family for the process before sorting.

    Attributes
    ----------
    family : str
        Its name.
    Ppk : float
        Performance index of the process before sorting by this family.
    rejected : float
        Share of all parts that it makes outside the limits.
    aicc_behind : float
        How far its AICc lies above that of the best family.
    """

    family: str
    Ppk: float
    rejected: float
    aicc_behind: float


@dataclass(frozen=True)
class TruncatedStudy(Finding):
    """The process before its nonconforming parts were sorted out.

    Attributes
    ----------
    n : int
        Sorted values.
    evidence : str
        How it is known that they were sorted.
    family : str
        Of the distributions kept, the one that describes what is left and the count best.
    parameters : dict of str to float
        Its parameters by name.
    Ppk : Interval
        Performance index of the process before sorting: median and ends over every distribution kept.
    naive_Ppk : float
        What the sorted values would have given by their own mean and standard deviation.
    rejected : Interval
        Share of all parts that the process makes outside the limits it was sorted at.
    observed : Interval or None
        Share rejected by the count, where there is one.
    agrees_with_bins : bool or None
        Whether these two intervals meet.
    counted_alone : bool
        Whether all parts counted as rejected were rejected for this characteristic; otherwise at most so many were.
    sorting_error_sd : float
        [unit of the values] Standard deviation of the error between sorting and recording; 0 for a hard edge.
    by_family : dict of str to float
        Ppk of every distribution kept, at its best.
    runner_up : RunnerUp or None
        The next best family.
    lower, upper : float or None
        [unit of the values] Limits at which parts were sorted.
    unit : str
        Unit of the values.
    values : (numpy.ndarray, numpy.ndarray)
        Distinct values and how often each occurs; not recorded.
    density : callable
        Density of the best one before sorting; not recorded.
    """

    n: int
    evidence: str
    family: str
    parameters: dict[str, float]
    Ppk: Interval
    naive_Ppk: float
    rejected: Interval
    observed: Interval | None
    agrees_with_bins: bool | None
    counted_alone: bool
    sorting_error_sd: float
    by_family: dict[str, float]
    runner_up: RunnerUp | None
    lower: float | None
    upper: float | None
    unit: str
    cautions: tuple[str, ...]
    values: tuple[FloatArray, FloatArray] = field(repr=False, compare=False)
    density: Callable[[FloatArray], FloatArray] = field(repr=False, compare=False)
    title: ClassVar[str] = "The process before sorting"
    picture: ClassVar[str] = "sorting:truncated_distribution"

    @property
    def statement(self) -> str:
        text = (
            f"These parts were sorted. Before sorting Ppk = {show(self.Ppk)}, {per_million(self.rejected)} ppm rejected, "
            f"over {_families_in_words(self.by_family)}. The sorted parts alone would give Ppk {self.naive_Ppk:.2f}, which "
            "overstates capability."
        )
        if self.observed is None:
            return text
        if not self.counted_alone:
            return f"{text} At most {per_million(self.observed)} ppm were rejected for this characteristic."
        verb = "agrees" if self.agrees_with_bins else "does not agree"
        return f"{text} The rejected share {verb} with the count, {per_million(self.observed)} ppm."

    def _rows(self) -> Rows:
        rows = [
            Quantity("Ppk before sorting", self.Ppk),
            Quantity("Ppk of the sorted parts, not to be used", self.naive_Ppk),
            Quantity("taken out", self.rejected.times(1e6), "ppm"),
        ]
        if self.observed is not None:
            rows.append(Quantity("rejected by the count", self.observed.times(1e6), "ppm"))
        rows += [
            Quantity(f"Ppk, {name} distribution", value) for name, value in self.by_family.items()
        ]
        return rows


def _families_in_words(by_family: dict[str, float]) -> str:
    if len(by_family) == 1:
        return f"the {next(iter(by_family))} distribution, the only one of those tried that fits"
    return f"the {len(by_family)} distributions that fit"


STREAM_BEFORE_SORTING = Declaration(
    "streams.{stream}.before_sorting", TruncatedStudy, "Before sorting, one stream", part="none"
)
BEFORE_SORTING = Declaration(
    "capability.before_sorting",
    TruncatedStudy,
    "Before sorting",
    part="characteristic",
    question="fit",
    order=20,
)
