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
from typing import ClassVar

from linestudy.numerics.normal_intervals import sd_interval
from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    arguments,
    data_arguments,
    show,
    show_in,
)
from linestudy.results.declared import Declaration
from linestudy.results.rounding import with_unit
from linestudy.results.tables import Rows

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


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """One line of the budget, as it counts in the combined uncertainty.

    Attributes
    ----------
    source : str
        What it is.
    standard_uncertainty : float
        [unit of the readings] Its standard uncertainty.
    degrees_of_freedom : float
        Infinite for knowledge that is not estimated.
    origin : str
        Study or document it comes from.
    of_system : bool
        Whether it belongs to the measuring system.
    counted : bool
        Whether it counts; of resolution and the repeatabilities only the largest does.
    share : float
        Share of the variance of the measurement process. Formula: u² / u_process².
    """

    source: str
    standard_uncertainty: float
    degrees_of_freedom: float
    origin: str
    of_system: bool
    counted: bool
    share: float

    @property
    def counts_for(self) -> str:
        """What it counts for, in words."""
        if not self.counted:
            return "nothing, a larger one holds it"
        return "system" if self.of_system else "process"


@dataclass(frozen=True)
class UncertaintyStudy(Finding):
    """Combined and expanded uncertainty, and what it leaves of the tolerance.

    Attributes
    ----------
    budget : tuple of BudgetLine
        Every contribution, the largest first.
    u_system : Interval
        [unit of the readings] Combined standard uncertainty of the measuring system. Formula: √Σu².
    u_process : Interval
        [unit of the readings] Combined standard uncertainty of the measurement process. Formula: √Σu².
    effective_df : float
        Welch-Satterthwaite, of the process. Formula: u⁴ / Σ(uᵢ⁴/νᵢ).
    coverage : float
        Factor of the expanded uncertainty.
    U_system : Interval
        [unit of the readings] Expanded uncertainty of the system. Formula: coverage · u_system.
    U_process : Interval
        [unit of the readings] Expanded uncertainty of the process. Formula: coverage · u_process.
    Q_MS : Interval or Absent
        Share of the tolerance, system. Formula: 2 · U_system / tolerance.
    Q_MP : Interval or Absent
        Share of the tolerance, process. Formula: 2 · U_process / tolerance.
    guard_band : float
        [unit of the readings] Taken from each limit so that an accepted part conforms with probability
        `conformance`.
    conformance : float
        That probability.
    acceptance : tuple of float or None
        [unit of the readings] Zone in which a reading proves conformity.
    rejection : tuple of float or None
        [unit of the readings] Outside these a reading proves nonconformity; between the two nothing is
        proven.
    tolerance : float or None
        [unit of the readings] Width the shares refer to.
    unit : str
        Unit of the readings.
    """

    budget: tuple[BudgetLine, ...]
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
    picture: ClassVar[str] = "gauge_error:uncertainty_budget"

    @property
    def statement(self) -> str:
        text = (
            f"Expanded uncertainty of the measurement process U = {show_in(self.U_process, self.unit)} "
            f"(k = {self.coverage:g})"
        )
        if isinstance(self.Q_MP, Interval):
            text += f"; Q_MP {self.Q_MP.estimate:.1%} (95 % CI {self.Q_MP.low:.1%} to {self.Q_MP.high:.1%})"
        largest = max(self.budget, key=lambda line: line.share)
        text += f"; largest contribution {largest.source} ({largest.share:.0%} of the variance)."
        return f"{text} {self._zone}".rstrip()

    @property
    def _zone(self) -> str:
        low, high = self.acceptance
        if low is not None and high is not None:
            if low >= high:
                return "No reading proves conformity: the guard bands fill the whole tolerance."
            end = show_in(high, self.unit, self.guard_band)
            span = f"between {show(low, self.guard_band)} and {end}"
        elif high is not None:
            span = f"up to {show_in(high, self.unit, self.guard_band)}"
        elif low is not None:
            span = f"from {show_in(low, self.unit, self.guard_band)}"
        else:
            return ""
        return f"A reading {span} proves a conforming part with {self.conformance:.0%} probability."

    def _rows(self) -> Rows:
        return [
            {
                "contribution": line.source,
                with_unit("standard uncertainty", self.unit): line.standard_uncertainty,
                "degrees of freedom": Absent("not estimated")
                if math.isinf(line.degrees_of_freedom)
                else line.degrees_of_freedom,
                "counts for": line.counts_for,
                "% contribution": 100 * line.share,
                "from": line.origin,
            }
            for line in self.budget
        ]


UNCERTAINTY = Declaration("gauges.{gauge}.uncertainty", UncertaintyStudy, with_table=True)


def uncertainty_budget(
    contributions: Iterable[Contribution],
    lower: float | None = None,
    upper: float | None = None,
    *,
    tolerance: float | None = None,
    coverage: float = 2.0,
    conformance: float = 0.95,
    confidence: float = 0.95,
    unit: str = "",
) -> UncertaintyStudy:
    r"""Combine a budget of measurement uncertainty and hold it against the tolerance.

    Parameters
    ----------
    contributions : iterable of Contribution
        Lines of the budget, in `unit`.
    lower, upper : float, optional
        Limits of the characteristic, in `unit`.
    tolerance : float, optional
        Width the shares refer to, in `unit`; the distance of the limits unless given.
    coverage : float
        Factor of the expanded uncertainty.
    conformance : float
        Probability that a part accepted at the edge of the zone conforms, between 0 and 1.
    confidence : float
        Of the intervals, between 0 and 1.
    unit : str
        Unit of the readings, for table, statement and picture.

    Returns
    -------
    UncertaintyStudy
        Combined and expanded uncertainty, shares of the tolerance, guard band and zones.

    Raises
    ------
    CannotJudge
        No contribution, or none above zero.
    ValueError
        An argument outside its range, a negative uncertainty, or limits that are swapped.

    See Also
    --------
    conformity_risk : What the uncertainty does to the parts of one process.

    Notes
    -----
    Model: independent contributions with unit sensitivities,

    .. math:: u = \sqrt{\sum u_i^2}, \qquad U = k\,u, \qquad Q = 2 U / T

    Misleads where contributions are correlated, and where one matters that nobody listed.

    References
    ----------
    GUM (JCGM 100:2008), eq. 10 and G.2b. ISO 22514-7:2021 and VDA 5 for Q (from memory).
    ISO 14253-1:2017 for the guard band (from memory).

    Examples
    --------
    >>> budget = [Contribution("calibration", 0.001), Contribution("repeatability on parts", 0.002, 60)]
    >>> study = uncertainty_budget(budget, 9.9, 10.1)
    >>> round(study.u_process.estimate, 6), round(study.Q_MP.estimate, 4)
    (0.002236, 0.0447)
    """
    from scipy.special import ndtri

    lines = list(contributions)
    lower, upper = arguments.limits(lower, upper, needed=False)
    data_arguments.width("tolerance", tolerance)
    arguments.number("coverage", coverage, above=0)
    arguments.share("conformance", conformance)
    arguments.share("confidence", confidence)
    for line in lines:
        arguments.number(
            f"standard_uncertainty of {line.source}", line.standard_uncertainty, least=0
        )
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
        BudgetLine(
            source=line.source,
            standard_uncertainty=line.standard_uncertainty,
            degrees_of_freedom=line.degrees_of_freedom,
            origin=line.origin,
            of_system=line.of_system,
            counted=line in of_process,
            share=line.standard_uncertainty**2 / variance if line in of_process else 0.0,
        )
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
        if name not in named and not (name == "calibration" and f"{name} of the masters" in named)
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
