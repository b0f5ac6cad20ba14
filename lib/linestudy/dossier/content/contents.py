"""What the submission says, in order, before anyone decides how it looks on paper or on a page."""

from __future__ import annotations

import re
from functools import partial
from typing import TYPE_CHECKING, Any

from linestudy.capability import JointStudy, YieldStudy
from linestudy.dossier.content import prose
from linestudy.dossier.content.cautions.destinations import conditions, notes_on_methods
from linestudy.dossier.content.detail import GAUGE_PLACES, gauges, indices, of_each_stream, sources
from linestudy.dossier.content.elements import (
    Album,
    Block,
    Bullets,
    Document,
    Heading,
    Section,
    Table,
    Text,
    from_frame,
    with_something,
)
from linestudy.dossier.content.report.back import (
    attachments,
    dimensional_results,
    measurement_systems,
)
from linestudy.dossier.content.report.control import control_plan
from linestudy.dossier.content.report.front import decision_sheet, measured_and_sampled
from linestudy.dossier.content.report.pages import MOST_POINTS, pages, points_out
from linestudy.dossier.content.sheet import Sheet, sheets
from linestudy.results import Absent, Finding, Unjudged
from linestudy.results.declared import declaration_of
from linestudy.results.tables import listed
from linestudy.study.model import ROLE_WORDS
from linestudy.verdict import resolve
from linestudy.verdict.rulings import APPROVAL, FAILS, NONE, SUPPORTS, UNKNOWN

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation
    from linestudy.study.events import SetAside


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
    known = sheets(evaluation)
    report = [
        Section("Decisions", tuple(decision_sheet(evaluation, known))),
        Section(
            "How it was measured and sampled", tuple(measured_and_sampled(evaluation, known, album))
        ),
        *(
            Section(
                name,
                tuple(pages(evaluation, one, album)),
                fresh=one.verdict.facts.process.n > 0
                and one.verdict.facts.kind == "process"
                and one.verdict.facts.circumstances.in_time,
            )
            for name, one in zip(_headings(known), known, strict=True)
        ),
        Section(
            "Measurement systems", tuple(measurement_systems(evaluation, known, album)), fresh=False
        ),
        Section("Control plan", tuple(control_plan(evaluation, known)), fresh=False),
        Section("Dimensional results", tuple(dimensional_results(evaluation)), fresh=False),
        Section("Attachments", tuple(attachments(evaluation)), fresh=False),
    ]
    annex = [
        ("Rules and criteria", _rules(evaluation, known)),
        ("Data record", _record(evaluation)),
        ("Gauge studies", gauges(evaluation)),
        ("Distributions and indices", indices(evaluation)),
        ("Sources of variation", [*sources(evaluation), *_all_points(evaluation, known)]),
        ("The part as a whole", _whole(evaluation, known, album)),
        ("Methods and references", _methods(evaluation)),
        ("How to recompute", _recompute(evaluation)),
    ]
    sections = report + [
        Section(heading, tuple(blocks), fresh=number == 0, annex=True)
        for number, (heading, blocks) in enumerate(pair for pair in annex if pair[1])
    ]
    return Document(
        title=study.head.title,
        facts=_facts(evaluation),
        sections=tuple(section for section in sections if section.blocks),
        pictures=album.pictures,
        names=frozenset(evaluation.names()),
    )


def _headings(known: tuple[Sheet, ...]) -> list[str]:
    """Write names as headings; behind the section's number a name that begins with a number needs a word between them."""
    if not any(one.name[:1].isdigit() for one in known):
        return [one.name for one in known]
    return [
        f"No. {one.number}: {one.name}" if one.number else f"Characteristic: {one.name}"
        for one in known
    ]


def _facts(evaluation: Evaluation) -> tuple[tuple[str, str], ...]:
    head = evaluation.study.head
    named = (
        ("Part", head.part),
        ("Revision", head.known_revision),
        ("Supplier", head.supplier),
        ("Customer", head.customer),
        ("Date", head.date),
        ("Confidence of all intervals", f"{100 * head.confidence:g} %"),
    )
    return tuple((name, value) for name, value in named if value)


#: How the table of rules shows what a rule says.
_SIGNS = {SUPPORTS: "yes", NONE: "–", APPROVAL: "approval", FAILS: "no", UNKNOWN: "open"}


def _rules(evaluation: Evaluation, known: tuple[Sheet, ...]) -> list[Block]:
    """Lay out every rule for every characteristic in one table, and the criteria with their sources."""
    names: dict[str, None] = {}
    for sheet in known:
        names.update(dict.fromkeys(ruling.rule for ruling in sheet.verdict.rulings))
    effects = [
        {ruling.rule: _SIGNS[ruling.effect] for ruling in sheet.verdict.rulings} for sheet in known
    ]
    # A rule that nothing in the folder is about says the same of every characteristic, in one sentence.
    silent = [rule for rule in names if not _says_anything(rule, effects)]
    rows = tuple(
        (prose.RULE_NAMES.get(rule, rule), *(one.get(rule, _SIGNS[NONE]) for one in effects))
        for rule in names
        if rule not in silent
    )
    heads, legend = _heads(known)
    head = ("rule", *heads)
    blocks: list[Block] = [
        Text(prose.RULES),
        Table(f"What each rule says{legend}", head, rows, (False,) * len(head), small=True),
    ]
    if silent:
        named = listed(prose.RULE_NAMES.get(rule, rule) for rule in silent)
        blocks.append(Text(f"These rules had nothing to judge, for any characteristic: {named}."))
    return [*blocks, _criteria(evaluation)]


def _says_anything(rule: str, effects: list[dict[str, str]]) -> bool:
    return any(one.get(rule, _SIGNS[NONE]) != _SIGNS[NONE] for one in effects)


#: Letters of all names together that fit the head of a table.
_HEAD_ROOM = 110


def _heads(known: tuple[Sheet, ...]) -> tuple[list[str], str]:
    """Choose the heads of one column for each characteristic: names, or numbers that the caption explains."""
    names = [sheet.name for sheet in known]
    if sum(map(len, names)) <= _HEAD_ROOM:
        return names, ""
    numbers = [sheet.number for sheet in known]
    if not all(numbers) or len(set(numbers)) < len(numbers):
        numbers = [str(at) for at in range(1, len(known) + 1)]
    pairs = zip(numbers, names, strict=True)
    return numbers, f" ({'; '.join(f'{number}: {name}' for number, name in pairs)})"


def _criteria(evaluation: Evaluation) -> Table:
    items = resolve(evaluation.study.criteria).items.values()
    rows = tuple((i.name, i.shown, i.source) for i in items)
    usual = resolve(evaluation.study.criteria)
    for one in evaluation.study.characteristics:
        own = resolve(evaluation.study.criteria, one).items
        rows += tuple(
            (f"{one.name}: {i.name}", i.shown, i.source)
            for key, i in own.items()
            if i != usual[key]
        )
    return Table("Criteria and their sources", ("criterion", "value", "source"), rows, (False,) * 3)


def _all_points(evaluation: Evaluation, known: tuple[Sheet, ...]) -> list[Block]:
    found: list[Block] = []
    for one in known:
        if len(one.verdict.facts.process.points) > MOST_POINTS:
            found += points_out(evaluation, one)
    return found


def _together(found: JointStudy, known: tuple[Sheet, ...], album: Album) -> list[Block]:
    """Lay out the joint study: all limits at once."""
    of = [found.name_of(str(key)) for key in found.correlations]
    whose = listed(of) if len(of) <= _LISTED else f"The {len(of)} characteristics of the figure"
    said = f"{whose}, of the same parts. {found.statement}"
    expected = found.expected
    if not isinstance(expected, Absent) and _most_expected(known) > 1.05 * expected.ppm.estimate:
        said += f" {prose.WHOLE_BY_ALL_VALUES}"
    blocks: list[Block] = [Text(said)]
    # The correlation of a single pair is a number and needs no picture.
    if len(of) > 2:
        blocks += _asked(album, "joint", found)
    return blocks


#: Characteristics that a sentence about several lists by name.
_LISTED = 7


def _most_expected(known: tuple[Sheet, ...]) -> float:
    """Return the largest fraction expected outside the limits of one characteristic [ppm]."""
    processes = [one.verdict.facts.process for one in known]
    return max((1e6 * one.expected_outside / one.n for one in processes if one.n), default=0.0)


#: Questions of the pictures of the part as a whole, which are set above them as for all figures.
_QUESTIONS = {
    "joint": "Which characteristics are correlated?",
    "yield": "What are parts rejected for, and where?",
    "rejects": "Were as many parts rejected as predicted?",
    "bin_chart": "Is the rate of nonconforming parts in statistical control?",
}


def _asked(album: Album, name: str, finding: Finding) -> list[Block]:
    """Draw a finding's picture with its question as heading instead of inside."""
    question = _QUESTIONS.get(name, "")
    draw = partial(_untitled, finding) if question else finding.figure
    return album.take(name, draw, finding.alt_text, question=question)


def _untitled(finding: Finding) -> Any:
    figure = finding.figure()
    if figure is not None:
        figure.axes[0].set_title("", loc="left")
    return figure


def _holds_accepted_parts_only(evaluation: Evaluation) -> bool:
    """Check whether the log has no rejected part although the bins count some."""
    verdict: Any = evaluation.findings.get(None, "verdict")
    records = [item.facts.record for item in verdict.verdicts.values() if item.facts.record.bins]
    return any(one.bins[1] > 0 and one.bins[3] == 0 for one in records)


def _whole(evaluation: Evaluation, known: tuple[Sheet, ...], album: Album) -> list[Block]:
    blocks: list[Block] = []
    shown = []
    for path, finding in evaluation.findings.of(None).items():
        declared = declaration_of(path, of_study=True)
        if declared is not None and declared.part == "annex" and path[0] not in GAUGE_PLACES:
            shown.append((declared.order, path, declared, finding))
    for _, path, declared, finding in sorted(shown, key=lambda one: one[:2]):
        if isinstance(finding, JointStudy):
            blocks += _together(finding, known, album)
            by_stream = of_each_stream(evaluation, None, ("joint",))
            blocks += [Text(f"{name}: {text}") for name, text in by_stream]
            continue
        if isinstance(finding, YieldStudy) and _holds_accepted_parts_only(evaluation):
            # Its yield would be that of the sorting; what was rejected is in the bins.
            continue
        blocks.append(Text(finding.statement))
        if declared.picture and not isinstance(finding, Unjudged):
            blocks += _asked(album, path[0], finding)
    asked = conditions(evaluation, None)
    if asked:
        blocks.append(Bullets("Conditions of use:", asked))
    return blocks


def rows_of_files(evaluation: Evaluation) -> Table:
    """Tabulate each file once for each study it serves, and why rows of it are excluded.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    Table
    """
    names = {gauge.id: gauge.name for gauge in evaluation.study.gauges}
    rows: dict[tuple[str, ...], None] = {}
    for account in evaluation.records.ledger.accounts:
        gauge = " and ".join(names.get(one, one) for one in account.gauge.split("~") if one)
        why = "; ".join(
            f"{reason} ({count:,})" for reason, count in sorted(account.set_aside.items())
        )
        used = (f"{account.rows_read:,}", f"{account.rows_used:,}")
        rows[account.file, ROLE_WORDS.get(account.role, account.role), gauge, *used, why] = None
    head = ("file", "study", "gauge", "rows read", "rows used", "excluded")
    numeric = (False, False, False, True, True, False)
    return Table("Rows read, used and excluded", head, tuple(rows), numeric, wide=(5,))


#: A clause about a key of study.toml.
_FOR_THE_AUTHOR = re.compile(r"[;,](?: and)? [^;,]*\bstudy\.toml\b[^;]*")


def _record(evaluation: Evaluation) -> list[Block]:
    ledger = evaluation.records.ledger
    blocks: list[Block] = [Text(ledger.statement), rows_of_files(evaluation)]
    names = {item.id: item.name for item in evaluation.study.characteristics}
    values = ledger.values()
    if len(values):
        values = values[values["values"] > 0].replace({"characteristic": names})
    if len(values):
        blocks.append(from_frame("Single values excluded within the rows used", values))
    seen = evaluation.records.screening.table()
    if len(seen):
        if "characteristic" in seen:
            seen = seen.replace({"characteristic": names})
        # What the author could set otherwise is the author's (check says it); the customer reads what was seen.
        seen = seen.assign(evidence=[_FOR_THE_AUTHOR.sub("", one) for one in seen["evidence"]])
        seen = with_something(seen)
        blocks.append(from_frame("Noticed while screening, and used", seen))
    periods = evaluation.study.set_aside
    if periods:
        named = tuple(_period(one, names) for one in periods)
        blocks.append(Bullets("Periods excluded by the author of the study:", named))
    return blocks


def _period(one: SetAside, names: dict[str, str]) -> str:
    """Write an excluded period: from where to where, of which characteristic, and why."""
    begin, end = (
        f"{order:,.15g}" if order is not None else time
        for order, time in ((one.first, one.begin), (one.last, one.end))
    )
    reach = (
        f"{begin} to {end}" if begin and end else f"from {begin} on" if begin else f"up to {end}"
    )
    about = f", {names.get(one.characteristic, one.characteristic)}" if one.characteristic else ""
    return f"{reach}{about}: {one.reason}"


def _methods(evaluation: Evaluation) -> list[Block]:
    found: set[str] = set()
    for about in (None, *(item.id for item in evaluation.study.characteristics)):
        for path, finding in evaluation.findings.of(about).items():
            if not isinstance(finding, Unjudged):
                found.update(path)
    computed = tuple(
        (method, source)
        for method, source, places in prose.METHODS
        if not places or found & set(places)
    )
    return [
        Table(
            "What was computed, and where the formula stands",
            ("method", "source"),
            computed,
            (False, False),
        ),
        *_notes((*_of_few_readings(evaluation), *notes_on_methods(evaluation))),
    ]


def _of_few_readings(evaluation: Evaluation) -> tuple[str, ...]:
    """Say how often few readings misled in simulated studies, where a condition names them."""
    verdict: Any = evaluation.findings.get(None, "verdict")
    few = any("readings do not show what is rare" in text for text in verdict.conditions)
    return (prose.FEW_READINGS,) if few else ()


def _notes(notes: tuple[str, ...]) -> list[Block]:
    return [Heading("Notes on the methods", 2), Bullets("", notes)] if notes else []


def _recompute(evaluation: Evaluation) -> list[Block]:
    versions = tuple((name, version) for name, version in evaluation.versions.items())
    return [
        *(Text(text) for text in prose.RECOMPUTE),
        Table("Versions the numbers depend on", ("software", "version"), versions, (False, False)),
    ]


def not_evaluated(evaluation: Evaluation) -> tuple[str, ...]:
    """List for the author, in words, the data that no method has read.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    tuple of str
    """
    return tuple(
        f"{evaluation.study.characteristic(name).name}: role {role}{f', gauge {gauge}' if gauge else ''}"
        for name, role, gauge in evaluation.not_evaluated()
    )
