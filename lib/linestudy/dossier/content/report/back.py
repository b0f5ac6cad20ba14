"""The rest of the report: measurement systems side by side, attachments."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import partial
from typing import TYPE_CHECKING, Any

from linestudy.capability import DimensionResult, LayoutStudy
from linestudy.dossier.content import prose
from linestudy.dossier.content.elements import Album, Block, Bullets, Table, Text
from linestudy.dossier.content.report.equipment import few
from linestudy.dossier.content.sheet import Sheet
from linestudy.gauges import (
    AgreementStudy,
    CrossedStudy,
    DriftStudy,
    LinearityStudy,
    UncertaintyStudy,
)
from linestudy.gauges.evaluation import order_counts
from linestudy.results import Finding, Interval, counted
from linestudy.results.rounding import alike, as_given, signed
from linestudy.verdict import resolve

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation


def measurement_systems(
    evaluation: Evaluation, known: tuple[Sheet, ...], album: Album
) -> list[Block]:
    """Lay out one picture for each characteristic and gauge, with a line of numbers under it.

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
                axis=order_counts(evaluation.study, sheet.item.id, "drift"),
            )
            if not drawn.shown:
                continue
            answer = _line(found, sheet)
            blocks += album.take(
                f"{sheet.item.id} {gauge} studies",
                partial(gauge_studies, drawn),
                f"{sheet.name}, {gauge}: {answer}",
                question=f"{sheet.name}, {gauge}: {_asked(drawn.shown)}",
                answer=answer,
            )
            blocks += _uncertainty(evaluation, sheet, gauge, album)
    return [Text(prose.GAUGES.format(confidence=known[0].confidence)), *blocks] if blocks else []


#: What each panel of the picture of a gauge asks.
_ASKED = {
    "crossed": "with themselves",
    "linearity": "with masters",
    "drift": "over time",
    "agreement": "with another gauge",
}


def _asked(shown: list[str]) -> str:
    """Word the question of the picture from what is drawn."""
    return f"do readings agree {', '.join(_ASKED[name] for name in shown)}?"


def _uncertainty(evaluation: Evaluation, sheet: Sheet, gauge: str, album: Album) -> list[Block]:
    """Draw the deciding gauge's uncertainty budget and what its readings prove near the limits."""
    from linestudy.figures.report.uncertainty import budget_and_zones

    key = next((one.id for one in evaluation.study.gauges if one.name == gauge), "")
    found = evaluation.findings.get(sheet.item.id, "gauges", key, "uncertainty")
    facts = sheet.verdict.facts
    if not isinstance(found, UncertaintyStudy) or found.acceptance == (None, None):
        return []
    process = facts.process
    run = (process.smallest, process.largest) if math.isfinite(process.smallest) else None
    return album.take(
        f"{sheet.item.id} {gauge} uncertainty",
        partial(budget_and_zones, found, lower=facts.lower, upper=facts.upper, run=run),
        f"{sheet.name}, {gauge}: {found.statement}",
        question=f"{sheet.name}, {gauge}: what makes up the uncertainty, and what does a reading prove?",
        answer=f"{found.statement} {prose.ZONES}",
    )


def _by_gauge(evaluation: Evaluation, sheet: Sheet) -> dict[str, dict[str, Any]]:
    """Collect the studies with a picture under the name of the gauge that decides."""
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
    """Write one line of numbers about a measurement system."""
    facts = sheet.verdict.facts.gauge
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
        said.append(f"bias at {where} {signed(value, sheet.unit)}")
    if facts.drift is not None:
        said.append(f"drift between resets {signed(facts.drift, sheet.unit)}")
    agreement: Any = found.get("agreement")
    if agreement is not None:
        said.append(
            f"{agreement.first} − {agreement.second} {signed(agreement.mean_difference, sheet.unit)} "
            f"({counted(agreement.n, 'part')})"
        )
    return "; ".join(said) + "."


def attachments(evaluation: Evaluation) -> list[Block]:
    """Lay out the register of files that belong to the submission and are not judged here.

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
        return []
    head = ("no.", "document", "file", "SHA-256 (first 16)")
    return [
        Text(prose.ATTACHMENTS),
        Table("Attachments", head, tuple(rows), (False,) * 4, wide=(1, 2)),
    ]


def layout(evaluation: Evaluation) -> LayoutStudy | None:
    """Return the layout as it was judged; None where the study has none.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    LayoutStudy or None
    """
    found = evaluation.findings.get(None, "layout")
    return found if isinstance(found, LayoutStudy) else None


def dimensional_results(evaluation: Evaluation) -> list[Block]:
    """Tabulate every drawing characteristic measured once or a few times, against its limits.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    list of Block
    """
    study = layout(evaluation)
    if study is None:
        return []
    found = study.dimensions
    rows = tuple(
        (
            one.number,
            one.name,
            "" if one.nominal is None else as_given(one.nominal),
            limits_in_words(one.lower, one.upper),
            one.unit,
            few((*alike(one.values), *one.words), 12),
            one.gauge,
            one.result,
        )
        for one in found
    )
    head = ("no.", "characteristic", "nominal", "limits", "unit", "measured", "gauge", "result")
    kept = [at for at in range(len(head)) if any(row[at] for row in rows)]
    table = Table(
        "Dimensional results",
        tuple(head[at] for at in kept),
        tuple(tuple(row[at] for at in kept) for row in rows),
        tuple(head[at] == "nominal" for at in kept),
        small=True,
    )
    doubts = limits_that_differ(evaluation, found)
    return [Text(study.statement), *([Bullets("", doubts)] if doubts else []), table]


def limits_in_words(lower: float | None, upper: float | None) -> str:
    """Write limits as text; empty where there are none.

    Parameters
    ----------
    lower, upper : float or None

    Returns
    -------
    str
    """
    if lower is not None and upper is not None:
        return f"{as_given(lower)} to {as_given(upper)}"
    if lower is not None:
        return f"at least {as_given(lower)}"
    return "" if upper is None else f"at most {as_given(upper)}"


def limits_that_differ(evaluation: Evaluation, found: Iterable[DimensionResult]) -> tuple[str, ...]:
    """List characteristics whose limits in the layout differ from those they are judged by.

    Parameters
    ----------
    evaluation : Evaluation
    found : iterable of DimensionResult

    Returns
    -------
    tuple of str
    """
    by_number = {item.number: item for item in evaluation.study.characteristics if item.number}
    lines = []
    for one in found:
        item = by_number.get(one.number)
        if item is None or (one.unit and item.unit and one.unit != item.unit):
            continue
        if (one.lower, one.upper) != (item.lower, item.upper):
            here, there = (
                limits_in_words(side.lower, side.upper) or "not given" for side in (one, item)
            )
            lines.append(
                f"{item.name} (number {one.number}): limits {here} here, {there} where its capability is judged. "
                "One of them is wrong."
            )
    return tuple(lines)
