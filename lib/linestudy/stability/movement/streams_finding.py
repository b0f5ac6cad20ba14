"""What a comparison of streams found: each stream, each two of them, and whether they agree."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar

from linestudy.results import Absent, Finding, Interval, counted, show
from linestudy.results.declared import Declaration
from linestudy.results.rounding import in_short, with_unit
from linestudy.results.tables import Rows, named

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class Stream:
    """One stream of a run.

    Attributes
    ----------
    name : str
        Station or coil.
    n : int
        Parts.
    blocks : int
        Block means that are nearly independent.
    mean : Interval
        [unit of the values] Mean, with the interval of this stream alone.
    """

    name: str
    n: int
    blocks: int
    mean: Interval


@dataclass(frozen=True, slots=True)
class StreamPair:
    """Two streams beside each other.

    Attributes
    ----------
    first : str
        One stream.
    second : str
        The other.
    difference : Interval
        [unit of the values] Mean of the first less that of the second. All pairs together hold their true
        differences with the confidence stated.
    p : float
        Of no difference, with all pairs looked at.
    sd_ratio : Interval or Absent
        SD of the first over that of the second; all pairs together hold their true ratios with the confidence
        stated.
    equivalent : bool or None
        Whether the whole interval of the difference lies inside the allowed share of the tolerance; None
        where there is no tolerance.
    """

    first: str
    second: str
    difference: Interval
    p: float
    sd_ratio: Interval | Absent
    equivalent: bool | None


@dataclass(frozen=True)
class StreamStudy(Finding):
    """Means of the streams of a run, compared pair by pair.

    Attributes
    ----------
    by : str
        What the streams are: ``"station"`` or ``"coil"``.
    streams : tuple of Stream
        In order of production.
    pairs : tuple of StreamPair
        All of them.
    f : float
        Welch's F that all means are equal.
    df1 : float
        Its degrees of freedom, numerator.
    df2 : float
        Its degrees of freedom, denominator.
    p : float
        Of one mean throughout.
    paired : bool
        Whether parts of one stroke were held against each other, so that what moves all streams alike drops out.
    allowed : float or None
        [unit of the values] Difference within which two streams are equivalent.
    unit : str
        Of the values.
    """

    by: str
    streams: tuple[Stream, ...]
    pairs: tuple[StreamPair, ...]
    f: float
    df1: float
    df2: float
    p: float
    paired: bool
    allowed: float | None
    unit: str
    cautions: tuple[str, ...]
    points: pd.DataFrame = field(repr=False, compare=False)
    title: ClassVar[str] = "Comparison of streams"
    picture: ClassVar[str] = "stability:stream_means"

    @property
    def statement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        widest = max(self.pairs, key=lambda pair: abs(pair.difference.estimate))
        differ = sum(0 not in pair.difference for pair in self.pairs)
        largest = f"{named(self.by, widest.first)} less {named(self.by, widest.second)} {show(widest.difference)}{unit}"
        if len(self.pairs) == 1:
            shown = "differ" if differ else "do not differ significantly"
            return f"The means of the two {self.by}s {shown}: {largest}.{self._equivalence}"
        return (
            f"The means of {differ or 'none'} of {len(self.pairs)} pairs of {self.by}s differ significantly; largest "
            f"difference {largest}.{self._equivalence}"
        )

    @property
    def _equivalence(self) -> str:
        """Say whether streams are equivalent; nothing where there is no tolerance."""
        if self.allowed is None:
            return ""
        alike = sum(bool(pair.equivalent) for pair in self.pairs)
        within = f"within {in_short(self.allowed, self.unit)} of each other"
        if alike == len(self.pairs):
            return f" All are equivalent ({within})."
        if len(self.pairs) == 1:
            return f" They are not shown to lie {within}."
        return f" {alike or 'None'} of {counted(len(self.pairs), 'pair')} {'is' if alike < 2 else 'are'} shown to lie {within}."

    def _rows(self) -> Rows:
        return [
            {
                self.by: f"{pair.first} less {pair.second}",
                with_unit("difference", self.unit): pair.difference,
                "p (all pairs)": pair.p,
                "SD ratio": pair.sd_ratio,
            }
            for pair in self.pairs
        ]


STATIONS = Declaration("stability.stations", StreamStudy, "Comparison of stations", picture=55)
COILS = Declaration("stability.coils", StreamStudy, "Comparison of coils")
