"""Were the parts sorted before they were recorded, and what was the process before that."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.capability.sorting.recognition import (
    reading_step,
    sharp_ends,
    truncation_points,
)
from linestudy.capability.sorting.truncated_study import TruncatedStudy
from linestudy.capability.sorting.truncation import truncated_capability
from linestudy.capability.sorting.two_ends import cut_at_both_ends
from linestudy.numerics.samples import mean_and_sd
from linestudy.results import CannotJudge

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pandas as pd

    from linestudy.records import Records
    from linestudy.results import Findings
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic


#: Fewest readings from which a cut is recognised or a correlation reported.
_LEAST = 100
#: Rank correlation among accepted parts beyond which sorting on one characteristic touches another (common practice).
_GOES_WITH = 0.1
#: The same from which sorting on the other one moves an index: at 0.3 its standard deviation by a few hundredths at most (common practice).
_MATTERS, _NO_ACCIDENT = 0.3, 1e-4


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
    stated = sorted_because(records, item.id)
    if stated is not None:
        return stated
    cut = _cut_at(records, item)
    if not cut:
        return None
    return (
        f"Readings stand thick just inside the {' and the '.join(cut)} limit and none just outside, as no process "
        "leaves them."
    )


def _cut_at(records: Records, item: Characteristic) -> tuple[str, ...]:
    """Find limits at which all readings of the log, the rejected ones among them, end as no process ends."""
    table = records.table("run", item.id)
    if table is None or len(table) < _LEAST:
        return ()
    values = table["value"].to_numpy()
    return tuple(truncation_points(values, item.lower, item.upper, bound=item.bound))


def process_before_sorting(
    study: Study,
    records: Records,
    item: Characteristic,
    table: pd.DataFrame,
    findings: Findings,
    of_stream: bool = False,
) -> TruncatedStudy:
    """Estimate the process before sorting from the records of a characteristic.

    Of one stream (`of_stream`) nobody counted the rejected parts, and only its share of the run is known.
    """
    if item.lower is None and item.upper is None:
        raise CannotJudge("Without a limit nothing can have been cut off.")
    values = table["value"].to_numpy()
    if "accepted" in table:
        values = values[table["accepted"].to_numpy(dtype=bool)]
    _refuse_sorted_on_another(study, records, item)
    serial: Any = findings.get(item.id, "stability", "autocorrelation")
    rejected, accepted = (None, None) if of_stream else _counted(records, item.id) or (None, None)
    n_eff = getattr(serial, "n_eff_sd", None)
    run = records.table("run", item.id)
    if of_stream and n_eff is not None and run is not None:
        n_eff = max(n_eff * len(table) / len(run), 4.0)
    beyond = bool(
        (item.lower is not None and (values < item.lower).any())
        or (item.upper is not None and (values > item.upper).any())
    )
    return truncated_capability(
        values,
        item.lower,
        item.upper,
        rejected_count=rejected,
        accepted_count=accepted,
        counted_alone=len(_measured(study, records)) == 1,
        bound=item.bound_below,
        # Accepted parts beyond a limit were accepted by another reading than the recorded one.
        sorting_error_sd=None if beyond else 0.0,
        n_eff=n_eff,
        evidence=why_sorted(records, item) or "",
        confidence=study.confidence,
        unit=item.unit or "",
    )


def _measured(study: Study, records: Records) -> list[Characteristic]:
    """List characteristics that a part of the run may have been rejected for."""
    return [
        other
        for other in study.characteristics
        if records.table("run", other.id) is not None
        and (other.lower is not None or other.upper is not None)
    ]


def _refuse_sorted_on_another(study: Study, records: Records, item: Characteristic) -> None:
    """Refuse where parts were sorted on another characteristic that this one goes with."""
    if _cut_at(records, item):
        return
    for other, r in _going_with(study, records, item, _GOES_WITH):
        if _cut_at(records, other):
            raise CannotJudge(
                f"Parts were sorted on {other.name}, which this characteristic goes with (rank correlation {r:.2f} "
                "among the accepted parts), so its process before sorting cannot be judged. Readings of the "
                "rejected parts would settle it."
            )


def _going_with(
    study: Study, records: Records, item: Characteristic, least: float
) -> Iterator[tuple[Characteristic, float]]:
    """Find other characteristics of the same parts that correlate with these readings, and their rank correlation.

    Sorting on the other one weakens the correlation that is left.
    """
    for source in records.sources:
        frame = source.frame
        if source.data.role != "run" or item.id not in frame:
            continue
        for other in _measured(study, records):
            if other.id == item.id or other.id not in frame:
                continue
            both = frame[[item.id, other.id]].dropna().rank()
            r = float(np.corrcoef(both.to_numpy().T)[0, 1]) if len(both) >= _LEAST else 0.0
            if abs(r) > least:
                yield other, r


def sorted_on_another(records: Records, item: Characteristic) -> str:
    """Tell that parts were sorted on another characteristic that this one goes with, by the shape of the other's readings.

    Parameters
    ----------
    records : Records
        All readings.
    item : Characteristic

    Returns
    -------
    str
        One clause; empty where nothing shows it.

    Notes
    -----
    The other's readings end as no process ends, at its limits or inside them (:func:`~linestudy.capability.sorting.recognition.sharp_ends`,
    :func:`~linestudy.capability.sorting.two_ends.cut_at_both_ends`). With the correlation r before sorting, and v what is left of the other's
    variance, this one's variance is 1 - r² (1 - v) of what it was (Pearson's formula of selection, for normal values).

    References
    ----------
    Pearson, *Philosophical Transactions* A 200 (1903), 1-66; the least correlation is common practice, no source.
    """
    for other, r in _going_with(records.study, records, item, _MATTERS):
        table = records.table("run", other.id)
        values = () if table is None else table["value"].to_numpy(dtype=float)
        if len(values) >= _LEAST and (_cut_at(records, other) or _ends_inside(values, other.bound)):
            return f"{other.name}, whose readings end as those of sorted parts do and with which these go (rank correlation {r:.2f})"
    return ""


def _ends_inside(values: Any, bound: float | None) -> bool:
    """Check whether readings end as sorted ones do at a level that is no accident."""
    ends = sharp_ends(values, bound=bound)
    if ends:
        return math.prod(ends.values()) < _NO_ACCIDENT
    _, sd = mean_and_sd(values)
    near = [v for v in (0.0, bound) if v is not None and abs(values.min() - v) < sd / 2]
    p = None if near else cut_at_both_ends(values, reading_step(np.sort(values), sd))
    return p is not None and p < _NO_ACCIDENT


def _counted(records: Records, characteristic: str) -> tuple[int, int] | None:
    """Count parts rejected and accepted, in the log or in the bins."""
    aside = {word for words in _aside(records, characteristic) for word in words}
    rejected = accepted = 0
    for account in records.ledger.accounts:
        if account.role == "run" and account.values.get(characteristic) is not None:
            accepted += account.rows_used
            rejected += sum(
                count
                for reason, count in account.set_aside.items()
                if any(reason.startswith(f"verdict {word}:") for word in aside)
            )
    if rejected:
        return rejected, accepted
    counts = records.table("bins")
    if counts is None:
        return None
    return int(counts["rejected"].sum()), int(counts["accepted"].sum())


def _aside(records: Records, characteristic: str) -> list[tuple[str, ...]]:
    """Count verdicts of rejected parts that study.toml excludes, file by file."""
    return [
        tuple(sorted(set(source.data.reject) & set(source.data.set_aside_verdict)))
        for source in records.sources
        if source.data.role == "run"
        and characteristic in source.data.columns
        and source.data.reject
    ]


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
    for aside in _aside(records, characteristic):
        if aside:
            return f"The rejected parts are excluded (verdict {', '.join(aside)})."
    counts = records.table("bins")
    if table is None or counts is None or "accepted" not in table:
        return None
    rejected = int(counts["rejected"].sum())
    if rejected > 0 and bool(table["accepted"].all()):
        return f"The bins hold {rejected:,} rejected parts, of which the log has none."
    return None
