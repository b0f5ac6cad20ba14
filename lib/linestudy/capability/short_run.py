"""Machine performance: a short run of consecutive parts with nothing touched."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.capability.finding import CapabilityStudy
from linestudy.capability.study import process_capability
from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    arguments,
    data_arguments,
    show,
)
from linestudy.results.declared import Declaration
from linestudy.results.rounding import p_text
from linestudy.results.tables import Quantity, Rows
from linestudy.shape.selection import select_distribution

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture

#: ISO 22514-3: fewer parts than the first are no study, fewer than the second a poor one.
LEAST, PREFERRED = 30, 100
#: Level of the tests for drift and for serial correlation (common practice, no source).
ALPHA = 0.01


@dataclass(frozen=True)
class MachineStudy(Finding):
    """Machine performance of one characteristic.

    Attributes
    ----------
    n : int
        Parts.
    mean : float
        [unit of the values] Arithmetic mean.
    sd : float
        [unit of the values] Standard deviation.
    method : str
        ``"normal"`` or ``"quantiles of the … distribution"``.
    Pm : Interval or Absent
        Potential machine performance. Formula: ``(U - L) / (6 s)``, or of quantiles.
    Pmk : Interval or Absent
        Machine performance. Formula: ``min(U - mean, mean - L) / (3 s)``, or of quantiles.
    lower_bounds : dict of str to float or Absent
        One-sided lower confidence bounds of ``Pm`` and ``Pmk``.
    slope : Interval
        [unit of the values] Drift over the run, from its first to its last part.
    slope_p : float
        p-value of the test that there is no drift.
    lag1 : float
        Autocorrelation of neighbours.
    unit : str
        Unit of the values; not recorded here.
    study : CapabilityStudy
        The indices as for a process; not recorded.
    """

    n: int
    mean: float
    sd: float
    method: str
    Pm: Interval | Absent
    Pmk: Interval | Absent
    lower_bounds: dict[str, float | Absent]
    slope: Interval
    slope_p: float
    lag1: float
    unit: str = field(repr=False)
    cautions: tuple[str, ...]
    study: CapabilityStudy = field(repr=False, compare=False)
    title: ClassVar[str] = "Machine performance of a short run"

    @property
    def statement(self) -> str:
        bound = self.lower_bounds["Pmk"]
        least = "" if isinstance(bound, Absent) else f", at least {bound:.2f} (one-sided)"
        return (
            f"In a short run of {self.n} consecutive parts, taken as independent, Pmk = {show(self.Pmk)}{least} "
            f"({self.method}); this is the machine in one setting, not the process."
        )

    def _rows(self) -> Rows:
        return [
            Quantity("parts", self.n),
            Quantity("mean", self.mean, self.unit),
            Quantity("standard deviation", self.sd, self.unit),
            Quantity("Pm", self.Pm),
            Quantity("Pmk", self.Pmk),
            Quantity("drift over the run", self.slope, self.unit),
            Quantity("autocorrelation of neighbours", self.lag1),
        ]

    def shown(self) -> pd.DataFrame:
        """Return the table as text, mean and autocorrelation rounded by their standard errors.

        Returns
        -------
        pandas.DataFrame
        """
        table = super().shown()
        table.loc[1, "value"] = show(self.mean, self.sd / math.sqrt(self.n))
        table.loc[6, "value"] = show(self.lag1, 1 / math.sqrt(self.n))
        return table

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.capability import histogram_with_limits

        return histogram_with_limits(
            self.study,
            question="Does a short run of the machine fit between the limits?",
            ax=ax,
            **options,
        )


MACHINE = Declaration("capability.machine", MachineStudy, "Short run of the machine")


def machine_performance(
    values: ArrayLike,
    lower: float | None = None,
    upper: float | None = None,
    *,
    family: str = "auto",
    bound: float | None = None,
    confidence: float = 0.95,
    seed: int | None = None,
    unit: str = "",
) -> MachineStudy:
    r"""Compute the machine performance indices of a short run.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Consecutive parts in the order they were made, at least thirty, in any unit.
    lower, upper : float, optional
        Tolerance limits in the unit of the values; at least one.
    family : str
        ``"auto"``, or the family that is known to describe the process.
    bound : float, optional
        Physical bound below all values, in their unit.
    confidence : float
        Of the two-sided intervals and the one-sided bounds, between 0 and 1.
    seed : int, optional
        Of the draws behind intervals; the kit's own when absent.
    unit : str
        Unit of the values, for texts and pictures.

    Returns
    -------
    MachineStudy
        Pm and Pmk with intervals and one-sided bounds, and the tests of the run itself.

    Raises
    ------
    CannotJudge
        Fewer than thirty values, or values that never differ.
    ValueError, TypeError
        No limit, limits that are not in order, an unknown family, a table, or an array of other
        than one dimension.

    See Also
    --------
    process_capability : The indices of a process.
    linestudy.shape.select_distribution : How the distribution is selected.

    Notes
    -----
    Model: parts made one after the other under one setting, one coil, warm machine; their spread is what
    press, die and weld do of themselves. The indices are

    .. math:: P_m = \frac{U - L}{x_{0.99865} - x_{0.00135}}, \qquad
        P_{mk} = \min\left(\frac{U - x_{0.5}}{x_{0.99865} - x_{0.5}},
        \frac{x_{0.5} - L}{x_{0.5} - x_{0.00135}}\right)

    of the distribution that describes the run, by the usual formulas where it is normal. The standard
    wants at least 50 parts and prefers 100 or more. Misleads as a process index: it says nothing of coils, shifts,
    wear or lens. A run that drifts while it lasts, or neighbours that are alike, give a spread
    that is either too large or has not been seen whole; both are tested and named. The gauge's spread is
    in it in full, and counts for more here than anywhere.

    References
    ----------
    ISO 22514-3:2020.

    Examples
    --------
    >>> import numpy as np
    >>> y = np.random.default_rng(2).normal(5.0, 0.1, 100)
    >>> print(machine_performance(y, 4.4, 5.6).statement)
    In a short run of 100 consecutive parts, taken as independent, Pmk = 2.09 (1.77 to 2.36), at least 1.82
    (one-sided) (normal); this is the machine in one setting, not the process.
    """
    from scipy.stats import linregress, norm, t

    y = data_arguments.one_dimensional(values, least=2)
    lower, upper = arguments.limits(lower, upper)
    arguments.share("confidence", confidence)
    n = int(y.size)
    if n < LEAST:
        raise CannotJudge(
            f"{n} parts are no short run; at least {LEAST} are needed, {PREFERRED} are preferred."
        )
    shape = select_distribution(
        y, family=family, bound=bound, refits=0, seed=seed, lower=lower, upper=upper
    )
    found = process_capability(
        y,
        lower,
        upper,
        fitted=shape.chosen,
        plausible_families=shape.plausible_families,
        confidence=confidence,
        seed=seed,
        unit=unit,
    )
    line = linregress(np.arange(n) / (n - 1), y)
    half = float(t.ppf((1 + confidence) / 2, n - 2)) * float(line.stderr)
    slope = float(line.slope)
    rest = y - y.mean()
    lag1 = float(rest[1:] @ rest[:-1] / (rest @ rest))
    notes = list(found.cautions)
    if n < PREFERRED:
        notes.append(f"{n} parts were taken; ISO 22514-3 prefers {PREFERRED}.")
    if line.pvalue < ALPHA:
        notes.append(
            f"The run drifts ({p_text(line.pvalue)}); what moved belongs to the process, and the "
            "machine alone may be better than this."
        )
    elif abs(lag1) * math.sqrt(n) > float(norm.ppf(1 - ALPHA / 2)):
        notes.append(
            f"Neighbours are correlated ({lag1:.2f}); a short run of such parts has not seen the "
            "whole spread, and the intervals are too narrow."
        )
    return MachineStudy(
        n=n,
        mean=found.mean,
        sd=found.sd_overall,
        method=found.method,
        Pm=found.Pp,
        Pmk=found.Ppk,
        lower_bounds={"Pm": found.lower_bounds["Pp"], "Pmk": found.lower_bounds["Ppk"]},
        slope=Interval(slope, slope - half, slope + half, confidence, "least squares, Student t"),
        slope_p=float(line.pvalue),
        lag1=lag1,
        unit=unit,
        cautions=tuple(notes),
        study=found,
    )
