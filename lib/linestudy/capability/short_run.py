"""Machine performance: a short run of consecutive parts with nothing touched.

Model: parts made one after the other under one setting, one coil, warm machine; their spread is what
press, die and weld do of themselves. ``Pm`` and ``Pmk`` are the indices of all values of that run, by
the normal formulas or, where the values are not normal, by quantiles of the distribution that
describes them (ISO 22514-3:2020; formulas as in ``indices`` and ``quantile_indices``). The standard wants at
least 50 parts and prefers 100 or more.

When it misleads: it says nothing of coils, shifts, wear or lens; a machine index is never a process
index. A run that drifts while it lasts, or parts that follow each other like twins, give a spread
that is either too large or has not been seen whole; both are tested and named. The gauge's spread is
in it in full, and counts for more here than anywhere.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.capability.study import capability
from linestudy.numerics.samples import as_sample
from linestudy.results import Absent, CannotJudge, Finding, Interval, plain, show
from linestudy.results.declared import Declaration
from linestudy.shape import choose

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture

#: ISO 22514-3: fewer parts than the first are no study, fewer than the second a poor one.
LEAST, WISHED = 30, 100
#: Level of the tests for drift and for serial correlation (common practice, no source).
ALPHA = 0.01


@dataclass(frozen=True)
class MachineStudy(Finding):
    """Machine performance of one characteristic.

    Attributes
    ----------
    n : int
    mean, sd : float
        In the unit of the values.
    method : str
        ``"normal"`` or ``"quantiles of the … distribution"``.
    Pm, Pmk : Interval or Absent
    lower_bounds : dict of str to float or Absent
        One-sided, of ``Pm`` and ``Pmk``.
    slope : Interval
        Drift over the run, from its first to its last part, in the unit of the values.
    slope_p : float
        Of the test that there is none.
    lag1 : float
        Correlation of neighbours.
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
    unit: str
    cautions: tuple[str, ...]
    study: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Machine performance of a short run"

    @property
    def statement(self) -> str:
        bound = self.lower_bounds["Pmk"]
        least = "" if isinstance(bound, Absent) else f", at least {bound:.2f} (one-sided)"
        return (
            f"In a short run of {self.n} consecutive parts Pmk = {show(self.Pmk)}{least} "
            f"({self.method}); this is the machine in one setting, not the process."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        rows = [
            ("parts", f"{self.n}"),
            (f"mean{unit}", show(self.mean, self.sd / math.sqrt(self.n))),
            (f"standard deviation{unit}", show(self.sd)),
            ("Pm", show(self.Pm)),
            ("Pmk", show(self.Pmk)),
            (f"drift over the run{unit}", show(self.slope)),
            ("correlation of neighbours", show(self.lag1, 0.05)),
        ]
        return pd.DataFrame(rows, columns=["quantity", "value"])

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.capability import curve_and_limits

        return curve_and_limits(
            self.study, question="Does a short run of the machine fit between the limits?", ax=ax
        )

    def record(self) -> dict[str, Any]:
        """The attributes, statement and cautions."""
        names = ("n", "mean", "sd", "method", "Pm", "Pmk", "lower_bounds", "slope", "slope_p")
        content = {name: plain(getattr(self, name)) for name in (*names, "lag1")}
        return content | {"statement": self.statement, "cautions": list(self.cautions)}


MACHINE = Declaration("capability.machine", MachineStudy, "Short run of the machine")


def machine(
    values: Any,
    lower: float | None = None,
    upper: float | None = None,
    family: str = "auto",
    bound: float | None = None,
    confidence: float = 0.95,
    seed: int | None = None,
    unit: str = "",
) -> MachineStudy:
    """Machine performance from a short run.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Consecutive parts in the order they were made.
    lower, upper : float, optional
        Tolerance limits; at least one.
    family : str
        As in study.toml; ``"auto"`` chooses.
    bound : float, optional
        Physical bound below all values.
    confidence : float
    seed : int, optional
    unit : str

    Returns
    -------
    MachineStudy

    Raises
    ------
    CannotJudge
        No limit, fewer than thirty values, or values that never differ.

    Notes
    -----
    ISO 22514-3:2020.

    Examples
    --------
    >>> import numpy as np
    >>> y = np.random.default_rng(2).normal(5.0, 0.1, 100)
    >>> round(machine(y, 4.4, 5.6).Pmk.estimate, 1)
    2.1
    """
    from scipy.stats import linregress, norm, t

    y = as_sample(values, least=2)
    n = int(y.size)
    if n < LEAST:
        raise CannotJudge(
            f"{n} parts are no short run; {LEAST} are the least, {WISHED} are wished."
        )
    shape = choose(y, family, bound, refits=0, seed=seed, lower=lower, upper=upper)
    found = capability(
        y,
        lower,
        upper,
        fitted=shape.chosen,
        admissible=shape.admissible,
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
    if n < WISHED:
        notes.append(f"{n} parts were taken; ISO 22514-3 prefers {WISHED}.")
    if line.pvalue < ALPHA:
        notes.append(
            f"The run drifts (p = {line.pvalue:.2g}); what moved belongs to the process, and the "
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
