"""Predicted and observed rejects side by side: what the models say the camera rejects, and what it did.

Model: each characteristic's share of rejected parts is that of its risk finding (process and gauge together);
characteristics are taken as independent, so a part is rejected for at least one of them with one minus
the product of the passes. Against it stand the parts the log shows beyond each limit and the counts of
the bins. A prediction far below the bins means that parts were rejected for something no model here
holds: another characteristic, a fault of the camera, a limit set otherwise in the camera. A bin that holds
fewer than predicted means that bad parts went on.

Whether they agree is judged by whether the interval of the prediction meets that of the count.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.gauges.budget.risk_study import ConformityRisk, per_million
from linestudy.results import CannotJudge, Finding, Findings, Interval
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.capability.whole_part.bin_counts import BinsStudy


@dataclass(frozen=True)
class RejectsStudy(Finding):
    """Predicted and observed rejects.

    Attributes
    ----------
    rows : tuple of dict
        ``characteristic, predicted, observed`` (Intervals; shares of all parts; observed may be None).
    predicted : Interval
        Parts rejected for any of the characteristics.
    observed : Interval
        Rejected over accepted and rejected, from the bins.
    agree : bool
        Whether the two intervals meet.
    """

    rows: tuple[dict[str, Any], ...]
    predicted: Interval
    observed: Interval
    agree: bool
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Predicted and observed rejects"
    picture: ClassVar[str] = "gauge_error:rejects"

    @property
    def statement(self) -> str:
        text = (
            f"The models predict {per_million(self.predicted)} rejected parts per million, the bins hold "
            f"{per_million(self.observed)}"
        )
        if self.agree:
            return f"{text}: they agree within their intervals."
        more = self.observed.estimate > self.predicted.estimate
        why = (
            "parts were rejected for something these characteristics do not hold"
            if more
            else "fewer parts were rejected than should have been"
        )
        return f"{text}: they do not agree, so {why}."

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        rows = [
            *self.rows,
            {
                "characteristic": "any of them",
                "predicted": self.predicted,
                "observed": self.observed,
            },
        ]
        return pd.DataFrame(
            {
                "rejected for": [row["characteristic"] for row in rows],
                "predicted, per million": [per_million(row["predicted"]) for row in rows],
                "observed, per million": [
                    "not counted" if row["observed"] is None else per_million(row["observed"])
                    for row in rows
                ],
            }
        )


REJECTS = Declaration(
    "rejects", RejectsStudy, "Rejects expected and counted", of_study=True, order=30, picture=60
)


def rejects(findings: Findings, names: dict[str, str], bins: BinsStudy) -> RejectsStudy:
    """Hold predicted rejects against the bins.

    Parameters
    ----------
    findings : Findings
        With risk findings.
    names : dict of str to str
        Characteristic id → name, for those the sorting gauge measures.
    bins : BinsStudy

    Returns
    -------
    RejectsStudy

    Raises
    ------
    CannotJudge
        No risk could be computed.

    Notes
    -----
    Predicted shares by JCGM 106:2012; counted ones by Clopper & Pearson (1934).

    Examples
    --------
    See ``notebooks/submission/5_shape_and_capability.ipynb``.
    """
    rows: list[dict[str, Any]] = []
    for key, name in names.items():
        for path, found in findings.of(key, "gauges").items():
            if path[-1] == "conformity_risk" and isinstance(found, ConformityRisk):
                observed = found.observed.p_rejected if found.observed else None
                rows.append(
                    {"characteristic": name, "predicted": found.p_rejected, "observed": observed}
                )
    if not rows:
        raise CannotJudge("No risk of a wrong verdict is known, so rejects cannot be predicted.")
    ends = [
        1 - float(np.prod([1 - getattr(row["predicted"], end) for row in rows]))
        for end in ("estimate", "low", "high")
    ]
    first: Interval = rows[0]["predicted"]
    predicted = Interval(ends[0], ends[1], ends[2], first.confidence, "product of the passes")
    seen = bins.reject_rate
    agree = predicted.low <= seen.high and seen.low <= predicted.high
    notes = [
        "Characteristics are taken as independent, so the prediction is a little too high where they are not."
    ]
    if len(rows) < len(names):
        notes.append(
            f"For {len(names) - len(rows)} characteristic(s) no rejects could be predicted."
        )
    return RejectsStudy(tuple(rows), predicted, seen, agree, tuple(notes))
