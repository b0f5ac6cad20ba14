"""Two gauges on the same parts: how far they disagree, part by part.

Model: differences are independent and normal, with the same spread over the whole range. The limits of
agreement hold the errors of both gauges, so a wide band does not say which one is at fault. Deming
regression allows for errors on both sides; it needs the ratio of their variances, which the gauges' own
studies give. Where they do not, slope, correction and the test of a slope hold for every ratio from 1:25 to
25:1 (one gauge's error up to five times the other's; common practice, no source): their intervals
reach from the lowest end to the highest, for two readings of a part cannot tell a slope from unequal
errors. Whether the difference changes with size is the test of slope one on that line; the correlation of
differences with sums (Pitman and Morgan) would call unequal errors a slope (in 19 to 27 % of
studies of 30 to 50 parts, errors 8:1). The intraclass correlation depends on how different the parts are and says nothing in units.

Sources: Bland & Altman, *Lancet* 327 (1986), 307-310; exact intervals of the limits: Carkeet,
*Optometry and Vision Science* 92 (2015), e71-e80; Deming with jackknife: Linnet, *Clinical
Chemistry* 39 (1993), 424-432; intraclass correlation: pingouin.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.gauges.comparison.correction import Correction
from linestudy.gauges.comparison.deming import bent_beyond_errors, lines_of
from linestudy.gauges.comparison.outlying_laboratories import grubbs_p
from linestudy.gauges.comparison.pairwise_slopes import passing_bablok
from linestudy.numerics.reml import rounding_noise
from linestudy.numerics.samples import mean_and_sd
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
from linestudy.results.rounding import p_text
from linestudy.results.tables import Quantity, Rows

#: Level at which an outlying pair, looked for in every study, is reported; and a bent line: of 20 to 200 parts on a straight
#: line the cusum calls at most 4 % bent at this level (8 % at a nominal 5 %).
_SELDOM, _BENT = 0.01, 0.03


@dataclass(frozen=True)
class AgreementStudy(Finding):
    """Agreement of two gauges.

    Attributes
    ----------
    n : int
        Parts.
    first : str
        Name of the first gauge; differences are first minus second.
    second : str
        Name of the second gauge.
    mean_difference : Interval
        [unit of the readings] Mean of first less second. Formula: d ± t·s/√n.
    sd_difference : float
        [unit of the readings] Standard deviation of the differences.
    lower_limit : Interval
        [unit of the readings] Lower limit of agreement. Formula: d - 1.96 s.
    upper_limit : Interval
        [unit of the readings] Upper limit of agreement. Formula: d + 1.96 s.
    deming : dict of str to Interval
        ``slope`` and ``intercept`` of first on second, by jackknife.
    error_ratio : float or None
        Variance of the first gauge's error over that of the second; None where it is not known, so that
        intervals hold for every ratio from 1:25 to 25:1.
    proportional_p : float
        Of the test that the difference does not change with size. Formula: (Deming slope - 1) / its standard
        error, Student's t; the largest p of all ratios where the ratio is not known.
    icc : Interval or Absent
        Intraclass correlation, single readings, absolute agreement.
    passing_bablok : dict of str to Interval, or Absent
        ``slope`` and ``intercept`` of first on second by the median of pairwise slopes.
    linearity_p : float or None
        Of the cusum test that one straight line will do, the larger of those about Passing and Bablok's line and Deming's.
    correction : Correction
        Of the first gauge towards the second, and whether it is warranted.
    tolerance : float or None
        [unit of the readings] Width of the tolerance.
    unit : str
        Unit of the readings.
    pairs : numpy.ndarray of float, shape (n, 2)
        Both readings of each part.
    """

    n: int
    first: str
    second: str
    mean_difference: Interval
    sd_difference: float
    lower_limit: Interval
    upper_limit: Interval
    deming: dict[str, Interval]
    error_ratio: float | None
    proportional_p: float
    icc: Interval | Absent
    passing_bablok: dict[str, Interval] | Absent
    linearity_p: float | None
    correction: Correction
    tolerance: float | None
    unit: str
    cautions: tuple[str, ...]
    pairs: NDArray[np.float64] = field(repr=False, compare=False)
    title: ClassVar[str] = "Agreement of two gauges"
    picture: ClassVar[str] = "gauges:differences"

    @property
    def statement(self) -> str:
        low, high = self.lower_limit, self.upper_limit
        ends = f"{show(low.estimate, low.half_width)} to {show_in(high.estimate, self.unit, high.half_width)}"
        return (
            f"Mean difference {self.first} − {self.second} on {self.n} parts: {show_in(self.mean_difference, self.unit)}; "
            f"limits of agreement {ends}. {self.correction.answer}"
        )

    @property
    def correction_warranted(self) -> bool:
        """Whether correcting the first gauge by the second is warranted."""
        return self.correction.warranted

    def _rows(self) -> Rows:
        line = {} if isinstance(self.passing_bablok, Absent) else self.passing_bablok
        units = {"slope": "", "intercept": self.unit}
        return [
            Quantity("mean difference", self.mean_difference, self.unit),
            Quantity("SD of differences", self.sd_difference, self.unit),
            Quantity("lower limit of agreement", self.lower_limit, self.unit),
            Quantity("upper limit of agreement", self.upper_limit, self.unit),
            *(Quantity(f"Deming {name}", v, units[name]) for name, v in self.deming.items()),
            *(Quantity(f"Passing-Bablok {name}", v, units[name]) for name, v in line.items()),
            Quantity("p, difference grows with size", self.proportional_p, "p"),
            *(
                Quantity(f"to be added, {place}", value, self.unit)
                for place, value in self.correction.at.items()
            ),
            Quantity("intraclass correlation", self.icc),
        ]


AGREEMENT = Declaration("agreement.{pair}", AgreementStudy)


def method_comparison(
    first: ArrayLike,
    second: ArrayLike,
    *,
    error_ratio: float | None = None,
    tolerance: float | None = None,
    lower: float | None = None,
    upper: float | None = None,
    step: float | None = None,
    names: tuple[str, str] = ("first", "second"),
    with_icc: bool = True,
    confidence: float = 0.95,
    unit: str = "",
) -> AgreementStudy:
    r"""Compare two gauges on the same parts.

    Parameters
    ----------
    first, second : array_like of float, shape (n,)
        Readings of the same parts in the same order, in `unit`.
    error_ratio : float, optional
        Variance of the first gauge's error over that of the second; unknown unless given, and then the
        intervals of line and correction hold for every ratio from 1:25 to 25:1.
    tolerance : float, optional
        Width of the tolerance, in `unit`.
    lower, upper : float, optional
        Limits in `unit` at which the correction is given, beside the middle of the parts.
    step : float, optional
        Resolution of the first gauge, in `unit`; no smaller correction is called warranted.
    names : (str, str)
        Names of the gauges, for table, statement and picture.
    with_icc : bool
        Whether to compute the intraclass correlation, which takes longest.
    confidence : float
        Of the intervals, between 0 and 1.
    unit : str
        Unit of the readings.

    Returns
    -------
    AgreementStudy
        Limits of agreement, both regressions, intraclass correlation, and whether a correction is
        warranted.

    Raises
    ------
    CannotJudge
        Fewer than three parts, differences that are all the same, or readings without relation.
    ValueError
        Readings of different number, or an argument outside its range.

    See Also
    --------
    passing_bablok : The line through pairwise slopes alone.
    grr_anova : Where the ratio of the error variances comes from.

    Notes
    -----
    Model: differences independent and normal with one spread. Limits of agreement

    .. math:: \bar d \pm z_{0.975}\, s_d

    with exact intervals by the noncentral t; Deming regression with jackknife intervals. Misleads
    where the difference grows with size (`proportional_p`), and does not show which gauge is at fault.

    References
    ----------
    Bland & Altman, *Lancet* 327 (1986), 307-310. Carkeet, *Optometry and Vision Science* 92 (2015),
    e71-e80. Linnet, *Clinical Chemistry* 39 (1993), 424-432.

    Examples
    --------
    >>> found = method_comparison([1.0, 2.1, 2.9, 4.2], [1.1, 2.0, 3.0, 4.0], names=("camera", "CMM"))
    >>> found.shown().iloc[[0, 4]]
              quantity                 value
    0  mean difference  0.03 (-0.21 to 0.26)
    4     Deming slope   1.08 (0.78 to 1.36)
    """
    a = data_arguments.readings(first, name="first", least=3, what="pair")
    b = data_arguments.readings(second, name="second", least=3, what="pair")
    arguments.same_length(first=a, second=b)
    if error_ratio is not None:
        arguments.number("error_ratio", error_ratio, above=0)
    data_arguments.width("tolerance", tolerance)
    data_arguments.width("step", step)
    arguments.limits(lower, upper, needed=False)
    arguments.share("confidence", confidence)
    # Sums, and so all numbers, then do not depend on the order of the rows.
    order = np.lexsort((b, a))
    a, b = a[order], b[order]
    mean, sd = mean_and_sd(a - b)
    if a.size * sd**2 <= rounding_noise(np.concatenate([a, b])):
        raise CannotJudge(
            f"The difference is the same on all {a.size} parts; resolution hides its spread."
        )
    if np.ptp(b) == 0 or np.ptp(a) == 0:
        raise CannotJudge(f"One gauge reads all {a.size} parts the same.")
    n = a.size
    from scipy.special import stdtrit

    half = float(stdtrit(n - 1, (1 + confidence) / 2)) * sd / math.sqrt(n)
    band = _limits(mean, sd, n, confidence)
    line, correction, p = lines_of(
        a, b, error_ratio, confidence, {"lower": lower, "upper": upper}, step, names, unit
    )
    cautions = []
    if n < 30:
        cautions.append(f"{n} parts leave the limits of agreement uncertain.")
    if error_ratio is None:
        cautions.append(
            f"How the errors of {names[0]} and {names[1]} compare is not known; the line and the correction hold "
            "for errors up to five times as large on either side. Crossed studies of both would narrow them."
        )
    if p < 0.05:
        cautions.append(
            f"The difference changes with size ({p_text(p)}); one correction for all sizes misleads."
        )
    robust, linearity_p = _robust(a, b, confidence)
    if linearity_p is not None:
        # Errors that are not as Passing and Bablok take them tilt their line, which is no bend. About Deming's line alone
        # the cusum calls 6 to 8 % of straight lines bent.
        linearity_p = max(linearity_p, bent_beyond_errors(a, b, error_ratio))
    if not isinstance(robust, Absent) and (error_ratio is None or not 0.25 <= error_ratio <= 4):
        cautions.append(
            f"Passing and Bablok's line takes the errors of {names[0]} and {names[1]} as equally large, which they are not "
            "known to be; where they are not its slope is off, and Deming's line counts."
        )
    cautions += _odd_pairs(a, b, p, names, unit)
    if linearity_p is not None and linearity_p < _BENT:
        cautions.append(f"One straight line will not do for all sizes ({p_text(linearity_p)}).")
    return AgreementStudy(
        n=int(n),
        first=names[0],
        second=names[1],
        mean_difference=Interval(float(mean), mean - half, mean + half, confidence, "t"),
        sd_difference=float(sd),
        lower_limit=band[0],
        upper_limit=band[1],
        deming=line,
        error_ratio=None if error_ratio is None else float(error_ratio),
        proportional_p=p,
        icc=_icc(a, b, confidence) if with_icc else Absent("not asked for"),
        passing_bablok=robust,
        linearity_p=linearity_p,
        correction=correction,
        tolerance=tolerance,
        unit=unit,
        cautions=tuple(cautions),
        pairs=np.column_stack([a, b]),
    )


def _odd_pairs(
    a: NDArray[np.float64], b: NDArray[np.float64], p: float, names: tuple[str, str], unit: str
) -> list[str]:
    """Report a pair that lies far off the others (Grubbs), and readings that do not correlate."""
    differences = a - b
    if p < 0.05:
        # A difference that follows the size is no outlier.
        slope, start = np.polyfit((a + b) / 2, differences, 1)
        differences = differences - start - slope * (a + b) / 2
    spread = float(differences.std(ddof=1))
    if not spread > 0:
        return []
    notes = []
    far = (differences - differences.mean()) / spread
    stray, at = grubbs_p(far), int(np.abs(far).argmax())
    from scipy.stats import pearsonr, shapiro

    shape = 1.0
    if far.size > 10 and stray < _SELDOM:
        # Where the others are no normal sample either, it is no single pair.
        shape = float(shapiro(np.delete(differences, at)).pvalue)
    if shape < _SELDOM:
        notes.append(
            f"The differences are not normal ({p_text(shape)}): limits of agreement, which take them as normal, need not hold 95 % of them. "
            f"Farthest apart are {names[0]} at {show_in(a[at], unit)} and {names[1]} at {show_in(b[at], unit)}."
        )
    elif stray < _SELDOM:
        notes.append(
            f"On one part {names[0]} reads {show_in(a[at], unit)} and {names[1]} {show_in(b[at], unit)}, much farther apart than on the "
            f"others ({p_text(stray)}): look how it was measured; the limits of agreement hold it."
        )
    related = pearsonr(a, b, alternative="greater")
    if related.pvalue > 0.05:
        notes.append(
            f"The readings of {names[0]} and {names[1]} are not seen to go together (correlation {related.statistic:.2f}): the parts hardly "
            "differ, or pairs do not belong together."
        )
    return notes


def _limits(mean: float, sd: float, n: int, confidence: float) -> tuple[Interval, Interval]:
    """Compute the limits that hold 95 % of differences, each with its exact interval (noncentral t)."""
    from scipy.special import ndtri
    from scipy.stats import nct

    z = float(ndtri(0.975))
    root = math.sqrt(n)
    tails = [(1 - confidence) / 2, (1 + confidence) / 2]
    near, far = (float(k) / root for k in np.asarray(nct.ppf(tails, n - 1, z * root)))
    upper = Interval(mean + z * sd, mean + near * sd, mean + far * sd, confidence, "noncentral t")
    lower = Interval(mean - z * sd, mean - far * sd, mean - near * sd, confidence, "noncentral t")
    return lower, upper


def _robust(
    a: NDArray[np.float64], b: NDArray[np.float64], confidence: float
) -> tuple[dict[str, Interval] | Absent, float | None]:
    try:
        return passing_bablok(a, b, confidence=confidence)
    except CannotJudge as why:
        return Absent(why.reason.rstrip(".")), None


def _icc(a: NDArray[np.float64], b: NDArray[np.float64], confidence: float) -> Interval | Absent:
    """Compute the intraclass correlation by pingouin, two-way random, absolute agreement, single readings."""
    if confidence != 0.95:
        return Absent("pingouin gives this interval at 95 % only")
    import warnings

    import pandas as pd

    n = a.size
    # A common zero and unit change nothing and keep the digits.
    values = np.concatenate([a, b])
    values = (values - values.mean()) / values.std()
    long = pd.DataFrame(
        {
            "part": np.tile(np.arange(n), 2),
            "gauge": np.repeat(["first", "second"], n),
            "value": values,
        }
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import pingouin

        with _unrounded(pingouin.options):
            table = pingouin.intraclass_corr(long, targets="part", raters="gauge", ratings="value")
    row = table[table["Type"].isin(["ICC2", "ICC(A,1)"])].iloc[0]
    interval = row[next(name for name in table.columns if "CI95" in name)]
    low, high = (float(end) for end in interval)
    value = float(row["ICC"])
    if not all(math.isfinite(x) for x in (value, low, high)):
        return Absent("the parts differ too little")
    return Interval(value, min(low, value), max(high, value), confidence, "F (pingouin)")


@contextmanager
def _unrounded(options: dict[str, Any]) -> Iterator[None]:
    """Set pingouin's options without the rounding it starts with (interval ends to two decimals)."""
    before = dict(options)
    for key in before:
        if key.startswith("round."):
            del options[key]
    options["round"] = None
    try:
        yield
    finally:
        options.clear()
        options.update(before)
