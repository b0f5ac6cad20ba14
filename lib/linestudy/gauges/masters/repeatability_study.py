"""Repeated readings of one master against a fraction of the tolerance: Cg and Cgk.

Model: readings are independent and normal about master + bias. Misleads when they are taken in one
sitting without taking the part out: then only the electronics are tested. Source: common practice in
the manner of VDA 5 and ISO 22514-7; intervals by chi-square and by the noncentral t of the nearer side.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.gauges.arguments import as_readings
from linestudy.gauges.masters.bias_study import t_test
from linestudy.numerics.normal_intervals import one_sided_index_interval, spread_index_interval
from linestudy.numerics.samples import mean_and_sd
from linestudy.results import CannotJudge, Finding, Interval, show
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class RepeatabilityStudy(Finding):
    """Repeated readings of one master against a fraction of the tolerance.

    Attributes
    ----------
    n : int
    mean, sd, bias : float
        In the unit of the readings.
    Cg, Cgk : Interval
    t, p : float
        Test that the bias is zero.
    fraction, spread : float
        Share of the tolerance that is allowed, and standard deviations it must hold.
    smallest_tolerance : Interval
        The tolerance at which Cg would be 1.33 (the usual demand; common practice, no source).
    """

    n: int
    mean: float
    sd: float
    bias: float
    Cg: Interval
    Cgk: Interval
    t: float
    p: float
    fraction: float
    spread: float
    smallest_tolerance: Interval
    reference: float
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Repeatability on one master"

    @property
    def statement(self) -> str:
        return (
            f"On the master of {self.reference:g} {self.unit} the gauge holds Cg = {show(self.Cg)} and "
            f"Cgk = {show(self.Cgk)}, for {self.fraction:.0%} of the tolerance and {self.spread:g} "
            "standard deviations."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        rows = [
            ("Cg", show(self.Cg)),
            ("Cgk", show(self.Cgk)),
            (f"bias{unit}", show(self.bias)),
            (f"standard deviation{unit}", show(self.sd)),
            (f"smallest tolerance{unit}", show(self.smallest_tolerance)),
        ]
        return pd.DataFrame(rows, columns=["quantity", "value"])


REPEATABILITY = Declaration(
    "gauges.{gauge}.repeatability", RepeatabilityStudy, "Repeatability on one master"
)


def repeatability(
    readings: Any,
    reference: float,
    tolerance: float,
    fraction: float = 0.2,
    spread: float = 6.0,
    confidence: float = 0.95,
    unit: str = "",
) -> RepeatabilityStudy:
    """Cg and Cgk of repeated readings of one master.

    Parameters
    ----------
    readings : array_like of float, shape (n,)
    reference : float
        Known value of the master.
    tolerance : float
        Width of the tolerance.
    fraction : float
        Share of the tolerance allowed to the gauge.
    spread : float
        Standard deviations that share must hold: 6, or 4.
    confidence : float
    unit : str

    Returns
    -------
    RepeatabilityStudy

    Raises
    ------
    CannotJudge
        Fewer than two readings, or readings that never differ.

    Notes
    -----
    ``Cg = fraction * tolerance / (spread * s)``, ``Cgk = (fraction * tolerance / 2 - |bias|) /
    (spread / 2 * s)``; common practice in the manner of VDA 5 and ISO 22514-7. Intervals:
    chi-square for Cg; for Cgk the noncentral t of the nearer side.

    Examples
    --------
    >>> round(repeatability([1.0, 1.1, 0.9, 1.0], 1.0, 6.0).Cg.estimate, 3)
    2.449
    """
    values = as_readings(readings, least=2, name="reading")
    mean, sd = mean_and_sd(values)
    if sd == 0:
        raise CannotJudge("All readings of the master are the same; resolution hides their spread.")
    n = values.size
    offset = mean - reference
    t, p, _ = t_test(offset, sd, n, n - 1, confidence)
    cg = spread_index_interval(fraction * tolerance / spread, sd, n - 1, confidence)
    room = fraction * tolerance / 2 - abs(offset)
    cgk = one_sided_index_interval(room, sd, n, n - 1, confidence).times(6.0 / spread)
    cautions: tuple[str, ...] = ()
    if n < 25:
        cautions = (f"{n} readings are few; 25 to 50 are usual for this study.",)
    return RepeatabilityStudy(
        n=int(n),
        mean=float(mean),
        sd=sd,
        bias=float(offset),
        Cg=cg,
        Cgk=cgk,
        t=t,
        p=p,
        fraction=fraction,
        spread=spread,
        smallest_tolerance=cg.mapped(lambda c: 1.33 * tolerance / c),
        reference=float(reference),
        unit=unit,
        cautions=cautions,
    )
