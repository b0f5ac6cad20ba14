"""Were the parts sorted before they were recorded, and what was the process before that."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.capability.sorting.truncation import (
    TruncatedStudy,
    truncated_capability,
    truncation_points,
)
from linestudy.capability.whole_part.bins_study import bin_counts
from linestudy.results import CannotJudge
from linestudy.shape.evaluation import declared_family

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.results import Findings
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic


def why_sorted(records: Records, item: Characteristic) -> str | None:
    """Tell why a characteristic's readings are of sorted parts only, from the records or from their shape.

    Parameters
    ----------
    records : Records
        All readings.
    item : Characteristic
        Limits and bound.

    Returns
    -------
    str or None
        One sentence.
    """
    told = sorted_because(records, item.id)
    table = records.table("run", item.id)
    if told is not None or table is None or len(table) < 100:
        return told
    cut = truncation_points(table["value"].to_numpy(), item.lower, item.upper, bound=item.bound)
    if not cut:
        return None
    return (
        f"Readings stand thick just inside the {' and the '.join(cut)} limit and none just outside, as no process "
        "leaves them."
    )


def process_before_sorting(
    study: Study,
    records: Records,
    item: Characteristic,
    table: pd.DataFrame,
    findings: Findings,
) -> TruncatedStudy:
    """Estimate the process before sorting from the records of a characteristic."""
    if item.lower is None and item.upper is None:
        raise CannotJudge("Without a limit nothing can have been cut off.")
    values = table["value"].to_numpy()
    if "accepted" in table:
        values = values[table["accepted"].to_numpy(dtype=bool)]
    inside = np.ones(values.size, dtype=bool)
    if item.lower is not None:
        inside &= values >= item.lower
    if item.upper is not None:
        inside &= values <= item.upper
    serial: Any = findings.get(item.id, "stability", "autocorrelation")
    counts = records.table("bins")
    observed = None
    cut = [
        other.id
        for other in study.characteristics
        if (run := records.table("run", other.id)) is not None
        and len(run) >= 100
        and truncation_points(run["value"].to_numpy(), other.lower, other.upper, bound=other.bound)
    ]
    # The bins count parts rejected for anything; they speak of this characteristic only if it is alone.
    if counts is not None and cut in ([], [item.id]):
        observed = bin_counts(counts, confidence=study.confidence).reject_rate
    return truncated_capability(
        values[inside],
        item.lower,
        item.upper,
        families=_families(item),
        bound=item.bound,
        n_eff=getattr(serial, "n_eff_sd", None),
        evidence=why_sorted(records, item) or "",
        observed=observed,
        confidence=study.confidence,
        unit=item.unit or "",
    )


def _families(item: Characteristic) -> tuple[str, ...]:
    """What the process may be: as declared, else by whether it begins at a bound."""
    if (family := declared_family(item)) != "auto":
        return (family,)
    if item.bound is not None:
        return ("normal", "folded normal", "lognormal", "gamma", "Weibull")
    return ("normal", "logistic", "largest extreme value")


def sorted_because(records: Records, characteristic: str) -> str | None:
    """Tell why the readings of a characteristic are of sorted parts only, or None where they are not.

    Parameters
    ----------
    records : Records
        All readings.
    characteristic : str
        Characteristic id.

    Returns
    -------
    str or None
        One sentence: study.toml sets the rejected parts aside, or the bins hold rejected parts
        of which the log has none.
    """
    table = records.table("run", characteristic)
    for source in records.sources:
        data = source.data
        if data.role == "run" and characteristic in data.columns and data.reject:
            aside = sorted(set(data.reject) & set(data.set_aside_verdict))
            if aside:
                return f"study.toml sets the rejected parts aside (verdict {', '.join(aside)})."
    counts = records.table("bins")
    if table is None or counts is None or "accepted" not in table:
        return None
    rejected = int(counts["rejected"].sum())
    if rejected > 0 and bool(table["accepted"].all()):
        return f"The bins hold {rejected:,} rejected parts, of which the log has none."
    return None
