"""Budget of measurement uncertainty: of the measuring system, and of measuring in the process.

Model: the error of a reading is a sum of independent contributions, each with a standard uncertainty from
a study (type A) or from knowledge (type B); they add in squares (GUM, JCGM 100:2008, 5.1). The
measuring system holds calibration, resolution, repeatability on a master, bias and linearity; the
measurement process adds what operators, parts, time and temperature bring (ISO 22514-7:2021; VDA 5).
Of repeatability on a master, repeatability on parts and resolution only the largest counts, for each
holds the smaller ones. A bias that is not corrected counts as its largest size over the square root of
three.

Intervals: the intervals of the single variances are put together by recovering how far each may lie
below and above (modified large samples, Graybill & Wang, *JASA* 75 (1980), where an entry has the
degrees of freedom of its study; the same rule on given intervals, Zou & Donner, *Statistics in
Medicine* 27 (2008), 1693-1702); the Welch-Satterthwaite number (GUM, G.4) is shown beside. Misleads where contributions are correlated, where one matters that nobody listed, and where the
studies saw a calmer world than the line: a budget is no better than its list.

Guard band: ISO 14253-1:2017 takes from each limit the factor of the wished probability of conformity,
by default 95 % (1.645 standard uncertainties); edition and numbers from memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.numerics.normal_intervals import sd_interval
from linestudy.results import Absent, CannotJudge, Finding, Interval, show
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture

#: Half widths are divided by these (GUM 4.3; a normal half width is taken as two standard deviations).
DIVISORS = {
    "normal": 2.0,
    "rectangular": math.sqrt(3),
    "triangular": math.sqrt(6),
    "U": math.sqrt(2),
}

#: Contributions of the measuring system alone; everything else is of the measurement process.
SYSTEM = ("calibration", "resolution", "repeatability on a master", "bias", "linearity")

#: Of these only the largest counts.
ALTERNATIVES = ("resolution", "repeatability on a master", "repeatability on parts")


@dataclass(frozen=True)
class Contribution:
    """One line of the budget.

    Attributes
    ----------
    source : str
        What it is; names in `SYSTEM` and `ALTERNATIVES` have the meaning given there.
    standard_uncertainty : float
        In the unit of the readings.
    degrees_of_freedom : float
        Infinite for knowledge that is not estimated.
    origin : str
        Study or document it comes from.
    interval : Interval or None
        Of the standard uncertainty, where the study gives one; else by chi-square.
    """

    source: str
    standard_uncertainty: float
    degrees_of_freedom: float = math.inf
    origin: str = ""
    interval: Interval | None = None

    @property
    def of_system(self) -> bool:
        """Whether it belongs to the measuring system."""
        return self.source in SYSTEM


@dataclass(frozen=True)
class UncertaintyStudy(Finding):
    """Combined and expanded uncertainty, and what it leaves of the tolerance.

    Attributes
    ----------
    budget : tuple of dict
        ``source, standard_uncertainty, degrees_of_freedom, origin, of_system, counted, share`` (of the
        process's variance).
    u_system, u_process : Interval
        Combined standard uncertainty, in the unit of the readings.
    effective_df : float
        Welch-Satterthwaite, of the process.
    coverage : float
        Factor of the expanded uncertainty.
    U_system, U_process : Interval
    Q_MS, Q_MP : Interval or Absent
        Twice the expanded uncertainty over the tolerance.
    guard_band : float
        Taken from each limit so that an accepted part conforms with probability `conformance`.
    conformance : float
    acceptance : tuple of (float or None)
        Zone in which a reading proves conformity.
    rejection : tuple of (float or None)
        Outside these a reading proves nonconformity; between the two nothing is proven.
    tolerance : float or None
        Width the shares refer to.
    """

    budget: tuple[dict[str, Any], ...]
    u_system: Interval
    u_process: Interval
    effective_df: float
    coverage: float
    U_system: Interval
    U_process: Interval
    Q_MS: Interval | Absent
    Q_MP: Interval | Absent
    guard_band: float
    conformance: float
    acceptance: tuple[float | None, float | None]
    rejection: tuple[float | None, float | None]
    tolerance: float | None
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Measurement uncertainty"

    @property
    def statement(self) -> str:
        text = (
            f"Measuring in the process has the expanded uncertainty U = {show(self.U_process)} "
            f"{self.unit} (coverage factor {self.coverage:g})"
        )
        if isinstance(self.Q_MP, Interval):
            text += (
                f", which takes up {self.Q_MP.estimate:.1%} of the tolerance "
                f"({self.Q_MP.low:.1%} to {self.Q_MP.high:.1%})"
            )
        largest = max(self.budget, key=lambda row: row["share"])
        text += f"; most of it comes from {largest['source']} ({largest['share']:.0%} of the variance). "
        return (text + self._zone).replace("  ", " ")

    @property
    def _zone(self) -> str:
        low, high = self.acceptance
        if low is not None and high is not None:
            if low >= high:
                return "No reading proves conformity: the guard bands fill the whole tolerance."
            span = f"between {show(low, self.guard_band)} and {show(high, self.guard_band)}"
        elif high is not None:
            span = f"up to {show(high, self.guard_band)}"
        else:
            span = f"from {show(low or 0.0, self.guard_band)}"
        return (
            f"A reading {span} {self.unit} proves a conforming part with {self.conformance:.0%} "
            "probability."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        return pd.DataFrame(
            {
                "contribution": [row["source"] for row in self.budget],
                f"standard uncertainty{unit}": [
                    show(row["standard_uncertainty"]) for row in self.budget
                ],
                "degrees of freedom": [
                    "not estimated"
                    if math.isinf(row["degrees_of_freedom"])
                    else f"{row['degrees_of_freedom']:.1f}"
                    for row in self.budget
                ],
                "counts for": [
                    "nothing, a larger one holds it"
                    if not row["counted"]
                    else ("system" if row["of_system"] else "process")
                    for row in self.budget
                ],
                "share of variance": [f"{row['share']:.1%}" for row in self.budget],
                "from": [row["origin"] for row in self.budget],
            }
        )

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.gauge_error import budget

        return budget(self.budget, self.unit, ax=ax)


UNCERTAINTY = Declaration(
    "gauges.{gauge}.uncertainty", UncertaintyStudy, "Measurement uncertainty", with_table=True
)


def uncertainty(
    contributions: Iterable[Contribution],
    lower: float | None = None,
    upper: float | None = None,
    tolerance: float | None = None,
    coverage: float = 2.0,
    conformance: float = 0.95,
    confidence: float = 0.95,
    unit: str = "",
) -> UncertaintyStudy:
    """Combine a budget and hold it against the tolerance.

    Parameters
    ----------
    contributions : iterable of Contribution
    lower, upper : float, optional
        Limits of the characteristic.
    tolerance : float, optional
        Width the shares refer to; the distance of the limits unless given.
    coverage : float
        Factor of the expanded uncertainty.
    conformance : float
        Probability that a part accepted at the edge of the zone conforms.
    confidence : float
        Of the intervals.
    unit : str

    Returns
    -------
    UncertaintyStudy

    Raises
    ------
    CannotJudge
        No contribution, or none above zero.

    Notes
    -----
    Combined: GUM (JCGM 100:2008), eq. 10 with unit sensitivities; effective degrees of freedom: eq.
    G.2b. ``Q = 2 U / tolerance``: ISO 22514-7:2021 and VDA 5 (from memory).

    Examples
    --------
    >>> budget = [Contribution("calibration", 0.001), Contribution("repeatability on parts", 0.002, 60)]
    >>> study = uncertainty(budget, 9.9, 10.1)
    >>> round(study.u_process.estimate, 6), round(study.Q_MP.estimate, 4)
    (0.002236, 0.0447)
    """
    from scipy.special import ndtri

    lines = list(contributions)
    if not any(line.standard_uncertainty > 0 for line in lines):
        raise CannotJudge("No contribution to the uncertainty is known.")
    width = tolerance if tolerance is not None else _width(lower, upper)
    of_system = _counted([line for line in lines if line.of_system])
    of_process = _counted(lines)
    u_system = _combined(of_system, confidence)
    u_process = _combined(of_process, confidence)
    variance = u_process.estimate**2
    band = float(ndtri(conformance)) * u_process.estimate
    budget = tuple(
        {
            "source": line.source,
            "standard_uncertainty": line.standard_uncertainty,
            "degrees_of_freedom": line.degrees_of_freedom,
            "origin": line.origin,
            "of_system": line.of_system,
            "counted": line in of_process,
            "share": line.standard_uncertainty**2 / variance if line in of_process else 0.0,
        }
        for line in sorted(lines, key=lambda line: -line.standard_uncertainty)
    )
    return UncertaintyStudy(
        budget=budget,
        u_system=u_system,
        u_process=u_process,
        effective_df=_effective(of_process),
        coverage=coverage,
        U_system=u_system.times(coverage),
        U_process=u_process.times(coverage),
        Q_MS=_share(u_system, coverage, width),
        Q_MP=_share(u_process, coverage, width),
        guard_band=band,
        conformance=conformance,
        acceptance=(_moved(lower, band), _moved(upper, -band)),
        rejection=(_moved(lower, -band), _moved(upper, band)),
        tolerance=width,
        unit=unit,
        cautions=_cautions(lines, of_process, coverage),
    )


def _width(lower: float | None, upper: float | None) -> float | None:
    return None if lower is None or upper is None else upper - lower


def _moved(limit: float | None, by: float) -> float | None:
    return None if limit is None else limit + by


def _counted(lines: Sequence[Contribution]) -> list[Contribution]:
    rivals = [line for line in lines if line.source in ALTERNATIVES]
    largest = max(rivals, key=lambda line: line.standard_uncertainty, default=None)
    return [line for line in lines if line.source not in ALTERNATIVES or line is largest]


def _combined(lines: Sequence[Contribution], confidence: float) -> Interval:
    variance = down = up = 0.0
    for line in lines:
        size = line.standard_uncertainty**2
        low, high = _ends(line, confidence)
        variance += size
        down += (size - low**2) ** 2
        up += (high**2 - size) ** 2
    return Interval(
        math.sqrt(variance),
        math.sqrt(max(variance - math.sqrt(down), 0.0)),
        math.sqrt(variance + math.sqrt(up)),
        confidence,
        "modified large sample",
    )


def _ends(line: Contribution, confidence: float) -> tuple[float, float]:
    size = line.standard_uncertainty
    if line.interval is not None:
        return line.interval.low, line.interval.high
    if math.isinf(line.degrees_of_freedom) or size == 0:
        return size, size
    found = sd_interval(size, line.degrees_of_freedom, confidence)
    return found.low, found.high


def _effective(lines: Sequence[Contribution]) -> float:
    total = sum(line.standard_uncertainty**2 for line in lines)
    below = sum(line.standard_uncertainty**4 / line.degrees_of_freedom for line in lines)
    return total**2 / below if below > 0 else math.inf


def _share(u: Interval, coverage: float, width: float | None) -> Interval | Absent:
    if not width:
        return Absent("there is no width of tolerance to hold the uncertainty against")
    return u.times(2 * coverage / width)


def _cautions(
    lines: Sequence[Contribution], counted: Sequence[Contribution], coverage: float
) -> tuple[str, ...]:
    notes = []
    named = {line.source for line in lines}
    missing = [
        name
        for name in ("calibration", "bias", "appraiser", "stability", "temperature", "part form")
        if name not in named
    ]
    if missing:
        notes.append(
            f"Not in the budget: {', '.join(missing)}. What is left out counts as zero; say why, or add "
            "a [[budget]] entry."
        )
    effective = _effective(counted)
    if effective < 30:
        from scipy.special import stdtrit

        factor = float(stdtrit(effective, 0.97725))
        notes.append(
            f"The combined uncertainty rests on {effective:.1f} effective degrees of freedom; the factor "
            f"for the usual 95.45 % would be {factor:.2f} instead of {coverage:g}."
        )
    return tuple(notes)
