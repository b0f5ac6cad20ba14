"""The rest of the report: measurement systems side by side, control plan, attachments."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from typing import TYPE_CHECKING, Any

from linestudy.dossier.content import prose
from linestudy.dossier.content.blocks import Album, Block, Heading, Table, Text
from linestudy.dossier.content.sheet import Sheet
from linestudy.gauges import AgreementStudy, CrossedStudy, DriftStudy, LinearityStudy
from linestudy.results import Finding, Interval, counted, show
from linestudy.results.rounding import as_given
from linestudy.verdict import resolve

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation


def measurement_systems(
    evaluation: Evaluation, known: tuple[Sheet, ...], album: Album
) -> list[Block]:
    """One picture for each characteristic and gauge, a line of numbers under it.

    Parameters
    ----------
    evaluation : Evaluation
    known : tuple of Sheet
    album : Album

    Returns
    -------
    list of Block
    """
    from linestudy.figures.report.measuring import Measured, gauge_studies

    blocks: list[Block] = []
    for sheet in known:
        for gauge, found in _by_gauge(evaluation, sheet).items():
            facts = sheet.verdict.facts
            criteria = resolve(evaluation.study.criteria, sheet.item)
            width = facts.gauge.width
            drawn = Measured(
                **found,
                lower=facts.lower,
                upper=facts.upper,
                unit=sheet.unit,
                allowed=criteria["bias_share"].number * width if width else None,
            )
            if not drawn.shown:
                continue
            answer = _line(found, sheet)
            blocks += album.take(
                f"{sheet.item.id} {gauge} studies",
                partial(gauge_studies, drawn),
                f"{sheet.name}, {gauge}: {answer}",
                question=f"{sheet.name}, {gauge}: do readings agree with themselves, with masters, over time, with another gauge?",
                answer=answer,
            )
    return [Text(prose.GAUGES), *blocks] if blocks else []


def _by_gauge(evaluation: Evaluation, sheet: Sheet) -> dict[str, dict[str, Any]]:
    """Studies that have a picture, by the name of the gauge that decides; other gauges are in the annex."""
    names = {gauge.id: gauge.name for gauge in evaluation.study.gauges}
    kinds = {
        "crossed": CrossedStudy,
        "linearity": LinearityStudy,
        "drift": DriftStudy,
    }
    found: dict[str, dict[str, Any]] = {}
    for path, finding in evaluation.findings.of(sheet.item.id, "gauges").items():
        kind = kinds.get(path[-1])
        if kind is not None and isinstance(finding, kind):
            found.setdefault(names.get(path[1], path[1]), {})[path[-1]] = finding
    for path, finding in evaluation.findings.of(sheet.item.id, "agreement").items():
        if isinstance(finding, AgreementStudy):
            first = path[1].split("~")[0]
            found.setdefault(names.get(first, first), {})["agreement"] = finding
    deciding = sheet.verdict.facts.gauge.name
    return {name: studies for name, studies in found.items() if name == deciding}


def _line(found: dict[str, Finding], sheet: Sheet) -> str:
    """One line of numbers."""
    facts, unit = sheet.verdict.facts.gauge, f" {sheet.unit}" if sheet.unit else ""
    said = []
    crossed: Any = found.get("crossed")
    if crossed is not None:
        design = crossed.design
        people = f", {counted(design.appraisers, 'appraiser')}" if design.appraisers > 1 else ""
        if isinstance(facts.share, Interval):
            share = facts.share.times(100)
            said.append(
                f"%GRR {sheet.grr} % ({share.low:.1f} to {share.high:.1f} %), ndc {sheet.ndc} "
                f"({counted(design.parts, 'part')}{people}, {counted(round(design.trials), 'trial')})"
            )
    for where, value in facts.bias.items():
        said.append(f"bias at {where} {_signed(value)}{unit}")
    if facts.drift is not None:
        said.append(f"drift between resets {_signed(facts.drift)}{unit}")
    agreement: Any = found.get("agreement")
    if agreement is not None:
        said.append(
            f"{agreement.first} − {agreement.second} {_signed(agreement.mean_difference)}{unit} "
            f"({counted(agreement.n, 'part')})"
        )
    return "; ".join(said) + "."


def _signed(value: Interval) -> str:
    text = show(value)
    return text if text.startswith(("-", "−", "0.0")) and value.estimate <= 0 else f"+{text}"


def control_plan(evaluation: Evaluation, known: tuple[Sheet, ...]) -> list[Block]:
    """Lines of the control plan: those of study.toml, else what the studies advise, marked as such.

    Parameters
    ----------
    evaluation : Evaluation
    known : tuple of Sheet

    Returns
    -------
    list of Block
    """
    told = {line.characteristic: line for line in evaluation.study.file.control}
    rows = []
    for sheet in known:
        line, advised = told.get(sheet.item.id), _advised(evaluation, sheet)
        gauge = sheet.verdict.facts.gauge.name
        known_gauge = "" if gauge == "the gauge" else gauge
        rows.append(
            (
                sheet.name,
                (line.gauge if line else None) or known_gauge,
                (line.size if line else None) or advised.get("size", ""),
                (line.frequency if line else None) or advised.get("frequency", ""),
                (line.chart if line else None) or advised.get("chart", ""),
                (line.reaction if line else None) or "",
            )
        )
    head = ("characteristic", "gauge", "sample", "frequency", "chart and limits", "reaction")
    blocks: list[Block] = [
        Text(prose.CONTROL),
        Table("Control plan lines", head, tuple(rows), (False,) * 6, wide=(5,)),
    ]
    wear = _wear(evaluation, known)
    return [*blocks, *wear]


def _advised(evaluation: Evaluation, sheet: Sheet) -> dict[str, str]:
    from linestudy.stability import ChartStudy, SamplingPlan

    found: dict[str, str] = {}
    plan = evaluation.findings.get(sheet.item.id, "stability", "sampling_plan")
    if isinstance(plan, SamplingPlan):
        found["size"] = counted(plan.size, "part")
        found["frequency"] = f"every {plan.interval_minutes:.0f} min"
    chart = evaluation.findings.get(sheet.item.id, "stability")
    if isinstance(chart, ChartStudy):
        places = max(0, len(sheet.mean.partition(".")[2]))
        low, high = chart.limits
        unit = f" {sheet.unit}" if sheet.unit else ""
        kind = chart.chart.replace("mean and standard deviation", "X̄ and S")
        size = f", n = {chart.subgroup_size:.0f}" if chart.subgroup_size > 1 else ""
        found["chart"] = f"{kind}{size}: {low:.{places}f} to {high:.{places}f}{unit}"
    return found


def _wear(evaluation: Evaluation, known: tuple[Sheet, ...]) -> list[Block]:
    from linestudy.stability import ToolWearStudy

    rows = []
    for sheet in known:
        found = evaluation.findings.get(sheet.item.id, "stability", "tool_wear")
        if not isinstance(found, ToolWearStudy) or not isinstance(found.strokes_left, Interval):
            continue
        limit = "" if found.limit is None else f"{as_given(found.limit)} {sheet.unit}".strip()
        rows.append(
            (
                sheet.name,
                _signed(found.slope_per_thousand),
                limit,
                f"{found.strokes_left.estimate:,.0f}",
                f"{found.strokes_left.low:,.0f}",
            )
        )
    if not rows:
        return []
    head = (
        "characteristic",
        "mean per 1,000 strokes (95 % interval)",
        "limit reached",
        "strokes left",
        "at least",
    )
    return [
        Table(
            "Tool life, as far as the run shows",
            head,
            tuple(rows),
            (False, False, False, True, True),
        ),
        Text(prose.WEAR),
    ]


def attachments(evaluation: Evaluation) -> list[Block]:
    """The register of files that belong to the submission and are not judged here.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    list of Block
    """
    from linestudy.records.files import sha256

    rows = []
    for number, entry in enumerate(evaluation.study.file.attachment, start=1):
        file = evaluation.study.folder / entry.file if entry.file else None
        there = file is not None and file.is_file()
        rows.append(
            (
                entry.number or f"{number}",
                entry.title,
                entry.file or "",
                sha256(file)[:16] if there and file is not None else "",
            )
        )
    if not rows:
        rows = [(f"{n}", title, "", "") for n, title in enumerate(prose.USUAL_ATTACHMENTS, start=1)]
    head = ("no.", "document", "file", "SHA-256 (first 16)")
    return [
        Text(prose.ATTACHMENTS),
        Table("Attachments", head, tuple(rows), (False,) * 4, wide=(1, 2)),
    ]


def few(names: Iterable[str], most: int = 6) -> str:
    """Names in a row, the first of many.

    Parameters
    ----------
    names : iterable of str
    most : int

    Returns
    -------
    str
    """
    listed = list(names)
    more = f", … ({len(listed)})" if len(listed) > most else ""
    return ", ".join(listed[:most]) + more


def equipment(evaluation: Evaluation) -> list[Block]:
    """Gauges, masters and appraisers, as far as the study names them.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    list of Block
    """
    gauges = evaluation.study.gauges
    if not gauges:
        return _masters_and_people(evaluation)
    rows = []
    for gauge in gauges:
        unit = f" {gauge.unit}" if gauge.unit else ""
        share = f" (k = {gauge.coverage:g})" if gauge.expanded_uncertainty else ""
        rows.append(
            (
                gauge.name,
                gauge.serial or "",
                f"{as_given(gauge.resolution)}{unit}" if gauge.resolution else "",
                f"{as_given(gauge.range[0])} to {as_given(gauge.range[1])}{unit}"
                if gauge.range
                else "",
                f"{as_given(gauge.expanded_uncertainty)}{unit}{share}"
                if gauge.expanded_uncertainty
                else "",
                gauge.certificate or "",
                gauge.due or "",
            )
        )
    head = (
        "equipment",
        "serial no.",
        "resolution",
        "range",
        "U of calibration",
        "certificate",
        "due",
    )
    return [
        Heading("Equipment", 2),
        Table(
            "Equipment that was measured with",
            head,
            tuple(rows),
            (False,) * len(head),
            wide=(1, 5, 6),
        ),
        *_masters_and_people(evaluation),
    ]


def _masters_and_people(evaluation: Evaluation) -> list[Block]:
    file = evaluation.study.file
    gauges = {gauge.id: gauge.name for gauge in evaluation.study.gauges}
    names = {item.id: item.name for item in evaluation.study.characteristics}
    blocks: list[Block] = []
    if file.master:
        masters = tuple(
            (
                one.name,
                gauges.get(one.gauge or "", ""),
                names.get(one.characteristic or "", ""),
                one.expanded_uncertainty or "",
                one.certificate or "",
                one.due or "",
            )
            for one in file.master
        )
        head = ("master", "for", "characteristic", "U", "certificate", "due")
        blocks.append(Table("Masters", head, masters, (False,) * 6))
    people = _people(evaluation)
    if people:
        titles = ("appraisers", "measured or judged", "role", "training")
        blocks.append(Table("Appraisers", titles, people, (False,) * 4, wide=(2, 3)))
    return blocks


def _people(evaluation: Evaluation) -> tuple[tuple[str, str, str, str], ...]:
    """Everybody whom a gauge study names, with what study.toml says of them."""
    gauges = {gauge.id: gauge.name for gauge in evaluation.study.gauges}
    told = {one.name: one for one in evaluation.study.file.appraiser}
    where: dict[str, dict[str, None]] = {name: {} for name in told}
    for source in evaluation.records.sources:
        if "appraiser" not in source.frame:
            continue
        what = gauges.get(source.data.gauge or "", "judgements")
        for name in dict.fromkeys(source.frame["appraiser"].dropna().astype(str)):
            where.setdefault(name, {})[what] = None
    if not told:
        groups: dict[str, list[str]] = {}
        for name, measured in where.items():
            groups.setdefault(", ".join(measured), []).append(name)
        return tuple((few(names, 12), title, "", "") for title, names in groups.items())
    rows = []
    for name, measured in where.items():
        one = told.get(name)
        rows.append(
            (
                name,
                ", ".join(measured),
                (one.role or "") if one else "",
                (one.training or "") if one else "",
            )
        )
    return tuple(rows[:24])
