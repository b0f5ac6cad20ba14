"""Conformity risk: good parts rejected and bad parts accepted by one gauge.

Model (JCGM 106:2012, ch. 9): the part's true value has the density of the process; the reading is the true
value plus the gauge's bias plus a normal error. A part is accepted when its reading lies within the limits
drawn in by a guard band. Then::

    accepted bad  = integral over true values outside the limits of  density x P(accepted)
    rejected good = integral over true values inside  the limits of  density x P(rejected)

both per part produced. What was recorded is true value plus error, so the density of true values comes
from that of the readings with the gauge's variance taken out: quantiles are drawn towards the mean by
the square root of what variance remains, exact for a normal process and an approximation that keeps the
shape for others.

When it misleads: the error is not the same over the range; the process wanders (the risk is then that of
the mixture seen in these data, not of the next hour); the far tail of the family is a guess where no
part has been seen; a gauge error as large as the process leaves nothing to take out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from linestudy.gauges.budget.verdict_shares import (
    Density,
    TrueValues,
    global_risks,
    nonconforming_share,
)
from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    arguments,
    show_in,
    show_ppm,
)
from linestudy.results.declared import Declaration
from linestudy.results.rounding import as_given
from linestudy.results.tables import Quantity, Rows
from linestudy.running.deprecation import old_keywords, renamed

#: Guard bands looked at, in standard deviations of the gauge.
_STEPS = np.linspace(0.0, 4.0, 41)


@dataclass(frozen=True, slots=True)
class RiskAtGuardBand:
    """Risks with one guard band.

    Attributes
    ----------
    guard_band : float
        [unit of the readings] Taken from each limit.
    false_accept : float
        Bad parts accepted over all parts.
    false_reject : float
        Good parts rejected over all parts.
    """

    guard_band: float
    false_accept: float
    false_reject: float


@dataclass(frozen=True, slots=True)
class ObservedRejects:
    """Rejects that were counted, to be shown beside the computed share.

    Attributes
    ----------
    p_rejected : Interval
        Rejected parts over all parts.
    by : str
        Where it was counted.
    """

    p_rejected: Interval
    by: str


@dataclass(frozen=True)
class ConformityRisk(Finding):
    """Global risks of a gauge on a process, per part produced, without and with a guard band.

    Attributes
    ----------
    gauge_sd : Interval
        [unit of the readings] Standard deviation of the gauge's error.
    bias : float
        [unit of the readings] Reading less true value, taken into account.
    false_accept : Interval
        Global consumer's risk: bad parts accepted over all parts, limits without a guard band.
    false_reject : Interval
        Global producer's risk: good parts rejected over all parts, limits without a guard band.
    p_nonconforming : Interval
        Truly bad parts over all parts.
    p_rejected : Interval
        Parts the gauge rejects, rightly or wrongly, over all parts.
        Formula: p_nonconforming - false_accept + false_reject.
    risk_target : float
        Rate of accepted bad parts that the guard band is to reach.
    guard_band : Interval or Absent
        [unit of the readings] The smallest that reaches it.
    cost : float or None
        Good parts rejected over all parts with that guard band.
    curve : tuple of RiskAtGuardBand
        Both risks over a range of guard bands.
    unit : str
        Unit of the readings.
    observed : ObservedRejects or None
        Rejects that were counted.
    """

    gauge_sd: Interval
    bias: float
    false_accept: Interval
    false_reject: Interval
    p_nonconforming: Interval
    p_rejected: Interval
    risk_target: float
    guard_band: Interval | Absent
    cost: float | None
    curve: tuple[RiskAtGuardBand, ...]
    unit: str
    cautions: tuple[str, ...]
    observed: ObservedRejects | None = None
    title: ClassVar[str] = "Risk of a wrong verdict"
    picture: ClassVar[str] = "gauge_error:risk_by_guard_band"

    @property
    def statement(self) -> str:
        text = f"Consumer's risk {per_million(self.false_accept)} ppm, producer's risk {per_million(self.false_reject)} ppm. "
        if isinstance(self.guard_band, Absent):
            return text + f"No guard band is named: {self.guard_band.reason}."
        if self.guard_band.estimate == 0:
            return text + (
                f"No guard band is needed for a consumer's risk below {1e6 * self.risk_target:g} ppm."
            )
        return text + (
            f"A guard band at each limit of {show_in(self.guard_band, self.unit)} brings the consumer's risk to "
            f"{1e6 * self.risk_target:g} ppm, at a producer's risk of {1e6 * (self.cost or 0.0):,.0f} ppm."
        )

    def _rows(self) -> Rows:
        rows = [
            Quantity("truly bad", self.p_nonconforming.times(1e6), "ppm"),
            Quantity("rejected, rightly or wrongly", self.p_rejected.times(1e6), "ppm"),
            Quantity("bad parts accepted", self.false_accept.times(1e6), "ppm"),
            Quantity("good parts rejected", self.false_reject.times(1e6), "ppm"),
            Quantity("guard band", self.guard_band, self.unit),
        ]
        if self.observed is not None:
            seen = self.observed
            rows.insert(2, Quantity(f"rejected, {seen.by}", seen.p_rejected.times(1e6), "ppm"))
        return rows


CONFORMITY_RISK = Declaration(
    "gauges.{gauge}.conformity_risk", ConformityRisk, "Risk of wrong verdicts"
)


def per_million(share: Interval) -> str:
    """Write a share with its interval per million, as sentences show it.

    Parameters
    ----------
    share : Interval
        Of one.

    Returns
    -------
    str
        Parts per million.

    Examples
    --------
    >>> per_million(Interval(2e-5, 1e-5, 4e-5, 0.95, "exact"))
    '20 (10 to 40)'
    """
    return show_ppm(share.times(1e6))


@old_keywords(
    renamed("wanted", "risk_target", since="0.2.0", removal="0.3.0"),
    renamed("draws", "truths", since="0.3.0", removal="0.4.0"),
)
def conformity_risk(
    measured_density: Density,
    mean: float,
    sd: float,
    gauge_sd: Interval,
    lower: float | None,
    upper: float | None,
    *,
    bias: float = 0.0,
    risk_target: float = 1e-5,
    truths: Sequence[tuple[Density, float, float, float]] = (),
    observed: ObservedRejects | None = None,
    cautions: tuple[str, ...] = (),
    confidence: float = 0.95,
    unit: str = "",
) -> ConformityRisk:
    r"""Compute the risks of wrong verdicts of a gauge on a process, and the guard band that lowers them.

    Parameters
    ----------
    measured_density : callable
        Density of the readings, array in, array out, per `unit`.
    mean, sd : float
        Of that density, in `unit`.
    gauge_sd : Interval
        Standard deviation of the gauge's error, in `unit`.
    lower, upper : float or None
        Tolerance limits, in `unit`.
    bias : float
        Reading less true value, on average, in `unit`; 0 where it was corrected or not seen.
    risk_target : float
        Rate of accepted bad parts that the guard band should reach, between 0 and 1.
    truths : sequence of (callable, float, float, float)
        Density, mean, sd and gauge_sd of equally likely truths, for the intervals; without any the
        intervals have no width and a caution says so.
    observed : ObservedRejects, optional
        Rejects that were counted, to stand beside.
    cautions : tuple of str
        Sentences to be taken over.
    confidence : float
        Of the intervals, between 0 and 1.
    unit : str
        Unit of the readings, for table, statement and picture.

    Returns
    -------
    ConformityRisk
        Both global risks with intervals, and the guard band.

    Raises
    ------
    CannotJudge
        No limit, or a gauge whose spread is as large as that of the readings.
    ValueError
        An argument outside its range, or limits that are swapped.

    See Also
    --------
    global_risks : The two integrals for any density of true values.
    uncertainty_budget : A guard band from the uncertainty alone, whatever the process.

    Notes
    -----
    Model: the density of true values is that of the readings with the gauge's variance taken out,

    .. math:: f(y) = g\left(\mu + (y + b - \mu)/c\right) / c, \qquad c^2 = 1 - \sigma_g^2 / s^2

    exact for a normal process. Misleads where the process wanders, and where the far tail of the family
    is a guess.

    References
    ----------
    JCGM 106:2012, ch. 9.

    Examples
    --------
    >>> from scipy.stats import norm
    >>> sd = Interval(0.004, 0.003, 0.005, 0.95, "chi-square")
    >>> study = conformity_risk(norm(10, 0.02).pdf, 10, 0.02, sd, 9.94, 10.06, unit="mm")
    >>> study.false_reject.estimate > study.false_accept.estimate
    True
    """
    if not isinstance(gauge_sd, Interval):
        raise TypeError(f"gauge_sd must be an Interval, not {type(gauge_sd).__name__}.")
    arguments.number("sd", sd, above=0)
    arguments.share("risk_target", risk_target)
    arguments.share("confidence", confidence)
    arguments.limits(lower, upper, needed=False)
    size = gauge_sd.estimate
    if size <= 0:
        raise CannotJudge(
            "The gauge shows no spread, so no verdict near a limit can be called wrong."
        )
    best = _at(measured_density, mean, sd, size, lower, upper, bias, risk_target)
    sample: dict[str, list[float]] = {name: [] for name in best}
    lost = 0
    for density, its_mean, its_sd, its_gauge in truths:
        try:
            row = _at(density, its_mean, its_sd, its_gauge, lower, upper, bias, risk_target)
        except CannotJudge:
            lost += 1
            continue
        for name, number in row.items():
            sample[name].append(number)
    notes = list(cautions)
    if truths and lost > 0.2 * len(truths):
        notes.append(
            f"In {lost / len(truths):.0%} of the truths that fit these data the gauge would leave nothing of "
            "the process; the intervals hold only the others."
        )
    if not sample["p_nonconforming"]:
        notes.append("The intervals do not hold the uncertainty of process and gauge.")
    intervals = {name: _interval(number, sample[name], confidence) for name, number in best.items()}
    true = TrueValues(measured_density, mean, sd, size, bias)
    bands = _STEPS * size
    accept, reject = global_risks(
        true, size, lower, upper, guard_band=bands, bias=bias, scale=true.shrink * sd
    )
    band: Interval | Absent = intervals["guard_band"]
    cost = None
    if np.isfinite(best["guard_band"]):
        cost = float(
            global_risks(
                true,
                size,
                lower,
                upper,
                guard_band=best["guard_band"],
                bias=bias,
                scale=true.shrink * sd,
            )[1][0]
        )
    else:
        band = Absent(
            f"no guard band up to {_STEPS[-1]:g} gauge standard deviations brings accepted bad parts "
            f"below {1e6 * risk_target:g} per million"
        )
    if bias:
        notes.append(
            f"The gauge's bias of {f'{as_given(bias, digits=3)} {unit}'.rstrip()} is part of the risk."
        )
    return ConformityRisk(
        gauge_sd=gauge_sd,
        bias=bias,
        false_accept=intervals["false_accept"],
        false_reject=intervals["false_reject"],
        p_nonconforming=intervals["p_nonconforming"],
        p_rejected=intervals["p_rejected"],
        risk_target=risk_target,
        guard_band=band,
        cost=cost,
        curve=tuple(
            RiskAtGuardBand(float(b), float(a), float(r))
            for b, a, r in zip(bands, accept, reject, strict=True)
        ),
        unit=unit,
        cautions=tuple(notes),
        observed=observed,
    )


def _at(
    process: Density,
    mean: float,
    sd: float,
    gauge_sd: float,
    lower: float | None,
    upper: float | None,
    bias: float,
    risk_target: float,
) -> dict[str, float]:
    true = TrueValues(process, mean, sd, gauge_sd, bias)
    accept, reject = global_risks(true, gauge_sd, lower, upper, bias=bias, scale=true.shrink * sd)
    false_accept, false_reject = float(accept[0]), float(reject[0])
    bad = nonconforming_share(true, lower, upper, true.shrink * sd)
    return {
        "false_accept": false_accept,
        "false_reject": false_reject,
        "p_nonconforming": bad,
        "p_rejected": bad - false_accept + false_reject,
        "guard_band": _smallest_band(
            true, gauge_sd, lower, upper, bias, risk_target, false_accept, true.shrink * sd
        ),
    }


def _smallest_band(
    true: Density,
    gauge_sd: float,
    lower: float | None,
    upper: float | None,
    bias: float,
    risk_target: float,
    without: float,
    scale: float,
) -> float:
    if without <= risk_target:
        return 0.0
    bands = _STEPS[::2] * gauge_sd
    rates = global_risks(true, gauge_sd, lower, upper, guard_band=bands, bias=bias, scale=scale)[0]
    below = np.flatnonzero(rates <= risk_target)
    if below.size == 0:
        return float("inf")
    at = int(below[0])
    if at == 0:
        return 0.0
    from scipy.optimize import brentq

    def over(band: float) -> float:
        # Rates fall like a normal tail, so their logarithm is nearly straight. The widest band keeps the nodes of
        # the rates above: where a density has a part much narrower than its whole, other nodes give other rates.
        both = np.array([band, bands[-1]])
        rate = global_risks(true, gauge_sd, lower, upper, guard_band=both, bias=bias, scale=scale)[
            0
        ][0]
        return float(np.log(max(rate, 1e-300) / risk_target))

    return float(brentq(over, bands[at - 1], bands[at], xtol=1e-12 * gauge_sd))


def _interval(value: float, sample: list[float], confidence: float) -> Interval:
    if not sample:
        return Interval(value, value, value, confidence, "process and gauge taken as known")
    # Both ends are order statistics with as many draws beyond them, so that a further draw lies within by the confidence; guard bands
    # may be infinite, so nothing is interpolated.
    ordered = sorted(sample)
    beyond = max(math.floor((len(ordered) + 1) * (1 - confidence) / 2 + 1e-9), 1)
    low, high = ordered[beyond - 1], ordered[-beyond]
    return Interval(
        value,
        float(min(low, value)),
        float(max(high, value)),
        confidence,
        "draws of process and gauge",
    )
