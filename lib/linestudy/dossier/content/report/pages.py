"""The pages of one characteristic: each question with its pictures, and the answer under them."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.dossier.content import prose
from linestudy.dossier.content.cautions.destinations import conditions
from linestudy.dossier.content.elements import (
    Album,
    Block,
    Bullets,
    Fields,
    Heading,
    Table,
    Text,
    from_frame,
    with_something,
)
from linestudy.dossier.content.report.adequacy import measurement, not_judged, said
from linestudy.dossier.content.report.control import chart_of, natural_bound, no_lower_limit
from linestudy.dossier.content.report.decided import by_the_ellipse
from linestudy.dossier.content.sheet import BLANK, Sheet, exact_mean_and_sd, places_of
from linestudy.results import Absent, Unjudged
from linestudy.results.tables import natural_order
from linestudy.stability.said_of_run import events_of, names_of_resets
from linestudy.verdict.gather import readings_of
from linestudy.verdict.process.tags import coded, in_stretches

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation
    from linestudy.verdict.gather.run_readings import Readings

#: Points out of control that the page lists; the annex has all of them.
MOST_POINTS = 6
#: Kinds of points marked on the lower half of a chart.
SPREAD_KINDS = ("standard deviation", "range", "moving range")
_QUESTIONS = {
    "control": "Is the process in statistical control?",
    "short run": "How did the short run go?",
    "distribution": "What distribution is it, and does it fit the tolerance?",
    "distribution alone": "What distribution is it?",
    "streams": "Which stream decides?",
}


def pages(evaluation: Evaluation, sheet: Sheet, album: Album) -> list[Block]:
    """Lay out everything the report says of one characteristic.

    Parameters
    ----------
    evaluation : Evaluation
    sheet : Sheet
    album : Album

    Returns
    -------
    list of Block
    """
    readings = readings_of(evaluation.study, evaluation.records, sheet.item)
    blocks: list[Block] = [_decision(sheet), Fields(_numbers(sheet), 6)]
    blocks += measurement(evaluation, sheet, album)
    if readings is not None:
        blocks += _control(evaluation, sheet, readings, album)
    elif sheet.verdict.facts.kind == "machine":
        blocks += _short_run(evaluation, sheet, album)
    blocks += _fit(evaluation, sheet, album)
    if readings is not None:
        blocks += _streams(evaluation, sheet, readings, album)
    blocks += _strength(evaluation, sheet, album)
    asked = conditions(evaluation, sheet.item.id)
    if asked:
        blocks += [Heading("Conditions of use", 2), Bullets("", asked)]
    return blocks


def _decision(sheet: Sheet) -> Text:
    opening = sheet.decision[:1].upper() + sheet.decision[1:]
    return Text(f"{opening}{f': {sheet.reason}' if sheet.reason else ''}.", strong=True)


def _numbers(sheet: Sheet) -> tuple[tuple[str, str], ...]:
    unit = f" ({sheet.unit})" if sheet.unit else ""
    named = (
        ("Number", sheet.number),
        ("Limits", sheet.limits),
        ("n", sheet.n),
        (f"Mean{unit}", sheet.mean),
        (f"SD{unit}", sheet.sd),
        (f"Smallest, largest{unit}", f"{sheet.smallest}, {sheet.largest}"),
        ("Pp (all values)", sheet.Pp),
        (f"{sheet.index} that decides", sheet.Ppk),
        (f"Lower {sheet.confidence} bound", sheet.bound),
        ("Worst stream", sheet.stream),
        ("Expected outside (ppm)", sheet.ppm),
        ("Special", "yes ◆" if sheet.special else "no"),
    )
    if sheet.verdict.facts.kind == "judgement":
        return tuple(
            pair
            for pair in named
            if pair[0] in ("Number", "Limits", "Special") or (pair[0] == "n" and sheet.n != BLANK)
        )
    return tuple(pair for pair in named if pair[1] not in (BLANK, f"{BLANK}, {BLANK}"))


def _about_streams(readings: Readings) -> bool:
    """Check whether the chart that judges stability subtracts each stream's own level."""
    stream = readings.tags.stream
    if stream is None or np.unique(np.asarray(stream).astype(str)).size < 2:
        return False
    return not (readings.tags.timed and in_stretches(coded(stream)))


def _control(evaluation: Evaluation, sheet: Sheet, readings: Readings, album: Album) -> list[Block]:
    blocks: list[Block] = []
    limited = _has_limits(sheet)
    events = events_of(evaluation.study, sheet.item)
    if readings.role == "run" and readings.tags.order is not None:
        from linestudy.figures.report.process import values_over_the_run

        answer = " ".join(said(sheet, "observed against expected"))
        run = _run(sheet, readings, events)
        blocks += album.take(
            f"{sheet.item.id} run",
            partial(values_over_the_run, run),
            f"Single values of {sheet.name} over the run. {answer}",
            question="Do single values stay between the limits?"
            if limited
            else "How do single values move over the run?",
            answer=answer,
        )
    elif readings.role == "nested" and readings.tags.subgroup is not None:
        blocks += _batches(sheet, readings, evaluation, album)
        unknown = not_judged(sheet, "stability")
        blocks += [Bullets("", unknown)] if unknown else []
    chart = chart_of(evaluation, sheet)
    if chart is not None:
        from linestudy.figures.report.process import location_and_spread

        reasons = " ".join(said(sheet, "stability"))
        resets = names_of_resets(evaluation.study, sheet.item) if readings.tags.wears else ""
        worn = prose.FRESH_LEVEL.format(resets=resets) if resets else ""
        level = prose.OWN_LEVEL if _about_streams(readings) else ""
        blocks += album.take(
            f"{sheet.item.id} chart",
            partial(location_and_spread, chart, events=events, bound=natural_bound(sheet)),
            f"Control chart of {sheet.name}. {reasons}",
            question=f"Do {chart.chart.replace('mean and', 'subgroup means and')} stay within their control limits?",
            answer=" ".join(
                filter(None, (reasons, level, worn, no_lower_limit(chart.limits[0], sheet)))
            ),
        )
    blocks += points_out(evaluation, sheet, MOST_POINTS)
    sample = said(sheet, "sample", "sorting")
    if sample:
        blocks.append(Bullets("", sample))
    return [Heading(_QUESTIONS["control"], 2), *blocks] if blocks else []


def _short_run(evaluation: Evaluation, sheet: Sheet, album: Album) -> list[Block]:
    """Draw the values of a short run part by part; no control chart is made of one machine setting."""
    table = evaluation.records.table("machine", sheet.item.id)
    if table is None or not len(table):
        return []
    from linestudy.figures.report.process import Run, values_over_the_run

    facts = sheet.verdict.facts
    values = table["value"].to_numpy(float)
    run = Run(
        np.arange(1.0, values.size + 1),
        values,
        lower=facts.lower,
        upper=facts.upper,
        target=sheet.item.nominal,
        unit=sheet.unit,
        axis="part of the short run",
    )
    blocks = album.take(
        f"{sheet.item.id} short run",
        partial(values_over_the_run, run),
        f"Single values of {sheet.name} over the short run.",
        question="Do single values stay between the limits?",
    )
    sample = said(sheet, "sample")
    return [
        Heading(_QUESTIONS["short run"], 2),
        *blocks,
        *([Bullets("", sample)] if sample else []),
    ]


def _has_limits(sheet: Sheet) -> bool:
    """Check whether there is a specification limit to compare values with."""
    facts = sheet.verdict.facts
    return facts.lower is not None or facts.upper is not None


def _run(sheet: Sheet, readings: Readings, events: tuple[tuple[float, str], ...]) -> Any:
    from linestudy.figures.report.process import Run

    tags, facts = readings.tags, sheet.verdict.facts

    def words(column: Any) -> Any:
        return None if column is None else np.asarray(column).astype(str)

    stream = words(tags.stream)
    if stream is not None and np.unique(stream).size > 8:
        stream = None
    return Run(
        np.asarray(tags.order, dtype=float),
        readings.values,
        stream,
        words(tags.coil),
        facts.lower,
        facts.upper,
        sheet.item.nominal,
        sheet.unit,
        events,
    )


def _batches(sheet: Sheet, readings: Readings, evaluation: Evaluation, album: Album) -> list[Block]:
    from linestudy.figures.report.measuring import Group, by_batch

    labels = np.asarray(readings.tags.subgroup).astype(str)
    table = evaluation.records.table("nested", sheet.item.id)
    level = (table.attrs.get("levels") or ("batch",))[0] if table is not None else "batch"
    groups = tuple(
        Group(name, readings.values[labels == name])
        for name in sorted(set(labels), key=natural_order)
    )
    facts = sheet.verdict.facts
    nested = next(
        (
            found.statement
            for path, found in evaluation.findings.of(sheet.item.id, "gauges").items()
            if path[-1] == "nested" and not isinstance(found, Unjudged)
        ),
        "",
    )
    return album.take(
        f"{sheet.item.id} batches",
        partial(
            by_batch,
            groups,
            lower=facts.lower,
            upper=facts.upper,
            unit=sheet.unit,
            level=str(level),
        ),
        f"Values of {sheet.name} by {level}. {nested}",
        question="Do the batches differ?",
        answer=" ".join(filter(None, (nested, *said(sheet, "observed against expected")))),
    )


def points_out(evaluation: Evaluation, sheet: Sheet, most: int | None = None) -> list[Block]:
    """List the points out of control, each with as many decimals as the limits that it is held against.

    Parameters
    ----------
    evaluation : Evaluation
    sheet : Sheet
    most : int, optional
        All of them, where absent.

    Returns
    -------
    list of Block
    """
    from linestudy.figures.report.process import places_of_limits

    points = sheet.verdict.facts.process.points
    if not points:
        return []
    frame = sheet.verdict.points_table()
    chart = chart_of(evaluation, sheet)
    value = next(name for name in frame if str(name).startswith("value"))
    if chart is not None:
        places = places_of_limits(chart)
        frame[value] = [
            f"{point.value:,.{places + (point.kind in SPREAD_KINDS)}f}" for point in points
        ]
    shown = with_something(frame)
    table = from_frame(f"{sheet.name}: points out of control", shown.head(most) if most else shown)
    more = len(points) - most if most else 0
    if more > 0:
        return [table, Text(f"The annex lists the other {more}.")]
    return [table]


def _fit(evaluation: Evaluation, sheet: Sheet, album: Album) -> list[Block]:
    from linestudy.capability import CapabilityStudy, MachineStudy, PositionStudy
    from linestudy.capability.sorting.truncated_study import TruncatedStudy
    from linestudy.shape import ShapeStudy

    found = evaluation.findings.get(sheet.item.id, "capability")
    short = evaluation.findings.get(sheet.item.id, "capability", "machine")
    if isinstance(short, MachineStudy) and sheet.verdict.facts.kind == "machine":
        found = short.study
    placed = evaluation.findings.get(sheet.item.id, "capability", "position")
    shape = evaluation.findings.get(sheet.item.id, "shape")
    sorted_out = evaluation.findings.get(sheet.item.id, "capability", "before_sorting")
    blocks: list[Block] = []
    reasons = said(sheet, "distribution")
    if isinstance(shape, ShapeStudy):
        from linestudy.figures.report.fit import quantiles

        fitted = shape.statement
        if isinstance(sorted_out, TruncatedStudy):
            fitted = f"Accepted parts only. {fitted}"
        blocks += album.take(
            f"{sheet.item.id} quantiles",
            partial(quantiles, shape),
            fitted,
            50,
            question="Do the values follow the distribution?",
            answer=fitted,
        )
    if isinstance(sorted_out, TruncatedStudy):
        from linestudy.figures.report.fit import before_sorting

        blocks += album.take(
            f"{sheet.item.id} sorting",
            partial(before_sorting, sorted_out),
            f"Accepted parts of {sheet.name} and the process that they come from.",
            50,
            question="What did sorting take away?",
            answer=f"{sorted_out.statement} {prose.SORTING}",
        )
    if isinstance(found, CapabilityStudy):
        from linestudy.figures.report.fit import between_limits, both_tails

        blocks += album.take(
            f"{sheet.item.id} histogram",
            partial(between_limits, found, target=sheet.item.nominal, bound=natural_bound(sheet)),
            f"Histogram of {sheet.name} with its limits.",
            50,
            question="Where do the values lie between the limits?",
            answer="Triangles: 0.135 % and 99.865 % points of the line.",
        )
        blocks += album.take(
            f"{sheet.item.id} tails",
            partial(both_tails, found, _decides_otherwise(sheet, shape)),
            f"Share of parts of {sheet.name} beyond each value.",
            50,
            question="How far do the tails reach?",
            answer=f"{prose.TAILS}{_decided_by_another(sheet, shape)}",
        )
    if isinstance(placed, PositionStudy):
        from linestudy.figures.report.fit import in_the_zone

        blocks += album.take(
            f"{sheet.item.id} zone",
            partial(in_the_zone, placed),
            placed.statement,
            50,
            question="Does the axis lie inside its zone?",
            answer=f"{prose.ZONE} {by_the_ellipse(placed, sheet)}",
        )
    lines = (*reasons, *said(sheet, "index"))
    if lines and (reasons or blocks):
        blocks.append(Bullets("", lines))
    question = _QUESTIONS["distribution" if _has_limits(sheet) else "distribution alone"]
    return [Heading(question, 2), *blocks] if blocks else []


def _decided_by_another(sheet: Sheet, shape: Any) -> str:
    """Say which distribution the index was decided by, where it is not the line drawn."""
    if _decides_otherwise(sheet, shape) is None:
        return ""
    stream = f" in stream {sheet.stream}" if sheet.stream not in ("all", BLANK) else ""
    index = sheet.verdict.facts.index
    by = "" if isinstance(index, Absent) else index.by
    return f" Diamond: {sheet.ppm} ppm outside{by}, which decides{stream}."


def _decides_otherwise(sheet: Sheet, shape: Any) -> float | None:
    """Return the ppm outside by the deciding description, where it is not the fitted line of all values."""
    facts, chosen = sheet.verdict.facts, getattr(shape, "chosen", None)
    if isinstance(facts.index, Absent) or chosen is None or not facts.index.family:
        return None
    if facts.index.family.startswith(chosen.family):
        return None
    return float(1e6 * facts.process.expected_outside / max(facts.process.n, 1))


def _strength(evaluation: Evaluation, sheet: Sheet, album: Album) -> list[Block]:
    """Show how a strength depends on a size that is read on every part."""
    from linestudy.gauges import StrengthAssurance

    blocks: list[Block] = []
    for path, found in evaluation.findings.of(sheet.item.id, "gauges").items():
        if isinstance(found, StrengthAssurance):
            from linestudy.figures.report.measuring import strength

            blocks += album.take(
                f"{sheet.item.id} {path[1]} strength",
                partial(strength, found),
                found.statement,
                question="Which size assures the strength?",
                answer=f"{found.statement} {prose.STRENGTH.format(100 * found.content, 100 * found.confidence)}",
            )
    return blocks


def _streams(evaluation: Evaluation, sheet: Sheet, readings: Readings, album: Album) -> list[Block]:
    index = sheet.verdict.facts.index
    if isinstance(index, Absent) or not index.by_stream or readings.tags.stream is None:
        return []
    from linestudy.figures.report.fit import StreamValues, side_by_side

    labels = np.asarray(readings.tags.stream).astype(str)
    places = places_of(evaluation, sheet.item, sheet.verdict.facts.process.sd)
    rows, shown = [], []
    for name in index.by_stream:
        values = readings.values[labels == name]
        mean, sd = exact_mean_and_sd(values)
        rows.append(
            (
                name,
                f"{values.size:,}",
                f"{mean:,.{places}f}",
                f"{sd:,.{places}f}",
                f"{values.min():,.{places}f}",
                f"{values.max():,.{places}f}",
                f"{index.by_stream[name]:.2f}",
            )
        )
        shown.append(StreamValues(name, values, f"Ppk {index.by_stream[name]:.2f}"))
    facts = sheet.verdict.facts
    unit = f" ({sheet.unit})" if sheet.unit else ""
    picture = album.take(
        f"{sheet.item.id} streams",
        partial(side_by_side, tuple(shown), lower=facts.lower, upper=facts.upper, unit=sheet.unit),
        "; ".join(f"{row[0]}: mean {row[2]}, SD {row[3]}, Ppk {row[6]}" for row in rows),
        50,
        question="Which stream decides?",
        answer=f"Lowest Ppk: {sheet.Ppk}, stream {sheet.stream}. Line: range; bar: middle half; diamond: mean.",
    )
    head = ("stream", "n", f"mean{unit}", f"SD{unit}", "smallest", "largest", "Ppk")
    table = Table(f"{sheet.name} by stream", head, tuple(rows), (False, *(True,) * 6))
    return [*picture, table]
