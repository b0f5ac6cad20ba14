"""Repeated readings of one master against a fraction of the tolerance: Cg and Cgk.

Model: readings are independent about master + bias; intervals allow for heavy tails by fewer degrees of
freedom of the standard deviation (see `numerics.heavy_tails`). Misleads when readings are taken in one
sitting without taking the part out: then only the electronics are tested. Source: common practice in
the manner of VDA 5 and ISO 22514-7; intervals by chi-square and by the noncentral t of the nearer side.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.gauges.masters.bias import t_test
from linestudy.numerics.heavy_tails import HEAVY, variance_df
from linestudy.numerics.normal_intervals import one_sided_index_interval, spread_index_interval
from linestudy.numerics.samples import mean_and_sd
from linestudy.results import CannotJudge, Finding, Interval, arguments, data_arguments, show
from linestudy.results.declared import Declaration
from linestudy.results.rounding import as_given
from linestudy.results.tables import Quantity, Rows
from linestudy.running.deprecation import old_keywords, renamed

#: Value of Cg that is usually asked for (common practice, no source).
USUAL_CG = 1.33


@dataclass(frozen=True)
class RepeatabilityStudy(Finding):
    """Repeated readings of one master against a fraction of the tolerance.

    Attributes
    ----------
    n : int
        Readings.
    mean : float
        [unit of the readings] Mean reading.
    sd : float
        [unit of the readings] Standard deviation of the readings. Formula: s with divisor n - 1.
    bias : float
        [unit of the readings] Mean reading less reference.
    Cg : Interval
        Potential of the gauge. Formula: fraction · tolerance / (sigma_multiplier · s).
    Cgk : Interval
        The same with the bias. Formula: (fraction · tolerance / 2 - |bias|) / (sigma_multiplier / 2 · s).
    t : float
        Of the test that the bias is zero. Formula: bias / (s/√n).
    p : float
        Two-sided p of that test.
    fraction : float
        Share of the tolerance that is allowed to the gauge.
    sigma_multiplier : float
        Standard deviations that share must hold.
    smallest_tolerance : Interval
        [unit of the readings] Tolerance at which Cg would be 1.33 (the usual demand; common practice,
        no source). Formula: 1.33 · tolerance / Cg.
    reference : float
        [unit of the readings] Known value of the master.
    unit : str
        Unit of the readings.
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
    sigma_multiplier: float
    smallest_tolerance: Interval
    reference: float
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Repeatability on one master"

    @property
    def statement(self) -> str:
        master = f"{as_given(self.reference)} {self.unit}".rstrip()
        return (
            f"Cg = {show(self.Cg)}, Cgk = {show(self.Cgk)} (master {master}, {self.n} readings, {self.fraction:.0%} of "
            f"tolerance, {self.sigma_multiplier:g} SD)."
        )

    def _rows(self) -> Rows:
        return [
            Quantity("Cg", self.Cg),
            Quantity("Cgk", self.Cgk),
            Quantity("bias", self.bias, self.unit),
            Quantity("standard deviation", self.sd, self.unit),
            Quantity("smallest tolerance", self.smallest_tolerance, self.unit),
        ]


CG_CGK = Declaration("gauges.{gauge}.cg_cgk", RepeatabilityStudy)


@old_keywords(renamed("spread", "sigma_multiplier", since="0.2.0", removal="0.3.0"))
def cg_cgk(
    readings: ArrayLike,
    reference: float,
    tolerance: float,
    *,
    fraction: float = 0.2,
    sigma_multiplier: float = 6.0,
    confidence: float = 0.95,
    unit: str = "",
) -> RepeatabilityStudy:
    r"""Compute Cg and Cgk of repeated readings of one master.

    Parameters
    ----------
    readings : array_like of float, shape (n,)
        Readings of one master, in `unit`.
    reference : float
        Known value of the master, in `unit`.
    tolerance : float
        Width of the tolerance, in `unit`.
    fraction : float
        Share of the tolerance allowed to the gauge, between 0 and 1.
    sigma_multiplier : float
        Standard deviations that share must hold: 6, or 4.
    confidence : float
        Of the intervals, between 0 and 1.
    unit : str
        Unit of the readings, for table and statement.

    Returns
    -------
    RepeatabilityStudy
        Both indices with intervals, and the smallest tolerance the gauge would do for.

    Raises
    ------
    CannotJudge
        Fewer than two readings, or readings that never differ.
    ValueError
        An argument outside its range.

    See Also
    --------
    bias_study : The bias on several masters.
    grr_anova : Repeatability on parts, with appraisers.

    Notes
    -----
    Model: readings independent about master + bias. With a fraction f of the tolerance T
    and k standard deviations,

    .. math:: C_g = \frac{f T}{k s}, \qquad C_{gk} = \frac{f T / 2 - |\bar x - x_m|}{k s / 2}

    Intervals: chi-square for Cg; for Cgk the noncentral t of the nearer side; heavy tails take degrees of
    freedom from both. Misleads when readings
    are taken in one sitting without taking the master out.

    References
    ----------
    Common practice in the manner of VDA 5 (2021) and ISO 22514-7:2021.

    Examples
    --------
    >>> print(cg_cgk([1.0, 1.1, 0.9, 1.0], 1.0, 6.0).statement)  # doctest: +NORMALIZE_WHITESPACE
    Cg = 2.4 (0.4 to 4.7), Cgk = 2.4 (0.4 to 4.7) (master 1, 4 readings, 20% of tolerance, 6 SD).
    """
    values = data_arguments.readings(readings, least=2)
    reference = arguments.number("reference", reference)
    tolerance = arguments.number("tolerance", tolerance, above=0)
    arguments.share("fraction", fraction)
    arguments.number("sigma_multiplier", sigma_multiplier, above=0)
    arguments.share("confidence", confidence)
    mean, sd = mean_and_sd(values)
    n = int(values.size)
    if sd == 0:
        raise CannotJudge(
            f"All {n} readings of the master are the same; resolution hides their spread."
        )
    offset = mean - reference
    t, p, _ = t_test(offset, sd, n, n - 1, confidence)
    df = variance_df(values - mean, np.zeros(n, dtype=int), np.array([n]))
    cg = spread_index_interval(fraction * tolerance / sigma_multiplier, sd, df, confidence)
    margin = fraction * tolerance / 2 - abs(offset)
    cgk = one_sided_index_interval(margin, sd, n, df, confidence).times(6.0 / sigma_multiplier)
    cautions: tuple[str, ...] = ()
    if n < 25:
        cautions = (f"{n} readings are few; 25 to 50 are usual for this study.",)
    elif df < HEAVY * (n - 1):
        cautions = (
            "Readings of the master have heavier tails than normal ones; intervals of Cg and Cgk, which allow for what is seen of "
            "them, then hold in 92 to 94 of 100 studies.",
        )
    return RepeatabilityStudy(
        n=n,
        mean=float(mean),
        sd=sd,
        bias=float(offset),
        Cg=cg,
        Cgk=cgk,
        t=t,
        p=p,
        fraction=fraction,
        sigma_multiplier=sigma_multiplier,
        smallest_tolerance=cg.mapped(lambda c: USUAL_CG * tolerance / c),
        reference=reference,
        unit=unit,
        cautions=cautions,
    )
