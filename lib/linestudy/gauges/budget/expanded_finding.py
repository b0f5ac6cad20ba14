"""A budget of measurement uncertainty, line by line, and what came of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from linestudy.gauges.budget.propagation import Propagation
from linestudy.results import Absent, Finding, Interval, show, show_in
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
    distribution : str
        ``"normal"``, ``"rectangular"``, ``"triangular"`` or ``"U"``: what it is drawn from in the simulation.
    sensitivity : float
        How far the reading moves for one unit of it.
    """

    source: str
    standard_uncertainty: float
    degrees_of_freedom: float = math.inf
    origin: str = ""
    interval: Interval | None = None
    distribution: str = "normal"
    sensitivity: float = 1.0

    @property
    def effect(self) -> float:
        """Standard uncertainty of the reading that it brings."""
        return abs(self.sensitivity) * self.standard_uncertainty

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
        Share of the variance of the measurement process. Formula: (c u)² / u_process².
    sensitivity : float
        How far the reading moves for one unit of it (c).
    """

    source: str
    standard_uncertainty: float
    degrees_of_freedom: float
    origin: str
    of_system: bool
    counted: bool
    share: float
    sensitivity: float = 1.0

    @property
    def counts_for(self) -> str:
        """Say in words what the source counts towards."""
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
    simulated : Propagation
        The same by propagation of distributions (JCGM 101).
    correlations : dict of str to float
        Of two sources, "one and other".
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
    simulated: Propagation
    correlations: dict[str, float]
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
            text += f"; Q_MP {self.Q_MP.estimate:.1%} ({100 * self.Q_MP.confidence:.4g} % CI {self.Q_MP.low:.1%} to {self.Q_MP.high:.1%})"
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
                with_unit("standard uncertainty", self.unit): line.standard_uncertainty
                * abs(line.sensitivity),
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
