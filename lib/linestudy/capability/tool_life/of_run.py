"""Find the tool life of a run: its wear, its regrinds, named or found, and the gauge's own drift."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linestudy.capability.tool_life.study import TOOL_LIFE, ToolLifeStudy, tool_life
from linestudy.results import Findings, Interval

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.model import Characteristic


def of_tool_life(
    records: Records,
    item: Characteristic,
    table: pd.DataFrame,
    findings: Findings,
    new: Findings,
) -> None:
    """Find the tool life where the run wears.

    Parameters
    ----------
    records : Records
        Its study, with the strokes of events.
    item : Characteristic
    table : pandas.DataFrame
        Parts without the periods set aside.
    findings : Findings
        Of stability and gauges.
    new : Findings
        Where it is kept.
    """
    worn: Any = findings.get(item.id, "stability", "tool_wear")
    slope = getattr(worn, "slope_per_thousand", None)
    if not isinstance(slope, Interval) or "order" not in table:
        return
    study = records.study
    named = tuple(
        float(event.at)
        for event in study.events
        if event.at is not None and event.restarts(item.id)
    )
    found = () if named else _found(findings, item)
    # A sawtooth that nobody named has no slope from end to end.
    if 0 in slope and not found:
        return
    taking = records.subgroups(item.id)
    size = 5 if taking is None else taking.size
    station = table["station"] if "station" in table and table["station"].nunique() > 1 else None

    def compute() -> ToolLifeStudy:
        return tool_life(
            table["value"],
            table["order"],
            item.lower,
            item.upper,
            resets=named or found,
            found=len(found),
            station=station,
            size=size,
            drift=_drift(records, findings, item),
            confidence=study.confidence,
            seed=study.seed,
            unit=item.unit or "",
        )

    new.evaluate(item.id, TOOL_LIFE, compute)


def _found(findings: Findings, item: Characteristic) -> tuple[float, ...]:
    """Steps that nobody named, where a slope runs between them and they all take it back."""
    steps: Any = findings.get(item.id, "stability", "change_points")
    points = getattr(steps, "change_points", ())
    if not getattr(steps, "sloped", False) or not points:
        return ()
    up = sum(point.size.estimate > 0 for point in points)
    return tuple(float(point.at.estimate) for point in points) if up in (0, len(points)) else ()


def _drift(records: Records, findings: Findings, item: Characteristic) -> Interval | None:
    """Drift of the gauge that read the run, on its master."""
    for gauge in records.gauges("run", item.id)[:1]:
        found: Any = findings.get(item.id, "gauges", gauge, "drift")
        slope = getattr(found, "slope_per_thousand", None)
        return slope if isinstance(slope, Interval) else None
    return None
