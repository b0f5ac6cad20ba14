"""Predicted and observed rejects side by side: what the models say the camera rejects, and what it did."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from linestudy.gauges.budget.risk_study import ConformityRisk, per_million
from linestudy.results import CannotJudge, Finding, Findings, Interval, counted
from linestudy.results.declared import Declaration
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    from linestudy.capability.whole_part.bins_study import BinsStudy


@dataclass(frozen=True, slots=True)
class PredictedRejects:
    """Rejects for one characteristic.

    Attributes
    ----------
    characteristic : str
        Its name.
    predicted : Interval
        Share of all parts that process and gauge together reject for it.
    observed : Interval or None
        Share of readings beyond its limits in the log.
    """

    characteristic: str
    predicted: Interval
    observed: Interval | None


@dataclass(frozen=True)
class RejectsStudy(Finding):
    """Predicted and observed rejects.

    Attributes
    ----------
    by_characteristic : tuple of PredictedRejects
        One for each characteristic with a prediction.
    predicted : Interval
        Share of all parts rejected for any of the characteristics. Formula: ``1 - prod(1 - predicted_i)``.
    observed : Interval
        Rejected over accepted and rejected, from the bins.
    agrees_with_bins : bool
        Whether the two intervals meet.
    """

    by_characteristic: tuple[PredictedRejects, ...]
    predicted: Interval
    observed: Interval
    agrees_with_bins: bool
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Predicted and observed rejects"
    picture: ClassVar[str] = "gauge_error:rejects"

    @property
    def statement(self) -> str:
        text = f"Expected rejected, each characteristic by the distribution of all its values: {per_million(self.predicted)} ppm; observed in the bins: {per_million(self.observed)} ppm"
        if self.agrees_with_bins:
            return f"{text}: they agree within their intervals."
        more = self.observed.estimate > self.predicted.estimate
        why = (
            "parts were rejected for another reason than these characteristics"
            if more
            else "fewer parts were rejected than should have been"
        )
        return f"{text}: they do not agree: {why}."

    @property
    def lines(self) -> tuple[PredictedRejects, ...]:
        """Those of the characteristics, and of any of them together."""
        return (
            *self.by_characteristic,
            PredictedRejects("any of them", self.predicted, self.observed),
        )

    def _rows(self) -> Rows:
        return [
            {
                "rejected for": one.characteristic,
                "predicted (ppm)": one.predicted.times(1e6),
                "observed (ppm)": None if one.observed is None else one.observed.times(1e6),
            }
            for one in self.lines
        ]


REJECTS = Declaration(
    "rejects", RejectsStudy, "Rejects expected and counted", of_study=True, order=30, picture=60
)


def reject_balance(findings: Findings, names: Mapping[str, str], bins: BinsStudy) -> RejectsStudy:
    r"""Hold predicted rejects against the bins.

    Parameters
    ----------
    findings : Findings
        With the risks of wrong verdicts.
    names : mapping of str to str
        Characteristic id → name, for those the sorting gauge measures.
    bins : BinsStudy
        What was counted.

    Returns
    -------
    RejectsStudy
        Predicted and observed shares of rejected parts.

    Raises
    ------
    CannotJudge
        No risk could be computed.

    See Also
    --------
    bin_counts : The counts.

    Notes
    -----
    Model: each characteristic's share of rejected parts is that of process and gauge together;
    characteristics are taken as independent,

    .. math:: 1 - \prod_i (1 - p_i).

    It is compared with the parts the log shows beyond each limit and the counts of the bins; whether they
    agree is judged by whether the intervals meet. A prediction far below the bins means that parts were
    rejected for something no model here holds: another characteristic, a fault of the camera, a limit
    set otherwise in the camera. A bin that holds fewer than predicted means that nonconforming parts
    went on. Misleads a little where characteristics are correlated: the prediction is then too high.

    References
    ----------
    JCGM 106:2012 for the predicted shares; Clopper & Pearson, *Biometrika* 26 (1934), for the counts.

    Examples
    --------
    See ``notebooks/submission/5_shape_and_capability.ipynb``.
    """
    rows: list[PredictedRejects] = []
    for key, name in names.items():
        for found in findings.of(key, "gauges").values():
            if isinstance(found, ConformityRisk):
                observed = found.observed.p_rejected if found.observed else None
                if findings.get(key, "capability", "before_sorting") is not None:
                    # A log of accepted parts shows none beyond the limits, whatever was rejected.
                    observed = None
                rows.append(PredictedRejects(name, found.p_rejected, observed))
    if not rows:
        raise CannotJudge("No risk of a wrong verdict is known, so rejects cannot be predicted.")
    ends = [
        1 - float(np.prod([1 - getattr(row.predicted, end) for row in rows]))
        for end in ("estimate", "low", "high")
    ]
    first = rows[0].predicted
    predicted = Interval(ends[0], ends[1], ends[2], first.confidence, "product of the passes")
    seen = bins.reject_rate
    agree = predicted.low <= seen.high and seen.low <= predicted.high
    notes = [
        "Characteristics are taken as independent, so the prediction is a little too high where they are not."
    ]
    if len(rows) < len(names):
        notes.append(
            f"For {counted(len(names) - len(rows), 'characteristic')} no rejects could be predicted."
        )
    return RejectsStudy(tuple(rows), predicted, seen, agree, tuple(notes))
