"""Risk of a wrong verdict: good parts rejected and bad parts accepted by one gauge.

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

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.gauges.budget.verdict_shares import Density, TrueValues, outside, wrong_verdicts
from linestudy.results import Absent, CannotJudge, Finding, Interval, show, show_ppm
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture

#: Guard bands looked at, in standard deviations of the gauge.
_STEPS = np.linspace(0.0, 4.0, 41)


@dataclass(frozen=True)
class RiskStudy(Finding):
    """Shares of wrong verdicts, per part produced, without and with a guard band.

    Attributes
    ----------
    gauge_sd : Interval
        Standard deviation of the gauge's error, in the unit of the readings.
    bias : float
        Taken into account, in the unit of the readings.
    false_accept, false_reject : Interval
        Bad parts accepted and good parts rejected over all parts, limits without a guard band.
    bad : Interval
        Truly bad parts over all parts.
    rejected : Interval
        Parts the gauge rejects, rightly or wrongly, over all parts.
    wanted : float
        Rate of accepted bad parts that the guard band is to reach.
    guard_band : Interval or Absent
        The smallest that reaches it, in the unit of the readings.
    cost : float or None
        Good parts rejected over all parts with that guard band.
    curve : tuple of dict
        ``guard_band, false_accept, false_reject`` over a range of guard bands.
    """

    gauge_sd: Interval
    bias: float
    false_accept: Interval
    false_reject: Interval
    bad: Interval
    rejected: Interval
    wanted: float
    guard_band: Interval | Absent
    cost: float | None
    curve: tuple[dict[str, float], ...]
    unit: str
    cautions: tuple[str, ...]
    observed: dict[str, Any] | None = field(default=None)
    title: ClassVar[str] = "Risk of a wrong verdict"

    @property
    def statement(self) -> str:
        text = (
            f"Of a million parts this gauge accepts {per_million(self.false_accept)} bad ones and rejects "
            f"{per_million(self.false_reject)} good ones. "
        )
        if isinstance(self.guard_band, Absent):
            return text + f"No guard band is named: {self.guard_band.reason}."
        if self.guard_band.estimate == 0:
            return text + (
                f"Accepted bad parts are below {1e6 * self.wanted:g} per million without a guard band."
            )
        return text + (
            f"A guard band of {show(self.guard_band)} {self.unit} at each limit brings accepted bad "
            f"parts to {1e6 * self.wanted:g} per million and rejects {1e6 * (self.cost or 0.0):,.0f} good ones."
        ).replace("  ", " ")

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        rows = [
            ("truly bad", per_million(self.bad)),
            ("rejected, rightly or wrongly", per_million(self.rejected)),
            ("bad parts accepted", per_million(self.false_accept)),
            ("good parts rejected", per_million(self.false_reject)),
        ]
        if self.observed:
            share = self.observed["rejected"]
            rows.insert(2, (f"rejected, {self.observed['by']}", per_million(share)))
        return pd.DataFrame(rows, columns=["parts", "per million"])

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.gauge_error import risk_by_guard_band

        return risk_by_guard_band(self.curve, self.wanted, self.guard_band, self.unit, ax=ax)


RISK = Declaration("gauges.{gauge}.risk", RiskStudy, "Risk of wrong verdicts")


def per_million(share: Interval) -> str:
    """A share with its interval per million, as tables and sentences show it.

    Parameters
    ----------
    share : Interval

    Returns
    -------
    str

    Examples
    --------
    >>> per_million(Interval(2e-5, 1e-5, 4e-5, 0.95, "exact"))
    '20 (10 to 40)'
    """
    return show_ppm(share.times(1e6))


def risk(
    process: Density,
    mean: float,
    sd: float,
    gauge_sd: Interval,
    lower: float | None,
    upper: float | None,
    bias: float = 0.0,
    wanted: float = 1e-5,
    draws: Sequence[tuple[Density, float, float, float]] = (),
    confidence: float = 0.95,
    unit: str = "",
    observed: dict[str, Any] | None = None,
    cautions: tuple[str, ...] = (),
) -> RiskStudy:
    """Risk of wrong verdicts of a gauge on a process.

    Parameters
    ----------
    process : callable
        Density of the readings, array in, array out, per unit.
    mean, sd : float
        Of that density.
    gauge_sd : Interval
        Standard deviation of the gauge's error.
    lower, upper : float or None
    bias : float
        Reading less true value, on average; 0 where it was corrected or not seen.
    wanted : float
        Rate of accepted bad parts that the guard band should reach.
    draws : sequence of (density, mean, sd, gauge_sd)
        Equally likely truths, for the intervals; without any the intervals have no width
        and a caution says so.
    confidence : float
    unit : str
    observed : dict, optional
        ``rejected`` (Interval, share) and ``by`` (where it was counted), to stand beside.
    cautions : tuple of str

    Returns
    -------
    RiskStudy

    Raises
    ------
    CannotJudge
        No limit, or a gauge whose spread is as large as that of the readings.

    Examples
    --------
    >>> from scipy.stats import norm
    >>> seen = norm(10, 0.02)
    >>> sd = Interval(0.004, 0.003, 0.005, 0.95, "chi-square")
    >>> study = risk(seen.pdf, 10, 0.02, sd, 9.94, 10.06)
    >>> study.false_reject.estimate > study.false_accept.estimate
    True
    """
    size = gauge_sd.estimate
    if size <= 0:
        raise CannotJudge(
            "The gauge shows no spread, so no verdict near a limit can be called wrong."
        )
    best = _at(process, mean, sd, size, lower, upper, bias, wanted)
    sample: dict[str, list[float]] = {name: [] for name in best}
    lost = 0
    for density, its_mean, its_sd, its_gauge in draws:
        try:
            row = _at(density, its_mean, its_sd, its_gauge, lower, upper, bias, wanted)
        except CannotJudge:
            lost += 1
            continue
        for name, number in row.items():
            sample[name].append(number)
    notes = list(cautions)
    if draws and lost > 0.2 * len(draws):
        notes.append(
            f"In {lost / len(draws):.0%} of the truths that fit these data the gauge would leave nothing of "
            "the process; the intervals hold only the others."
        )
    if not sample["bad"]:
        notes.append("The intervals do not hold the uncertainty of process and gauge.")
    intervals = {name: _interval(number, sample[name], confidence) for name, number in best.items()}
    true = TrueValues(process, mean, sd, size, bias)
    bands = _STEPS * size
    accept, reject = wrong_verdicts(true, size, lower, upper, bands, bias, true.shrink * sd)
    band: Interval | Absent = intervals["guard_band"]
    cost = None
    if np.isfinite(best["guard_band"]):
        cost = float(
            wrong_verdicts(true, size, lower, upper, best["guard_band"], bias, true.shrink * sd)[1][
                0
            ]
        )
    else:
        band = Absent(
            f"no guard band up to {_STEPS[-1]:g} gauge standard deviations brings accepted bad parts "
            f"below {1e6 * wanted:g} per million"
        )
    if bias:
        notes.append(
            f"The gauge's bias of {bias:.3g} {unit} is part of the risk.".replace(" .", ".")
        )
    return RiskStudy(
        gauge_sd=gauge_sd,
        bias=bias,
        false_accept=intervals["false_accept"],
        false_reject=intervals["false_reject"],
        bad=intervals["bad"],
        rejected=intervals["rejected"],
        wanted=wanted,
        guard_band=band,
        cost=cost,
        curve=tuple(
            {"guard_band": float(b), "false_accept": float(a), "false_reject": float(r)}
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
    wanted: float,
) -> dict[str, float]:
    true = TrueValues(process, mean, sd, gauge_sd, bias)
    accept, reject = wrong_verdicts(true, gauge_sd, lower, upper, 0.0, bias, true.shrink * sd)
    false_accept, false_reject = float(accept[0]), float(reject[0])
    bad = outside(true, lower, upper, true.shrink * sd)
    return {
        "false_accept": false_accept,
        "false_reject": false_reject,
        "bad": bad,
        "rejected": bad - false_accept + false_reject,
        "guard_band": _smallest_band(
            true, gauge_sd, lower, upper, bias, wanted, false_accept, true.shrink * sd
        ),
    }


def _smallest_band(
    true: Density,
    gauge_sd: float,
    lower: float | None,
    upper: float | None,
    bias: float,
    wanted: float,
    without: float,
    scale: float,
) -> float:
    if without <= wanted:
        return 0.0
    bands = _STEPS[::2] * gauge_sd
    rates = wrong_verdicts(true, gauge_sd, lower, upper, bands, bias, scale)[0]
    below = np.flatnonzero(rates <= wanted)
    if below.size == 0:
        return float("inf")
    at = int(below[0])
    from scipy.optimize import brentq

    def over(band: float) -> float:
        # Rates fall like a normal tail, so their logarithm is nearly straight.
        rate = wrong_verdicts(true, gauge_sd, lower, upper, band, bias, scale)[0][0]
        return float(np.log(max(rate, 1e-300) / wanted))

    return float(brentq(over, bands[at - 1], bands[at], xtol=1e-12 * gauge_sd))


def _interval(value: float, sample: list[float], confidence: float) -> Interval:
    if not sample:
        return Interval(value, value, value, confidence, "process and gauge taken as known")
    tails = ((1 - confidence) / 2, (1 + confidence) / 2)
    low, high = np.quantile(sample, tails, method="inverted_cdf")
    return Interval(
        value,
        float(min(low, value)),
        float(max(high, value)),
        confidence,
        "draws of process and gauge",
    )
