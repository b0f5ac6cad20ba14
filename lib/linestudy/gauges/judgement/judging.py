"""Take the judgements of a characteristic through every method for them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linestudy.gauges.judgement.acceptance_curve import (
    PERFORMANCE_CURVE,
    GaugePerformanceCurve,
    gauge_performance_curve,
)
from linestudy.gauges.judgement.appraiser_curves import (
    OWN_THRESHOLDS,
    OwnThresholds,
    own_thresholds,
)
from linestudy.gauges.judgement.grades import GRADES, GradedStudy, graded_agreement
from linestudy.gauges.judgement.judgements import ATTRIBUTE, AttributeStudy, judgement_agreement
from linestudy.results import CannotJudge, Findings

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic


def judge_judgements(
    study: Study, table: pd.DataFrame, item: Characteristic, new: Findings
) -> None:
    """Evaluate rates and kappa, grades, and curves where there is a measured value behind the judgements.

    Parameters
    ----------
    study : linestudy.study.load.Study
    table : pandas.DataFrame
        Judgements of the characteristic, from ``records.table("attribute", …)``.
    item : linestudy.study.model.Characteristic
    new : Findings
        Where the findings go.
    """
    common: Any = {"confidence": study.confidence, "unit": item.unit or ""}

    def of_rates() -> AttributeStudy:
        return judgement_agreement(table, confidence=study.confidence)

    def of_curve() -> GaugePerformanceCurve:
        return gauge_performance_curve(
            table["measured"].to_numpy(dtype=float),
            table["judgement"].to_numpy(dtype=bool),
            item.lower,
            item.upper,
            part=table["part"].to_numpy(),
            **common,
        )

    def of_grades() -> GradedStudy:
        of_files = {
            data.grades for data in study.data if data.characteristic == item.id and data.grades
        }
        if len(of_files) > 1:
            raise CannotJudge("The files of judgements name different grades.")
        return graded_agreement(table, grades=of_files.pop(), confidence=study.confidence)

    def of_thresholds() -> OwnThresholds:
        return own_thresholds(table, item.lower, item.upper, **common)

    new.evaluate(item.id, ATTRIBUTE, of_rates)
    if "grade" in table:
        new.evaluate(item.id, GRADES, of_grades)
    if "measured" in table:
        new.evaluate(item.id, PERFORMANCE_CURVE, of_curve)
        if "appraiser" in table and table["appraiser"].nunique() > 1:
            new.evaluate(item.id, OWN_THRESHOLDS, of_thresholds)
