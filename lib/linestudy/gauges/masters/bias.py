"""Bias on masters: how far the mean reading lies from what the master is known to be.

Model: readings of a master are independent and normal about master + bias. The t-test asks
whether the bias is zero; it says nothing of whether it matters, so the interval is shown
against the tolerance. With several masters the pooled test assumes one bias for all sizes;
where linearity finds a slope, read that instead. Misleads when readings were taken in one
sitting (drift between days is not in their spread) and with very many readings, where every
bias is "significant". Source: AIAG MSA, 4th ed. (2010), ch. III, section B.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.numerics.normal_constants import d2_star, range_df
from linestudy.numerics.samples import mean_and_sd
from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    arguments,
    counted,
    data_arguments,
    show_in,
)
from linestudy.results.declared import Declaration
from linestudy.results.rounding import as_given, p_text, with_unit
from linestudy.results.tables import Rows
from linestudy.running.deprecation import old_keywords, renamed

#: Level at which masters are said to disagree; how much wider an interval is where it is said what it takes for granted.
_SELDOM, _MATTERS = 0.01, 1.1
#: How the standard deviation of readings is estimated.
SdMethod = Literal["sd", "range"]


@dataclass(frozen=True, slots=True)
class MasterBias:
    """Bias on one master.

    Attributes
    ----------
    reference : float
        [unit of the readings] Known value of the master.
    n : int
        Readings of it.
    bias : Interval or Absent
        [unit of the readings] Mean reading less reference. Formula: mean error, with Student's t.
    p : float or None
        Of the test that the bias is zero; None where its readings never differed, or there is one.
    mean : float
        [unit of the readings] Mean error, also where no interval can be given.
    sd : float or None
        [unit of the readings] Standard deviation of its readings; None for one reading.
    uncertainty : float
        [unit of the readings] Standard uncertainty of the master's value that the interval holds.
    """

    reference: float
    n: int
    bias: Interval | Absent
    p: float | None
    mean: float
    sd: float | None
    uncertainty: float = 0.0


@dataclass(frozen=True)
class BiasStudy(Finding):
    """Bias over all masters, and on each.

    Attributes
    ----------
    n : int
        Readings.
    mean_bias : Interval
        [unit of the readings] Mean reading less reference, over all masters. Formula: mean error ± t·s/√n.
    sd : float
        [unit of the readings] Standard deviation of the errors. Formula: s, or range / d2*.
    t : float
        Of the test that the bias is zero. Formula: mean error / (s/√n).
    df : float
        Degrees of freedom of that test.
    p : float
        Two-sided p of that test.
    masters : tuple of MasterBias
        Each master, small ones first.
    tolerance : float or None
        [unit of the readings] Width the bias is held against.
    unit : str
        Unit of the readings.
    """

    n: int
    mean_bias: Interval
    sd: float
    t: float
    df: float
    p: float
    masters: tuple[MasterBias, ...]
    tolerance: float | None
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Bias on masters"
    picture: ClassVar[str] = "gauges:bias_by_master"

    @property
    def statement(self) -> str:
        share = ""
        if self.tolerance:
            share = f", {abs(self.mean_bias.estimate) / self.tolerance:.1%} of tolerance"
        number = len(self.masters)
        masters = "one master" if number == 1 else f"{number} masters"
        return (
            f"Bias {show_in(self.mean_bias, self.unit)}{share} ({self.n} readings of {masters}; "
            f"{'significant' if self.p < 0.05 else 'not significant'}, {p_text(self.p)})."
        )

    def _rows(self) -> Rows:
        return [
            {
                with_unit("master", self.unit): m.reference,
                "readings": m.n,
                with_unit("bias", self.unit): m.bias,
                "p": m.p,
            }
            for m in self.masters
        ]


BIAS = Declaration(
    "gauges.{gauge}.bias",
    BiasStudy,
    part="characteristic",
    question="measurement",
    order=15,
)


@old_keywords(renamed("spread", "sd_method", since="0.2.0", removal="0.3.0"))
def bias_study(
    readings: ArrayLike,
    reference: ArrayLike,
    *,
    tolerance: float | None = None,
    reference_uncertainty: ArrayLike | None = None,
    reference_correlation: float = 0.0,
    sd_method: SdMethod = "sd",
    step: float | None = None,
    confidence: float = 0.95,
    unit: str = "",
) -> BiasStudy:
    r"""Estimate the bias of a gauge on masters of known value, and test that it is zero.

    Parameters
    ----------
    readings : array_like of float, shape (n,)
        Readings of the masters, in `unit`.
    reference : float or array_like of float, shape (n,)
        Known value of the master behind each reading, in `unit`.
    tolerance : float, optional
        Width of the tolerance in `unit`; only the statement uses it.
    reference_uncertainty : array_like of float, shape (n,), or float, optional
        Standard uncertainty of each reference value in `unit`, the same for all readings of a master.
    reference_correlation : float
        Between these uncertainties of two masters, 0 to 1: 1 where one calibration moved all alike, which is the most that masters of
        one certificate can share.
    sd_method : {"sd", "range"}
        Standard deviation from the sample, or from the range over d2* as hand calculations have it
        (one master only).
    step : float, optional
        Step of the readings, in `unit`: where repeated readings of a master never differ, their mean lies within half
        a step of them, which then bounds the bias.
    confidence : float
        Of the intervals, between 0 and 1.
    unit : str
        Unit of the readings, for table, statement and picture.

    Returns
    -------
    BiasStudy
        Bias over all masters and on each, with intervals.

    Raises
    ------
    CannotJudge
        Fewer than two readings, or errors that never differ where no step is given.
    ValueError
        An argument outside its range, or a range asked for over several masters.

    See Also
    --------
    linearity_study : Whether the bias changes with size.
    bias_overview : Biases of several gauges side by side.

    Notes
    -----
    Model: errors are independent and normal with one mean. With :math:`\bar e` their mean and s their
    standard deviation,

    .. math:: \bar e \pm t_{\nu, (1 + \gamma)/2}\, s / \sqrt{n}

    where :math:`\nu` is n - 1, with the range that of Patnaik's approximation. The uncertainty of a
    master's value does not shrink with more readings: its variance is added to that of the mean, and the degrees
    of freedom are Satterthwaite's. Misleads where readings were taken in one sitting, and where the
    bias differs between masters.

    References
    ----------
    AIAG MSA, 4th ed. (2010), ch. III, section B. Patnaik, *Biometrika* 37 (1950), 78-87. JCGM 100:2008,
    annex G.4 (degrees of freedom of a sum). Welch, *Biometrika* 38 (1951), 330-336 (whether masters agree).

    Examples
    --------
    >>> bias_study([5.9, 6.1, 6.0, 6.2], 6.0, tolerance=2.0, unit="mm")
    Bias on masters
    Bias 0.05 (-0.16 to 0.26) mm, 2.5 % of tolerance (4 readings of one master; not
    significant, p = 0.50).
    <BLANKLINE>
      master (mm)  readings  bias (mm)             p
      6.000        4         0.05 (-0.16 to 0.26)  0.50
    Note: 4 readings are few for a test of bias.
    """
    arguments.one_of("sd_method", sd_method, ("sd", "range"))
    arguments.share("confidence", confidence)
    arguments.number("reference_correlation", reference_correlation, least=0, most=1)
    data_arguments.width("tolerance", tolerance)
    data_arguments.width("step", step)
    values = data_arguments.readings(readings, least=2)
    known = data_arguments.for_each(reference, values.size, name="reference")
    if sd_method == "range" and np.unique(known).size > 1:
        raise ValueError(
            f"sd_method = 'range' takes one master, and reference holds {np.unique(known).size}; "
            "give one master at a time, or sd_method = 'sd'."
        )
    errors = values - known
    mean, sd, df = _mean_sd_df(errors, sd_method, values)
    hidden = 0.0 if step is None else step / 2
    if sd <= rounding_of(values) and not hidden:
        raise CannotJudge(
            f"The errors of all {values.size} readings of the masters are the same; resolution hides their spread."
        )
    doubt = 0.0 if reference_uncertainty is None else reference_uncertainty
    doubts = data_arguments.for_each(doubt, values.size, name="reference_uncertainty")
    if doubts.min() < 0:
        raise ValueError(
            f"reference_uncertainty = {doubts.min():g} cannot be used; it must be at least 0."
        )
    sizes = np.unique(known)
    own = {float(size): float(doubts[known == size].max()) for size in sizes}
    # The same for all readings of a master; the mean holds what is independent less, what masters share in full (JCGM 100, 5.2.2).
    pulls = np.array([np.count_nonzero(known == size) / errors.size * u for size, u in own.items()])
    alone, common = float(pulls @ pulls), float(pulls.sum()) ** 2
    shared = alone + reference_correlation * (common - alone)
    if sd <= rounding_of(values):
        # Half a step either way is the widest that the mean can lie off; what lies beyond it is no chance.
        sd, t = 0.0, 0.0
        p = 1.0 if abs(mean) <= hidden else 0.0
        interval = within_step(mean, hidden, shared**0.5, confidence)
    else:
        t, p, interval = t_test(mean, sd, errors.size, df, confidence, shared**0.5)
    masters = tuple(
        _master(size, errors[known == size], u, confidence, hidden) for size, u in own.items()
    )
    cautions = []
    if errors.size < 10:
        cautions.append(f"{errors.size} readings are few for a test of bias.")
    once = sum(item.n == 1 for item in masters)
    if once == len(masters) > 1:
        cautions.append(
            "Each master was read once: the interval rests on how the masters' errors differ, and holds what the bias changes from one master "
            "to the next as if it were chance. Read each master several times."
        )
    elif once:
        cautions.append(
            f"{counted(once, 'master')} of {len(masters)} {'was' if once == 1 else 'were'} read once only, which gives no interval of its own."
        )
    if any(item.p is None and item.n > 1 for item in masters):
        cautions.append(
            "On some masters the readings never differed; resolution hides their spread."
        )
    cautions += _disagreeing(masters, unit)
    by_chance = sd**2 / errors.size
    if not reference_correlation and common + by_chance > _MATTERS**2 * (alone + by_chance):
        wider = ((common + by_chance) / (alone + by_chance)) ** 0.5
        cautions.append(
            f"The masters' uncertainties are taken as independent of one another. Calibrated together they are not, and the interval of the mean "
            f"bias would be up to {wider:.1f} times as wide; name their certificate if it is one."
        )
    return BiasStudy(errors.size, interval, sd, t, df, p, masters, tolerance, unit, tuple(cautions))


def _disagreeing(masters: tuple[MasterBias, ...], unit: str) -> list[str]:
    """Say where the masters disagree about the bias, by more than readings and certificates let expect."""
    known = tuple(m for m in masters if m.n > 2 and m.sd)
    if len(known) < 2:
        return []
    # With few readings of each of many masters Welch's test alarms too often; one variance for all is then tested as well.
    p = max(_welch(known)[1], _one_variance(known))
    if p >= _SELDOM:
        return []
    low, high = (choose(known, key=lambda m: m.mean) for choose in (min, max))
    beyond = " and certificates" if any(m.uncertainty for m in known) else ""
    return [
        f"The bias is not the same on all masters ({p_text(p)}): {show_in(low.mean, unit)} on {as_given(low.reference)}, {show_in(high.mean, unit)} on "
        f"{as_given(high.reference)}, more than readings{beyond} let expect. One mean hides that; look at linearity, and at the value of a master that is off."
    ]


def _one_variance(masters: tuple[MasterBias, ...]) -> float:
    """Compute p that all masters have one bias, with one variance of readings for all of them."""
    from scipy.special import fdtrc

    n = np.array([float(m.n) for m in masters])
    free = float((n - 1).sum())
    repeat = float(((n - 1) * np.array([(m.sd or 0.0) ** 2 for m in masters])).sum()) / free
    variance = repeat / n + np.array([m.uncertainty**2 for m in masters])
    weight = 1 / variance
    mean = np.array([m.mean for m in masters])
    middle = float(weight @ mean / weight.sum())
    # Where certificates make up most of a variance, it is known that much better.
    df = free * float((variance / (repeat / n)).mean()) ** 2
    f = float(weight @ (mean - middle) ** 2) / (n.size - 1)
    return float(fdtrc(n.size - 1.0, df, f))


def _welch(masters: tuple[MasterBias, ...]) -> tuple[float, float]:
    """Compute F and p of Welch's test of equal means; the variance of a master's value stands beside that of its mean."""
    from scipy.special import fdtrc

    own = np.array([(m.sd or 0.0) ** 2 / m.n for m in masters])
    weight = 1 / (own + np.array([m.uncertainty**2 for m in masters]))
    # Where certificates make up most of a variance, it is known that much better.
    df = np.array([m.n - 1.0 for m in masters]) / (own * weight) ** 2
    mean = np.array([m.mean for m in masters])
    middle = float(weight @ mean / weight.sum())
    groups = len(masters)
    wobble = float(((1 - weight / weight.sum()) ** 2 / df).sum())
    f = float(weight @ (mean - middle) ** 2) / (groups - 1)
    f /= 1 + 2 * (groups - 2) / (groups**2 - 1) * wobble
    return f, float(fdtrc(groups - 1, (groups**2 - 1) / (3 * wobble), f))


def rounding_of(values: NDArray[np.float64]) -> float:
    """Return the spread that numbers of this size show by how they are stored.

    Parameters
    ----------
    values : numpy.ndarray of float

    Returns
    -------
    float
    """
    return 8 * float(np.finfo(float).eps) * float(np.abs(values).max())


def within_step(mean: float, half: float, uncertainty: float, confidence: float) -> Interval:
    """Bound a bias by the step of readings that never differ.

    Parameters
    ----------
    mean, half : float
        Mean error, and half a step.
    uncertainty : float
        Standard uncertainty of what errors are counted from.
    confidence : float
        Of the part of that uncertainty.

    Returns
    -------
    Interval
    """
    from scipy.special import ndtri

    reach = half + float(ndtri((1 + confidence) / 2)) * uncertainty
    return Interval(mean, mean - reach, mean + reach, confidence, "half a step either way")


def _mean_sd_df(
    errors: NDArray[np.float64], sd_method: str, values: NDArray[np.float64]
) -> tuple[float, float, float]:
    mean, sd = mean_and_sd(errors)
    if sd_method == "sd":
        return mean, sd, float(errors.size - 1)
    n = errors.size
    return mean, float(np.ptp(values)) / d2_star(n), range_df(n)


def t_test(
    mean: float, sd: float, n: int, df: float, confidence: float, uncertainty: float = 0.0
) -> tuple[float, float, Interval]:
    """Test that a mean error is zero, and give its interval.

    Parameters
    ----------
    mean, sd : float
        Of the errors, in their unit.
    n : int
        Errors behind the mean.
    df : float
        Degrees of freedom of the standard deviation.
    confidence : float
        Of the interval.
    uncertainty : float
        Standard uncertainty of what the errors are counted from.

    Returns
    -------
    t, p : float
        Student's t and its two-sided p.
    interval : Interval
        Of the mean error.
    """
    from scipy.special import stdtr, stdtrit

    variance = sd**2 / n
    error = np.sqrt(variance + uncertainty**2)
    if uncertainty > 0:
        # The certificate's part counts as known (JCGM 100, G.4).
        df *= ((variance + uncertainty**2) / variance) ** 2
    t = float(mean / error)
    p = float(2 * stdtr(df, -abs(t)))
    half = float(stdtrit(df, (1 + confidence) / 2) * error)
    return t, p, Interval(float(mean), mean - half, mean + half, confidence, "t")


def _master(
    size: float, errors: NDArray[np.float64], uncertainty: float, confidence: float, hidden: float
) -> MasterBias:
    mean, sd = mean_and_sd(errors)
    n = int(errors.size)
    same = sd <= rounding_of(errors + size)
    if n > 1 and same and hidden:
        reach = within_step(float(mean), hidden, uncertainty, confidence)
        return MasterBias(size, n, reach, None, float(mean), 0.0, uncertainty)
    if n < 2 or same:
        reason = "one reading" if n < 2 else "readings that never differ"
        return MasterBias(
            size, n, Absent(reason), None, float(mean), None if n < 2 else 0.0, uncertainty
        )
    _, p, interval = t_test(mean, sd, n, n - 1, confidence, uncertainty)
    return MasterBias(size, n, interval, p, float(mean), sd, uncertainty)
