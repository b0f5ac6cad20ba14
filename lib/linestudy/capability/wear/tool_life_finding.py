"""What a study of tool life found: the sawtooth, indices along it, strokes to the limit."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from linestudy.numerics.arrays import FloatArray, IntArray
from linestudy.results import Absent, Finding, Interval, show
from linestudy.results.declared import Declaration
from linestudy.results.rounding import show_in
from linestudy.results.tables import Quantity, Rows, over_strokes


@dataclass(frozen=True, slots=True)
class Regrind:
    """A regrind, or whatever else set the tool anew.

    Attributes
    ----------
    at : float
        Stroke.
    before, after : float
        [unit of the values] Level of the trend on either side.
    step : Interval
        [unit of the values] After less before.
    """

    at: float
    before: float
    after: float
    step: Interval


@dataclass(frozen=True, slots=True, eq=False)
class Sawtooth:
    """The trend as a picture shows it.

    Attributes
    ----------
    order, mean : numpy.ndarray of float
        Stroke and mean of each block.
    life : numpy.ndarray of int
        Tool life that it belongs to.
    begins, ends, levels : numpy.ndarray of float
        First and last stroke of each life, and the level at its first.
    slope : float
        [unit of the values per stroke]
    reach : float
        [unit of the values] Distance from the trend to the 0.135 % quantile of the parts nearest to the limit.
    """

    order: FloatArray
    mean: FloatArray
    life: IntArray
    begins: FloatArray
    ends: FloatArray
    levels: FloatArray
    slope: float
    reach: float


@dataclass(frozen=True)
class ToolLifeStudy(Finding):
    """Capability over the life of a tool.

    Attributes
    ----------
    slope_per_thousand : Interval
        [unit of the values] Wear per thousand strokes.
    lives : int
        Stretches between regrinds.
    life : float
        [strokes] Longest life seen from a regrind on; of all stretches where none was, or none half as long as another.
    residual_sd : float
        [unit of the values] Standard deviation about the trend, of the stream that scatters most.
    Ppk_start, Ppk_middle, Ppk_end : Interval
        Of the parts of a tool just ground, half-worn and at the end of `life`.
    Ppk_whole : Interval
        Of all parts of a whole life. Formula: quantile index of the remainder and of wear spread evenly over the life.
    strokes_to_limit : Interval or Absent
        [strokes] From a regrind until 0.135 % of the parts lie beyond the limit towards which the tool wears; the
        low end is the one to plan by.
    strokes_to_index : Interval or Absent
        [strokes] From a regrind until the parts made then have an index of `index`.
    index : float
        Index at the end of a life that `strokes_to_index` and `start` are made for.
    start : float or Absent
        [unit of the values] Level of a tool just ground from which the life is longest at that index.
    longest_life : float or Absent
        [strokes] That life.
    control_limit : float or Absent
        [unit of the values] Acceptance control limit for the mean of a subgroup: grind when it is passed.
    subgroup_size : int
        For which it holds.
    regrinds : tuple of Regrind
        In order.
    found : int
        Resets that nobody named.
    gauge_drift : Interval or None
        [unit of the values] Drift of the gauge per thousand strokes, from its record on a master.
    unit : str
        Of the values; not recorded here.
    over : int or None
        Strokes to which the slope is reported, where the study has chosen; not recorded.
    """

    slope_per_thousand: Interval
    lives: int
    life: float
    residual_sd: float
    Ppk_start: Interval
    Ppk_middle: Interval
    Ppk_end: Interval
    Ppk_whole: Interval
    strokes_to_limit: Interval | Absent
    strokes_to_index: Interval | Absent
    index: float
    start: float | Absent
    longest_life: float | Absent
    control_limit: float | Absent
    subgroup_size: int
    regrinds: tuple[Regrind, ...]
    found: int
    gauge_drift: Interval | None
    lower: float | None = field(repr=False)
    upper: float | None = field(repr=False)
    unit: str = field(repr=False)
    cautions: tuple[str, ...]
    over: int | None = field(default=None, repr=False, compare=False, kw_only=True)
    shape: Sawtooth = field(repr=False, compare=False)
    title: ClassVar[str] = "Tool life"
    picture: ClassVar[str] = "streams:sawtooth_between_limits"

    @property
    def statement(self) -> str:
        slope, over = over_strokes(self.slope_per_thousand, over=self.over)
        text = (
            f"The tool wears by {show_in(slope, self.unit)} {over}; "
            f"Ppk falls from {show(self.Ppk_start)} when it is fresh to {show(self.Ppk_end)} after "
            f"{self.life:,.0f} strokes, over the whole life it is {show(self.Ppk_whole)}."
        )
        if self.Ppk_end.estimate >= self.Ppk_start.low:
            text = text.replace("falls from", "goes from")
        left = self.strokes_to_index
        if isinstance(left, Interval):
            text += (
                f" The index of the parts made falls to {self.index:g} at {left.estimate:,.0f} strokes after a reset; "
                f"the next is due after {left.low:,.0f} strokes at the latest (lower end of the {left.confidence:.0%} interval)."
            )
        return text

    def _rows(self) -> Rows:
        slope, over = over_strokes(self.slope_per_thousand, over=self.over)
        return [
            Quantity(f"wear {over}", slope, self.unit),
            Quantity("SD about the trend", self.residual_sd, self.unit),
            Quantity("tool lives", self.lives),
            Quantity("life", self.life, "strokes"),
            Quantity("Ppk of a fresh tool", self.Ppk_start),
            Quantity("Ppk half-worn", self.Ppk_middle),
            Quantity("Ppk at the end of the life", self.Ppk_end),
            Quantity("Ppk over the whole life", self.Ppk_whole),
            Quantity("0.135 % beyond the limit after", self.strokes_to_limit, "strokes"),
            Quantity(f"index of {self.index:g} reached after", self.strokes_to_index, "strokes"),
            Quantity("best level of a fresh tool", self.start, self.unit),
            Quantity("life from there", self.longest_life, "strokes"),
            Quantity(
                f"acceptance control limit, means of {self.subgroup_size}",
                self.control_limit,
                self.unit,
            ),
            *(
                Quantity(f"step at stroke {item.at:,.0f}", item.step, self.unit)
                for item in self.regrinds
            ),
        ]


STREAM_TOOL_LIFE = Declaration(
    "streams.{stream}.tool_life", ToolLifeStudy, "Tool life of one stream", part="none"
)
TOOL_LIFE = Declaration(
    "capability.tool_life",
    ToolLifeStudy,
    "Tool life",
    part="characteristic",
    question="fit",
    order=14,
    picture=60,
    with_table=True,
)
