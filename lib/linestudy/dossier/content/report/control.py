"""Lines of the control plan, and how long a tool lasts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linestudy.dossier.content import prose
from linestudy.dossier.content.elements import Block, Table, Text
from linestudy.dossier.content.sheet import BLANK, Sheet
from linestudy.results import CannotJudge, Interval, counted, show
from linestudy.results.rounding import as_given, signed, time_between
from linestudy.results.tables import listed, over_strokes
from linestudy.stability.said_of_run import names_of_resets
from linestudy.verdict.criteria import two_places
from linestudy.verdict.gather import judged_by, readings_of
from linestudy.verdict.process import decision_chart, limits_of_streams

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from linestudy.capability import ToolLifeStudy
    from linestudy.dossier.evaluation import Evaluation
    from linestudy.stability.charts.chart_study import ChartStudy


def control_plan(evaluation: Evaluation, known: tuple[Sheet, ...]) -> list[Block]:
    """Lay out the control plan: lines of study.toml, else what the studies advise, marked as such.

    Parameters
    ----------
    evaluation : Evaluation
    known : tuple of Sheet

    Returns
    -------
    list of Block
    """
    declared = {line.characteristic: line for line in evaluation.study.file.control}
    gauges = {gauge.id: gauge.name for gauge in evaluation.study.gauges}
    rows = []
    for sheet in known:
        line, advised = declared.get(sheet.item.id), _advised(evaluation, sheet)
        if line is None and not advised:
            continue
        gauge = judged_by(evaluation.records, sheet.item.id)[1] or ""
        rows.append(
            (
                sheet.name,
                (line.gauge if line else None) or gauges.get(gauge, gauge),
                (line.size if line else None) or advised.get("size", ""),
                (line.frequency if line else None) or advised.get("frequency", ""),
                (line.chart if line else None) or advised.get("chart", ""),
                (line.reaction if line else None) or "",
            )
        )
    head = ("characteristic", "gauge", "sample", "frequency", "chart and limits", "reaction")
    wear = _wear(evaluation, known)
    if not rows:
        return wear
    lines = Table("Control plan lines", head, tuple(rows), (False,) * 6, small=True, wide=(5,))
    left = [sheet.name for sheet in known if sheet.name not in {row[0] for row in rows}]
    none = [Text(f"No line is laid down or advised for {listed(left)}.")] if left else []
    return [Text(prose.CONTROL), lines, *none, *wear]


def _advised(evaluation: Evaluation, sheet: Sheet) -> dict[str, str]:
    from linestudy.figures.report.process import places_of_limits
    from linestudy.stability import SamplingPlan

    found: dict[str, str] = {}
    chart = chart_of(evaluation, sheet)
    readings = readings_of(evaluation.study, evaluation.records, sheet.item)
    streams: dict[str, tuple[float, float]] = {}
    if chart is not None and readings is not None:
        streams = limits_of_streams(chart, readings.values, readings.tags)
    plan = evaluation.findings.get(sheet.item.id, "stability", "sampling_plan")
    if isinstance(plan, SamplingPlan):
        best = next(one for one in plan.options if one.size == plan.size)
        # Limits hold for subgroups of their own size, so the sample is of that size where it finds the shift in time.
        of_chart = None if chart is None else round(chart.subgroup_size)
        option = next((one for one in plan.options if one.size == of_chart), best)
        found["size"] = counted(option.size, "part")
        turns = any(note.startswith("Stations take turns") for note in plan.cautions)
        if streams or (turns and option.size != of_chart):
            found["size"] = f"{option.size} of each station"
        found["frequency"] = f"every {time_between(option.interval_minutes)}"
    if chart is not None and readings is not None:
        if chart.subgroup_size > 1:
            found.setdefault("size", counted(round(chart.subgroup_size), "part"))
        kind = chart.chart.replace("mean and standard deviation", "X̄ and S")
        size = f", n = {chart.subgroup_size:.0f}" if chart.subgroup_size > 1 else ""
        places = places_of_limits(chart)
        of_one = 1 < len(streams) <= _LISTED
        several = not of_one and _streams(readings.tags.stream) > 1
        many = ", each stream about its own level" if several else ""
        if not of_one:
            streams = {"": chart.limits}
        spans = [
            f"{name} up to {high:,.{places}f}"
            if no_lower_limit(low, sheet)
            else f"{name} {low:,.{places}f} to {high:,.{places}f}"
            for name, (low, high) in streams.items()
        ]
        without = ", no LCL" if any(" up to " in span for span in spans) else ""
        resets = names_of_resets(evaluation.study, sheet.item) if readings.tags.wears else ""
        fresh = f", just after a reset ({resets})" if resets else ""
        unit = f" {sheet.unit}" if sheet.unit else ""
        found["chart"] = (
            f"{kind}{size}: {'; '.join(span.strip() for span in spans)}{unit}{without}{many}{fresh}"
        )
    return found


def _streams(named: ArrayLike | None) -> int:
    import numpy as np

    return 0 if named is None else np.unique(np.asarray(named).astype(str)).size


def chart_of(evaluation: Evaluation, sheet: Sheet) -> ChartStudy | None:
    """Return the chart by which stability is judged; its limits go into picture and control plan.

    Parameters
    ----------
    evaluation : Evaluation
    sheet : Sheet

    Returns
    -------
    ChartStudy or None
        None where no run was made in time, or its values are too few.
    """
    readings = readings_of(evaluation.study, evaluation.records, sheet.item)
    timed = sheet.verdict.facts.circumstances.in_time
    if readings is None or readings.role != "run" or not timed:
        return None
    try:
        chart: ChartStudy = decision_chart(readings.values, readings.tags, unit=sheet.unit)
    except CannotJudge:
        return None
    return chart


def natural_bound(sheet: Sheet) -> float | None:
    """Return the size no part can fall below: study.toml's bound, or 0 for a position.

    Parameters
    ----------
    sheet : Sheet

    Returns
    -------
    float or None
    """
    item = sheet.item
    if item.position is not None and item.position.size is None:
        return 0.0
    smallest = sheet.verdict.facts.process.smallest
    return item.bound if item.bound is not None and item.bound <= smallest else None


def no_lower_limit(low: float, sheet: Sheet) -> str:
    """Explain why a chart has no lower limit where it would lie beyond the natural bound.

    Parameters
    ----------
    low : float
        The limit as computed.
    sheet : Sheet

    Returns
    -------
    str
        Empty where it has one.
    """
    bound = natural_bound(sheet)
    if bound is None or low >= bound:
        return ""
    return f"No LCL: it would lie below {as_given(bound)}, which no part can."


def _wear(evaluation: Evaluation, known: tuple[Sheet, ...]) -> list[Block]:
    """Lay out capability over the life of a tool, or, where unknown, how far the run's trend goes."""
    from linestudy.capability import ToolLifeStudy

    rows, trends = [], []
    over = _over(evaluation)
    for sheet in known:
        found = evaluation.findings.get(sheet.item.id, "capability", "tool_life")
        if not isinstance(found, ToolLifeStudy):
            trends += _trend(evaluation, sheet, over)
            continue
        level = found.control_limit
        rows.append(
            (
                sheet.name,
                signed(over_strokes(found.slope_per_thousand, over=over)[0], sheet.unit),
                f"{found.life:,.0f}",
                *(f"{one.estimate:.2f}" for one in (found.Ppk_start, found.Ppk_end)),
                f"{found.Ppk_whole.estimate:.2f} ({found.Ppk_whole.low:.2f} to {found.Ppk_whole.high:.2f})",
                _reset_by(found),
                f"{show(level, sheet.verdict.facts.process.sd)} {sheet.unit}".strip()
                if isinstance(level, float)
                else BLANK,
            )
        )
    blocks: list[Block] = []
    if rows:
        head = (*_LIFE[:1], f"wear per {over:,} strokes", *_LIFE[1:])
        table = Table("Tool life", head, tuple(rows), _LIFE_NUMERIC, small=True)
        blocks += [Text(prose.TOOL_LIFE.format(confidence=known[0].confidence)), table]
    if trends:
        named = (*_MOVEMENT[:1], f"mean per {over:,} strokes (interval)", *_MOVEMENT[1:])
        table = Table("Movement over the run", named, tuple(trends), _MOVEMENT_NUMERIC)
        blocks += [Text(prose.WEAR), table]
    return blocks


#: Streams whose limits are listed one by one; of more the common ones, about each stream's own level.
_LISTED = 4
#: Heads of the two tables of wear but for the slope, which comes second, and which of their columns are numbers.
_LIFE = (
    "characteristic",
    "life seen",
    "Ppk fresh",
    "Ppk worn",
    "Ppk of a whole life",
    "reset by stroke",
    "or mean of a subgroup",
)
_LIFE_NUMERIC = (False, False, True, True, True, False, False, False)
_MOVEMENT = ("characteristic", "limit reached", "strokes left", "at least")
_MOVEMENT_NUMERIC = (False, False, False, True, True)


def _reset_by(found: ToolLifeStudy) -> str:
    """Write the stroke until which the index is held; say so where it never is."""
    until = found.strokes_to_index
    if not isinstance(until, Interval):
        return BLANK
    asked = f"Ppk {two_places(found.index)}"
    return f"{asked} not held" if until.low < 1 else f"{until.low:,.0f} ({asked})"


def _over(evaluation: Evaluation) -> int:
    """Return the number of strokes to which all slopes of the study refer."""
    spans = (getattr(finding, "over", None) for _, finding in evaluation.findings.items())
    return next((over for over in spans if over), 1000)


def _trend(evaluation: Evaluation, sheet: Sheet, over: int) -> list[tuple[str, ...]]:
    from linestudy.stability import ToolWearStudy

    found = evaluation.findings.get(sheet.item.id, "stability", "tool_wear")
    if not isinstance(found, ToolWearStudy) or not isinstance(found.strokes_left, Interval):
        return []
    limit = "" if found.limit is None else f"{as_given(found.limit)} {sheet.unit}".strip()
    left = found.strokes_left
    slope = signed(over_strokes(found.slope_per_thousand, over=over)[0], sheet.unit)
    return [(sheet.name, slope, limit, f"{left.estimate:,.0f}", f"{left.low:,.0f}")]
