"""What the submission says, in order, before anyone decides how it looks on paper or on a page."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from linestudy.dossier.content import prose
from linestudy.dossier.content.blocks import (
    Album,
    Block,
    Bullets,
    Document,
    Heading,
    Section,
    Table,
    Text,
    from_frame,
)
from linestudy.dossier.content.detail import GAUGE_ROOMS, gauges, indices, sources
from linestudy.results import Finding, Unjudged
from linestudy.results.declared import Declaration, declaration_of
from linestudy.verdict import CharacteristicVerdict, resolve

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation
    from linestudy.study.model import Characteristic


def build(evaluation: Evaluation) -> Document:
    """Write the submission out of an evaluation.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    Document
    """
    album = Album()
    study = evaluation.study
    sections = [
        Section("Decisions", tuple(_decisions(evaluation, album))),
        *(
            Section(item.name, tuple(_characteristic(evaluation, item, album)))
            for item in study.characteristics
        ),
        Section("Gauges in detail", tuple(gauges(evaluation))),
        Section("Distributions and indices in detail", tuple(indices(evaluation, album))),
        Section("Sources of variation and the control plan", tuple(sources(evaluation, album))),
        Section("The part as a whole", tuple(_whole(evaluation, album)), fresh=False),
        Section("Ledger of rows", tuple(_ledger(evaluation))),
        Section("Criteria", (_criteria(evaluation),), fresh=False),
        Section("Methods and references", tuple(_methods())),
        Section("How to recompute", tuple(_recompute(evaluation)), fresh=False),
        Section("Cautions at the line", tuple(Text(t) for t in prose.SAFETY), fresh=False),
    ]
    return Document(
        title=study.head.title,
        facts=_facts(evaluation),
        claim=_claim(evaluation),
        release=prose.RELEASE,
        sections=tuple(section for section in sections if section.blocks),
        pictures=album.pictures,
    )


def _facts(evaluation: Evaluation) -> tuple[tuple[str, str], ...]:
    head = evaluation.study.head
    named = (
        ("Part", head.part),
        ("Revision", head.revision),
        ("Supplier", head.supplier),
        ("Customer", head.customer),
        ("Date", head.date),
        ("Confidence of all intervals", f"{head.confidence:.0%}"),
    )
    return tuple((name, value) for name, value in named if value)


def _claim(evaluation: Evaluation) -> str:
    verdict: Any = evaluation.findings.get(None, "verdict")
    return str(verdict.statement)


def _verdict_of(evaluation: Evaluation, key: str) -> CharacteristicVerdict:
    verdict = evaluation.findings.get(key, "verdict")
    assert isinstance(verdict, CharacteristicVerdict)
    return verdict


def _decisions(evaluation: Evaluation, album: Album) -> list[Block]:
    verdict: Any = evaluation.findings.get(None, "verdict")
    blocks: list[Block] = [
        Text(prose.DECISIONS),
        from_frame("Decision per characteristic", verdict.shown()),
    ]
    blocks += album.take("decisions", verdict.figure, verdict.alt_text)
    objections = []
    for item in evaluation.study.characteristics:
        own = _verdict_of(evaluation, item.id)
        objections += [f"{item.name}: {reason}" for reason in own.objections]
    if objections:
        blocks.append(Heading("What may not be claimed without more", 2))
        blocks.append(Bullets(prose.OBJECTIONS, tuple(objections)))
    missing = evaluation.not_evaluated()
    if missing:
        names = tuple(
            f"{evaluation.study.characteristic(name).name}: role {role}{f', gauge {gauge}' if gauge else ''}"
            for name, role, gauge in missing
        )
        blocks.append(Bullets("Recorded, not yet evaluated:", names))
    return blocks


def _criteria(evaluation: Evaluation) -> Table:
    items = resolve(evaluation.study.criteria).items.values()
    rows = tuple((prose.CRITERIA.get(i.key, i.key), _criterion(i.value), i.source) for i in items)
    usual = resolve(evaluation.study.criteria)
    for one in evaluation.study.characteristics:
        own = resolve(evaluation.study.criteria, one).items
        rows += tuple(
            (f"{one.name}: {prose.CRITERIA.get(key, key)}", _criterion(i.value), i.source)
            for key, i in own.items()
            if i != usual[key]
        )
    return Table("Criteria and whose they are", ("criterion", "value", "from"), rows, (False,) * 3)


def _criterion(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:g}"


def _characteristic(evaluation: Evaluation, item: Characteristic, album: Album) -> list[Block]:
    verdict = _verdict_of(evaluation, item.id)
    blocks: list[Block] = [Text(verdict.statement, strong=True)]
    if verdict.objections:
        blocks.append(Bullets("What speaks against the claim:", verdict.objections))
    blocks.append(from_frame(f"{item.name}: every rule and what it says", verdict.shown()))
    if verdict.facts.process.points:
        blocks.append(
            from_frame(f"{item.name}: points beyond the chart's limits", verdict.points_table())
        )
    shown = _with_characteristic(evaluation, item)
    deciding = _first_of_each(shown)
    heading = ""
    for declared, path, finding in shown:
        question = prose.QUESTIONS[declared.question]
        if question != heading:
            blocks.append(Heading(question, 2))
            heading = question
        pictured = bool(declared.picture) and path in deciding
        # Another gauge than the deciding one, or an addition to the index: its cautions stand elsewhere.
        brief = declared.brief or (bool(declared.picture) and not pictured)
        blocks += _told(evaluation, finding, path, brief=brief)
        if pictured:
            figure = partial(_figure, evaluation, item, finding, path)
            name = f"{item.id} {' '.join(path)}"
            blocks += album.take(name, figure, finding.alt_text, declared.picture)
        whole = len(declared.path) == 1 and not isinstance(finding, Unjudged)
        if declared.with_table and whole and declared.question == "fit":
            blocks.append(from_frame(f"{item.name}: indices and rates", finding.shown()))
    return blocks


def _with_characteristic(
    evaluation: Evaluation, item: Characteristic
) -> list[tuple[Declaration, tuple[str, ...], Finding]]:
    """Findings that stand on the pages of a characteristic, in the order of its questions."""
    questions = list(prose.QUESTIONS)
    found = []
    for path, finding in evaluation.findings.of(item.id).items():
        declared = declaration_of(path)
        if declared is not None and declared.part == "characteristic":
            found.append((declared, path, finding))
    return sorted(
        found, key=lambda one: (questions.index(one[0].question), _gauge_of(one[1]), one[0].order)
    )


def _gauge_of(path: tuple[str, ...]) -> tuple[bool, str]:
    """Studies of one gauge stay together; what no gauge is named in comes after them."""
    return (False, path[1]) if path[0] == "gauges" else (True, "")


def _first_of_each(
    shown: list[tuple[Declaration, tuple[str, ...], Finding]],
) -> set[tuple[str, ...]]:
    """Findings whose picture is shown: for each question's room the first, that of the deciding gauge."""
    first: dict[str, tuple[str, ...]] = {}
    for declared, path, _ in shown:
        if declared.picture:
            first.setdefault(path[0], path)
    return set(first.values())


def _figure(
    evaluation: Evaluation, item: Characteristic, finding: Finding, path: tuple[str, ...]
) -> Any:
    if path == ("stability",) and not isinstance(finding, Unjudged):
        return finding.figure(events=events_of(evaluation, item))
    return finding.figure()


def events_of(evaluation: Evaluation, item: Characteristic) -> tuple[tuple[float, str], ...]:
    """Events that bear on a characteristic, as (order number, name)."""
    return tuple(
        (float(event.at), event.name)
        for event in evaluation.study.events
        if event.at is not None and event.concerns(item.id)
    )


def _told(
    evaluation: Evaluation, finding: Finding, path: tuple[str, ...], brief: bool = False
) -> list[Block]:
    who = ""
    if len(path) > 2 and path[0] == "gauges":
        known = {gauge.id: gauge.name for gauge in evaluation.study.gauges}
        who = f"{known.get(path[1], path[1])}: "
    blocks: list[Block] = [Text(f"{who}{finding.statement}")]
    if finding.cautions and not brief:
        blocks.append(Bullets("Note:", finding.cautions))
    return blocks


def _whole(evaluation: Evaluation, album: Album) -> list[Block]:
    blocks: list[Block] = []
    shown = []
    for path, finding in evaluation.findings.of(None).items():
        declared = declaration_of(path, of_study=True)
        if declared is not None and declared.part == "annex" and path[0] not in GAUGE_ROOMS:
            shown.append((declared.order, path, declared, finding))
    for _, path, declared, finding in sorted(shown, key=lambda one: one[:2]):
        blocks += _told(evaluation, finding, path)
        if declared.picture and not isinstance(finding, Unjudged):
            blocks += album.take(path[0], finding.figure, finding.alt_text, declared.picture)
    return blocks


def _ledger(evaluation: Evaluation) -> list[Block]:
    ledger = evaluation.records.ledger
    blocks: list[Block] = [Text(ledger.statement), from_frame("Rows", ledger.table())]
    values = ledger.values()
    if len(values):
        values = values[values["values"] > 0]
    if len(values):
        blocks.append(from_frame("Single values set aside within the rows used", values))
    seen = evaluation.records.screening.table()
    if len(seen):
        blocks.append(from_frame("Noticed while screening, and left as it is", seen))
    periods = evaluation.study.set_aside
    if periods:
        named = tuple(
            f"{p.first if p.first is not None else p.begin} to {p.last if p.last is not None else p.end}: {p.reason}"
            for p in periods
        )
        blocks.append(Bullets("Periods set aside by study.toml:", named))
    return blocks


def _methods() -> list[Block]:
    return [
        Table(
            "What was computed, and where the formula stands",
            ("method", "source"),
            prose.METHODS,
            (False, False),
        )
    ]


def _recompute(evaluation: Evaluation) -> list[Block]:
    versions = tuple((name, version) for name, version in evaluation.versions.items())
    return [
        *(Text(text) for text in prose.RECOMPUTE),
        Table("Versions the numbers depend on", ("software", "version"), versions, (False, False)),
    ]
