"""What several laboratories found on the same parts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from linestudy.results import Finding, Interval, counted, show_in
from linestudy.results.declared import Declaration
from linestudy.results.rounding import p_text
from linestudy.results.tables import Rows


@dataclass(frozen=True, slots=True)
class LaboratoryLevel:
    """One part in all laboratories that read it.

    Attributes
    ----------
    part : str
        Its name.
    mean : float
        [unit of the readings] General mean.
    readings : int
        Readings of it.
    repeatability_sd : Interval
        [unit of the readings] Standard deviation within laboratories. Formula: s_r = √(Σ(n - 1)s² / Σ(n - 1)).
    reproducibility_sd : Interval
        [unit of the readings] Standard deviation within and between laboratories. Formula: s_R = √(s_L² + s_r²).
    h : dict of str to float
        Mandel's h by laboratory. Formula: (mean - general mean) / SD of the means.
    k : dict of str to float
        Mandel's k by laboratory. Formula: s·√p / √(Σs²).
    """

    part: str
    mean: float
    readings: int
    repeatability_sd: Interval
    reproducibility_sd: Interval
    h: dict[str, float]
    k: dict[str, float]


@dataclass(frozen=True, slots=True)
class Straggler:
    """A laboratory that stands out on one part.

    Attributes
    ----------
    part : str
        The part.
    laboratory : str
        Who stands out.
    kind : str
        ``mean`` (Grubbs) or ``spread`` (Cochran).
    p : float
        Of the test, all parts together; below 0.05 a straggler, below 0.01 an outlier.
    """

    part: str
    laboratory: str
    kind: str
    p: float


@dataclass(frozen=True)
class LaboratoryStudy(Finding):
    """Repeatability and reproducibility between laboratories.

    Attributes
    ----------
    laboratories : tuple of str
        Laboratories, machines or gauges.
    repeatability_sd : Interval
        [unit of the readings] Standard deviation within laboratories, all parts together.
    reproducibility_sd : Interval
        [unit of the readings] Standard deviation within and between laboratories, all parts together.
    levels : tuple of LaboratoryLevel
        Each part by itself.
    stragglers : tuple of Straggler
        Who stands out where, the clearest first.
    follows_size_p : float or None
        Of the test that repeatability does not follow the size of the parts; None with fewer than five parts.
    tolerance : float or None
        [unit of the readings] Width of the tolerance.
    unit : str
        Unit of the readings.
    """

    laboratories: tuple[str, ...]
    repeatability_sd: Interval
    reproducibility_sd: Interval
    levels: tuple[LaboratoryLevel, ...]
    stragglers: tuple[Straggler, ...]
    follows_size_p: float | None
    tolerance: float | None
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Reproducibility between laboratories"
    picture: ClassVar[str] = "gauge_error:laboratories"

    @property
    def statement(self) -> str:
        share = ""
        if self.tolerance:
            share = f" ({6 * self.reproducibility_sd.estimate / self.tolerance:.1%} of the tolerance as six SD)"
        text = (
            f"{counted(len(self.laboratories), 'laboratory')} on {counted(len(self.levels), 'part')}: repeatability "
            f"SD {show_in(self.repeatability_sd, self.unit)}, reproducibility SD "
            f"{show_in(self.reproducibility_sd, self.unit)}{share}."
        )
        if not self.stragglers:
            return f"{text} No laboratory stands out."
        first = self.stragglers[0]
        word = "an outlier" if first.p < 0.01 else "a straggler"
        return (
            f"{text} {first.laboratory} is {word} by its {first.kind} on part {first.part} ({p_text(first.p)})"
            f"{self._further}."
        )

    @property
    def _further(self) -> str:
        more = len(self.stragglers) - 1
        return f"; {counted(more, 'further case')} in the table" if more else ""

    def _rows(self) -> Rows:
        unit = f" ({self.unit})" if self.unit else ""
        rows: Rows = [
            {
                "part": level.part,
                f"mean{unit}": level.mean,
                f"repeatability SD{unit}": level.repeatability_sd,
                f"reproducibility SD{unit}": level.reproducibility_sd,
                "largest |h|": max(map(abs, level.h.values())),
                "largest k": max(level.k.values(), default=float("nan")),
            }
            for level in self.levels
        ]
        return rows


LABORATORIES = Declaration(
    "laboratories",
    LaboratoryStudy,
    "Reproducibility between laboratories",
    picture=54,
    with_table=True,
)
