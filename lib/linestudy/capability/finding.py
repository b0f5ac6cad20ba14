"""What is found about the capability of one characteristic."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar

from linestudy.capability.nonconforming import ObservedNonconforming
from linestudy.results import Absent, Finding, Interval, show, show_ppm
from linestudy.results.declared import Declaration
from linestudy.results.tables import Quantity, Rows
from linestudy.shape.fitting import FittedDistribution

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

#: The indices, in the order of the table.
INDICES = ("Pp", "Ppk", "Cp", "Cpk", "Cpm")


@dataclass(frozen=True)
class CapabilityStudy(Finding):
    """Indices and expected nonconforming parts of one characteristic.

    Attributes
    ----------
    n : int
        Values.
    mean : float
        [unit of the values] Arithmetic mean.
    sd_overall : float
        [unit of the values] Standard deviation of all values.
    sd_within : float or Absent
        [unit of the values] Standard deviation within subgroups, or why it may not be used.
    method : str
        ``"normal"`` or ``"quantiles of the … distribution"``.
    Cp : Interval or Absent
        Potential capability, by the within-subgroup SD. Formula: ``(U - L) / (6 s_within)``.
    Cpk : Interval or Absent
        Capability, by the within-subgroup SD. Formula: ``min(U - mean, mean - L) / (3 s_within)``.
    Pp : Interval or Absent
        Potential performance. Formula: ``(U - L) / (x99.865 - x0.135)``; for a normal distribution ``(U - L) / (6 s)``.
    Ppk : Interval or Absent
        Performance. Formula: ``min((U - x50) / (x99.865 - x50), (x50 - L) / (x50 - x0.135))``; for a normal distribution
        ``min(U - mean, mean - L) / (3 s)``.
    Cpm : Interval or Absent
        Index about the target. Formula: ``(U - L) / (6 sqrt(s² + (mean - T)²))``.
    expected_ppm : dict of str to Interval
        [ppm] Parts expected ``below``, ``above`` and outside (``total``) the limits.
    observed : ObservedNonconforming
        Values counted outside the limits.
    n_eff_mean : float
        Effective sample size for the mean, with which intervals were made.
    n_eff_sd : float
        Effective sample size for the standard deviation, with which intervals were made.
    lower_bounds : dict of str to float or Absent
        One-sided lower confidence bound of each index: the index is at least that large, at the
        whole confidence. It is what ``decide_on = "lower bound"`` looks at.
    z : dict of str to Interval or Absent
        ``below``, ``above``, ``total``: equivalent standard normal deviate of the expected fraction.
        Formula: ``-Phi^-1(ppm / 10^6)``.
    lower, upper : float or None
        [unit of the values] Tolerance limits; not recorded here.
    unit : str
        Unit of the values; not recorded here.
    fitted : FittedDistribution or None
        Distribution of the values, normal when None; not recorded.
    counts : (numpy.ndarray, numpy.ndarray)
        Distinct values and how often each occurs; not recorded.
    whose : str
        What the values are of: all together, or one stream; not recorded.
    """

    n: int
    mean: float
    sd_overall: float
    sd_within: float | Absent
    method: str
    Cp: Interval | Absent
    Cpk: Interval | Absent
    Pp: Interval | Absent
    Ppk: Interval | Absent
    Cpm: Interval | Absent
    expected_ppm: dict[str, Interval]
    observed: ObservedNonconforming
    n_eff_mean: float
    n_eff_sd: float
    lower_bounds: dict[str, float | Absent]
    z: dict[str, Interval | Absent]
    lower: float | None = field(repr=False)
    upper: float | None = field(repr=False)
    unit: str = field(repr=False)
    cautions: tuple[str, ...]
    fitted: FittedDistribution | None = field(repr=False, compare=False)
    counts: tuple[NDArray[np.float64], NDArray[np.float64]] = field(repr=False, compare=False)
    whose: str = field(default="All values together", repr=False, compare=False)
    title: ClassVar[str] = "Capability"
    picture: ClassVar[str] = "capability:histogram_with_limits"

    @property
    def statement(self) -> str:
        total = self.expected_ppm["total"]
        outside = self.observed.below + self.observed.above
        seen = f"{outside:,} of {self.n:,} values outside"
        return (
            f"{self.whose}: Ppk = {show(self.Ppk)} ({self.method}); {show_ppm(total)} ppm expected outside the "
            f"limits; {seen}."
        )

    def _rows(self) -> Rows:
        return [
            *(Quantity(name, getattr(self, name)) for name in INDICES),
            Quantity("lower confidence bound of Ppk (one-sided)", self.lower_bounds["Ppk"]),
            *(
                Quantity(f"expected {side}", self.expected_ppm[side], "ppm")
                for side in ("below", "above", "total")
            ),
            Quantity("observed outside", self.observed.ppm, "ppm"),
        ]


CAPABILITY = Declaration(
    "capability",
    CapabilityStudy,
    part="characteristic",
    question="fit",
    order=10,
    picture=50,
    with_table=True,
    own="indices",
)


CAPABILITY_WITH_SET_ASIDE = Declaration(
    "capability.with_set_aside",
    CapabilityStudy,
    "Capability with the periods set aside",
    part="characteristic",
    question="set aside",
    order=20,
)
