"""What several measuring systems, or one at several times, found on parts: spreads side by side, and every pair."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from linestudy.gauges.grr.intervals import in_percent
from linestudy.results import Absent, Finding, Interval, p_text, show, show_in
from linestudy.results.declared import Declaration
from linestudy.results.rounding import with_unit
from linestudy.results.tables import Rows


@dataclass(frozen=True, slots=True)
class SystemSpread:
    """Spread of one measuring system.

    Attributes
    ----------
    parts : int
        Parts that it read.
    readings : int
        Readings of them.
    repeatability_sd : Interval or Absent
        [unit of the readings] Standard deviation of repeated readings (EV).
    grr_sd : Interval or Absent
        [unit of the readings] Standard deviation of the whole system (GRR).
    share_of_tolerance : Interval or Absent
        Formula: 6 grr_sd / tolerance.
    """

    parts: int
    readings: int
    repeatability_sd: Interval | Absent
    grr_sd: Interval | Absent
    share_of_tolerance: Interval | Absent


@dataclass(frozen=True, slots=True)
class SystemPair:
    """Two measuring systems on the same parts.

    Attributes
    ----------
    first, second : str
        Their names.
    parts : int
        Parts that both read.
    bias : Interval or Absent
        [unit of the readings] Mean of second less first over these parts.
    bias_p : float or None
        Chance of so large a difference if there were none.
    bias_within : Interval or Absent
        [unit of the readings] The same by the shorter interval that equivalence asks for (two one-sided tests).
    bias_equivalent : bool or None
        Whether that lies within the allowed share of the tolerance; None without a tolerance.
    repeatability_ratio : Interval or Absent
        Formula: EV of second / EV of first.
    grr_ratio : Interval or Absent
        Formula: GRR of second / GRR of first.
    ratio_equivalent : bool or None
        Whether the shorter interval of the ratio of EV lies within the allowed ratio and its inverse.
    """

    first: str
    second: str
    parts: int
    bias: Interval | Absent
    bias_p: float | None
    bias_within: Interval | Absent
    bias_equivalent: bool | None
    repeatability_ratio: Interval | Absent
    grr_ratio: Interval | Absent
    ratio_equivalent: bool | None


@dataclass(frozen=True)
class SystemComparison(Finding):
    """Measuring systems on the same parts: bias between them and ratio of their spreads.

    Attributes
    ----------
    systems : dict of str to SystemSpread
        Each one by itself, in the order they were given.
    pairs : tuple of SystemPair
        Every two; of studies over time each with the one before, and the last with the first.
    equal_repeatability_p : float or None
        Chance of repeatabilities as different as these if all were one (Bartlett).
    allowed_share : float
        Share of the tolerance within which two systems read alike.
    allowed_ratio : float
        Ratio of two repeatabilities up to which they count as alike.
    tolerance : float or None
        [unit of the readings] Width of the tolerance.
    unit : str
        Unit of the readings.
    """

    systems: dict[str, SystemSpread]
    pairs: tuple[SystemPair, ...]
    equal_repeatability_p: float | None
    allowed_share: float
    allowed_ratio: float
    tolerance: float | None
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Comparison of measuring systems"
    picture: ClassVar[str] = "gauge_error:systems"

    @property
    def statement(self) -> str:
        parts = [_pair_text(pair, self.unit, self.allowed_share) for pair in self.pairs[:3]]
        if len(self.pairs) > 3:
            parts.append(f"{len(self.pairs) - 3} more pairs stand in the table.")
        if self.equal_repeatability_p is not None and len(self.systems) > 2:
            seen = "differ" if self.equal_repeatability_p < 0.05 else "are not seen to differ"
            parts.append(
                f"The repeatabilities of all {len(self.systems)} {seen} ({p_text(self.equal_repeatability_p)})."
            )
        return " ".join(parts)

    def _rows(self) -> Rows:
        spreads: list[dict[str, object]] = [
            {
                "system": name,
                with_unit("EV (SD)", self.unit): one.repeatability_sd,
                with_unit("GRR (SD)", self.unit): one.grr_sd,
                "%GRR of tolerance": in_percent(one.share_of_tolerance),
                with_unit("bias", self.unit): None,
                "ratio of EV": None,
                "ratio of GRR": None,
            }
            for name, one in self.systems.items()
        ]
        empty = dict.fromkeys(spreads[0])
        return spreads + [
            {
                **empty,
                "system": f"{pair.second} against {pair.first}",
                with_unit("bias", self.unit): pair.bias,
                "ratio of EV": pair.repeatability_ratio,
                "ratio of GRR": pair.grr_ratio,
            }
            for pair in self.pairs
        ]


def _pair_text(pair: SystemPair, unit: str, allowed: float) -> str:
    """Write one sentence about two systems: bias, ratio, and whether they are equivalent."""
    said = []
    if isinstance(pair.bias, Interval):
        text = f"bias {show_in(pair.bias, unit)}"
        if pair.bias_equivalent is not None:
            verdict = "within" if pair.bias_equivalent else "not within"
            assert isinstance(pair.bias_within, Interval)
            level = f"{100 * pair.bias_within.confidence:.3g} % interval"
            text += f", its {level} {verdict} {100 * allowed:g} % of the tolerance"
        said.append(text)
    if isinstance(pair.repeatability_ratio, Interval):
        text = f"ratio of EV {show(pair.repeatability_ratio)}"
        if pair.ratio_equivalent is not None:
            text += ", equivalent" if pair.ratio_equivalent else ", not shown to be equivalent"
        said.append(text)
    return f"{pair.second} against {pair.first}: {'; '.join(said) or 'cannot be compared'}."


SYSTEMS = Declaration(
    "systems.{pair}",
    SystemComparison,
    "Two measuring systems on the same parts",
    picture=60,
    with_table=True,
)

OVER_TIME = Declaration(
    "gauges.{gauge}.over_time",
    SystemComparison,
    "GRR studies over time",
    picture=60,
    with_table=True,
)

BY_FACTOR = Declaration(
    "gauges.{gauge}.by_factor",
    SystemComparison,
    "Stations or fixtures of one gauge",
    picture=60,
    with_table=True,
)
