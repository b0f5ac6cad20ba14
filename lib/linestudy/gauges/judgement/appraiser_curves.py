"""Signal detection with each appraiser's own threshold: where each one turns, how sharply, and what the team costs.

Model: each appraiser compares a part, seen with a normal error of their own, with a threshold of their own; a
curve is fitted for each (`acceptance_curve`) and one for all judgements together, whose standard deviation
holds both what an appraiser sees differently from time to time and what appraisers differ by: it is the spread
of the judgement as a measuring system, and six of it are held against the tolerance as those of a gauge.
The appraisers are those who judge; other ones may differ more. Whether thresholds differ is asked by
Cochran's Q (weighted squared distances from their weighted mean) with Student's t widening in each error;
judgements of the same parts by several appraisers are alike, which makes the test err on the side of no difference.

Sources: AIAG MSA, 4th ed. (2010), ch. III, section C (signal detection); Green & Swets, *Signal Detection
Theory and Psychophysics* (1966), ch. 4; Cochran, *Biometrics* 10 (1954), 101-129.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from linestudy.gauges.judgement.acceptance_curve import (
    PerformanceAtLimit,
    gauge_performance_curve,
)
from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    arguments,
    counted,
    data_arguments,
    p_text,
    show,
    show_in,
)
from linestudy.results.declared import Declaration
from linestudy.results.rounding import with_unit
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class ThresholdsAtLimit:
    """Thresholds of all appraisers at one limit.

    Attributes
    ----------
    appraisers : dict of str to PerformanceAtLimit
        Each one's curve, as far as it can be fitted.
    unjudged : dict of str to str
        Appraiser, and why there is no curve.
    together : PerformanceAtLimit
        Of all judgements: the curve of the team.
    spread : float or None
        [unit of the measured value] Largest threshold less smallest; None with fewer than two.
    p : float or None
        p-value of the test that all thresholds are equal.
    share_of_tolerance : Interval or Absent
        Formula: 6 together.judgement_sd / tolerance.
    """

    appraisers: dict[str, PerformanceAtLimit]
    unjudged: dict[str, str]
    together: PerformanceAtLimit
    spread: float | None
    p: float | None
    share_of_tolerance: Interval | Absent


@dataclass(frozen=True)
class OwnThresholds(Finding):
    """Threshold and sharpness of each appraiser and of the team, per limit.

    Attributes
    ----------
    sides : dict of str to ThresholdsAtLimit
        ``lower`` and ``upper``, as far as judged.
    unit : str
        Unit of the measured value.
    """

    sides: dict[str, ThresholdsAtLimit]
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Thresholds of the appraisers"
    picture: ClassVar[str] = "gauge_error:own_thresholds"

    @property
    def statement(self) -> str:
        parts = []
        for name, side in self.sides.items():
            together = side.together
            text = (
                f"At the {name} limit the team's judgements turn at {show_in(together.threshold, self.unit)} "
                f"with SD {show_in(together.judgement_sd, self.unit)}"
            )
            if isinstance(side.share_of_tolerance, Interval):
                text += f", six of which are {show(side.share_of_tolerance.times(100))} % of the tolerance"
            if side.p is not None and side.spread is not None:
                seen = "differ" if side.p < 0.05 else "are not seen to differ"
                spread = show_in(side.spread, self.unit, together.judgement_sd.estimate / 5)
                text += f"; thresholds of {counted(len(side.appraisers), 'appraiser')} {seen} ({spread} apart, {p_text(side.p)})"
            parts.append(f"{text}.")
        return " ".join(parts)

    def _rows(self) -> Rows:
        rows: list[dict[str, object]] = []
        for name, side in self.sides.items():
            for who, one in [*side.appraisers.items(), ("all together", side.together)]:
                rows.append(
                    {
                        "limit": name,
                        "appraiser": who,
                        with_unit("threshold", self.unit): one.threshold,
                        with_unit("bias at the limit", self.unit): Absent("no limit")
                        if one.bias is None
                        else one.bias,
                        with_unit("judgement SD", self.unit): one.judgement_sd,
                        "judgements": one.judgements,
                    }
                )
        return rows


OWN_THRESHOLDS = Declaration(
    "attribute.thresholds",
    OwnThresholds,
    part="characteristic",
    question="measurement",
    order=33,
    picture=80,
    with_table=True,
)


def own_thresholds(
    data: pd.DataFrame,
    lower: float | None = None,
    upper: float | None = None,
    *,
    confidence: float = 0.95,
    unit: str = "",
) -> OwnThresholds:
    """Fit a curve of acceptance for each appraiser and one for the team.

    Parameters
    ----------
    data : pandas.DataFrame
        One judgement per row: ``part``, ``appraiser``, ``judgement`` (bool, True accepts) and
        ``measured``, the value behind it in `unit`; rows without one are passed over.
    lower, upper : float, optional
        Limits of the measured value, in `unit`. With neither, the side is seen from the data.
    confidence : float
        Of the intervals, between 0 and 1.
    unit : str
        Unit of the measured value.

    Returns
    -------
    OwnThresholds
        By limit: each appraiser's threshold and standard deviation, the team's, and whether thresholds differ.

    Raises
    ------
    CannotJudge
        One appraiser, or judgements of which none overlap.
    ValueError
        A column that is not there, or limits that are swapped.

    See Also
    --------
    gauge_performance_curve : One curve.
    judgement_agreement : Rates of error where nothing is measured.

    Notes
    -----
    Each appraiser: :math:`P(accept) = \\Phi((T_a - x)/\\sigma_a)` at an upper limit. Intervals allow for
    judgements of one part that are alike. Misleads where appraisers learn within the study, and where parts
    lie too far from the limit: then only the gap between sure acceptance and sure rejection is known.

    References
    ----------
    AIAG MSA, 4th ed. (2010), ch. III, section C. Green & Swets, *Signal Detection Theory and
    Psychophysics* (1966). Cochran, *Biometrics* 10 (1954), 101-129.

    Examples
    --------
    >>> import numpy as np, pandas as pd
    >>> x = np.tile(np.linspace(-1, 1, 40), 4)
    >>> who = np.repeat(["A", "B"], 80)
    >>> noise = np.random.default_rng(1).normal(0, 0.2, 160)
    >>> data = pd.DataFrame({"part": np.tile(np.arange(40), 4), "appraiser": who, "measured": x,
    ...     "judgement": x + noise < np.where(who == "A", -0.2, 0.2)})
    >>> found = own_thresholds(data, upper=0.0)
    >>> found.sides["upper"].p < 0.05
    True
    """
    for column in ("part", "appraiser", "judgement", "measured"):
        data_arguments.column(data, column, "data")
    lower, upper = arguments.limits(lower, upper, needed=False)
    table = data[data["judgement"].notna()]
    people = sorted(set(table["appraiser"].astype(str)))
    if len(people) < 2:
        raise CannotJudge("One appraiser judged, so there are no thresholds to compare.")

    def curve(own: pd.DataFrame) -> tuple[dict[str, PerformanceAtLimit], dict[str, str]]:
        try:
            found = gauge_performance_curve(
                own["measured"].to_numpy(dtype=float),
                own["judgement"].to_numpy(dtype=bool),
                lower,
                upper,
                part=own["part"].astype(str).to_numpy(),
                confidence=confidence,
                unit=unit,
            )
        except CannotJudge as why:
            return {}, dict.fromkeys(("lower", "upper"), why.reason)
        return found.sides, found.unjudged

    whole, why_not = curve(table)
    if not whole:
        raise CannotJudge(why_not["upper"])
    each = {who: curve(table[table["appraiser"].astype(str) == who]) for who in people}
    width = upper - lower if lower is not None and upper is not None else None
    sides = {
        name: _side(name, together, each, width, confidence) for name, together in whole.items()
    }
    return OwnThresholds(sides, unit, _cautions(sides))


def _side(
    name: str,
    together: PerformanceAtLimit,
    each: dict[str, tuple[dict[str, PerformanceAtLimit], dict[str, str]]],
    width: float | None,
    confidence: float,
) -> ThresholdsAtLimit:
    from scipy.special import chdtrc, ndtri

    found = {who: sides[name] for who, (sides, _) in each.items() if name in sides}
    unjudged = {
        who: reasons.get(name, "No judgement near it.")
        for who, (sides, reasons) in each.items()
        if name not in sides
    }
    spread = p = None
    if len(found) > 1:
        at = np.array([one.threshold.estimate for one in found.values()])
        ends = np.array([one.threshold.high - one.threshold.low for one in found.values()])
        weight = (2 * float(ndtri((1 + confidence) / 2)) / ends) ** 2
        mean = float((weight * at).sum() / weight.sum())
        q = float((weight * (at - mean) ** 2).sum())
        spread, p = float(np.ptp(at)), float(chdtrc(len(found) - 1, q))
    share: Interval | Absent = Absent("the tolerance has one limit only")
    if width is not None:
        share = together.judgement_sd.times(6 / width)
    return ThresholdsAtLimit(found, unjudged, together, spread, p, share)


def _cautions(sides: dict[str, ThresholdsAtLimit]) -> tuple[str, ...]:
    notes = []
    for name, side in sides.items():
        if side.p is not None and side.p < 0.05:
            thresholds = {who: one.threshold.estimate for who, one in side.appraisers.items()}
            low = min(thresholds, key=lambda who: thresholds[who])
            high = max(thresholds, key=lambda who: thresholds[who])
            notes.append(
                f"At the {name} limit appraisers {low} and {high} turn at different sizes; agree on boundary samples."
            )
        notes += [
            f"At the {name} limit, appraiser {who}: {why}" for who, why in side.unjudged.items()
        ]
    return tuple(notes)
