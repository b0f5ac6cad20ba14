"""Three sections that go through every characteristic: gauges, distribution and index, and sources of variation.

Each says in one line per study what it found; only tables that somebody will want to check are added.
All other numbers are in results.json and in the notebooks.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from linestudy.dossier.content import prose
from linestudy.dossier.content.elements import Block, Heading, Table, Text, from_frame, in_parts
from linestudy.dossier.content.sheet import BLANK
from linestudy.gauges import AttributeStudy, UncertaintyStudy
from linestudy.results import Finding, Unjudged
from linestudy.results.declared import declaration_of
from linestudy.results.rounding import decimals_for, with_unit
from linestudy.shape import ShapeStudy

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation
    from linestudy.study.model import Characteristic

#: What is said of single streams of a characteristic beside their index, which is with the characteristic.
_BY_STREAM = ("before_sorting", "crossed", "machine", "position", "tool_life")
#: First parts of the places of gauge studies; ``biases`` is about the study as a whole.
GAUGE_PLACES = ("gauges", "agreement", "systems", "laboratories", "attribute", "biases")


def gauges(evaluation: Evaluation) -> list[Block]:
    """Lay out every study of every gauge, by characteristic.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    list of Block
    """
    blocks: list[Block] = []
    for path, finding in evaluation.findings.of(None).items():
        if path[0] in GAUGE_PLACES and not isinstance(finding, Unjudged):
            blocks += [Text(finding.statement), from_frame("Bias summary", finding.shown())]
    silent: dict[tuple[str, str], list[str]] = {}
    for item in evaluation.study.characteristics:
        if all(isinstance(one, Unjudged) for one in _of_gauges(evaluation, item).values()):
            for path, one in _of_gauges(evaluation, item).items():
                whose = ", ".join(filter(None, (item.name, _who(evaluation, path))))
                silent.setdefault(name_and_result(one), []).append(whose)
            continue
        own = _of_characteristic(evaluation, item)
        if own:
            blocks += [Heading(item.name, 2), *own]
    studied = {
        path[-1]
        for item in evaluation.study.characteristics
        for path in evaluation.findings.of(item.id, "gauges")
    }
    said = [text for study, text in prose.GAUGE_STUDIES if study in studied]
    rows = tuple((name, "; ".join(whose), why) for (name, why), whose in silent.items())
    if rows:
        head = ("study", "characteristics", "result")
        blocks.append(
            Table("Studies that could not be judged", head, rows, (False,) * 3, wide=(1,))
        )
    return [*([Text(" ".join(said))] if said else []), *blocks]


def _of_gauges(evaluation: Evaluation, item: Characteristic) -> dict[tuple[str, ...], Finding]:
    found = evaluation.findings.of(item.id).items()
    return {path: finding for path, finding in found if path[0] in GAUGE_PLACES}


def _of_characteristic(evaluation: Evaluation, item: Characteristic) -> list[Block]:
    by_gauge: dict[str, dict[tuple[str, ...], Finding]] = {}
    for path, finding in _of_gauges(evaluation, item).items():
        by_gauge.setdefault(_who(evaluation, path), {})[path] = finding
    blocks: list[Block] = []
    for who, found in by_gauge.items():
        said = [name_and_result(finding) for finding in found.values()]
        # A gauge that nobody named has no name to show.
        whose = ", ".join(filter(None, (item.name, who)))
        blocks.append(statements(f"{whose}: studies", said))
        for path, finding in found.items():
            declared = declaration_of(path)
            # The tables of judgements are with their characteristic.
            if isinstance(finding, (Unjudged, AttributeStudy)):
                continue
            if declared is not None and declared.with_table:
                caption = f"{whose}: {finding.title.lower()}"
                if isinstance(finding, UncertaintyStudy):
                    blocks.append(_budget(caption, finding))
                    continue
                blocks += in_parts(caption, finding.shown())
    return blocks


def _budget(caption: str, study: UncertaintyStudy) -> Table:
    """Tabulate an uncertainty budget, contributions with two digits (GUM 7.2.6)."""
    rows = tuple(
        (
            line.source,
            f"{line.standard_uncertainty:,.{decimals_for(line.standard_uncertainty)}f}",
            "∞" if math.isinf(line.degrees_of_freedom) else f"{line.degrees_of_freedom:.1f}",
            line.counts_for if line.counted else BLANK,
            f"{100 * line.share:.1f}" if line.counted else BLANK,
            line.origin,
        )
        for line in study.budget
    )
    head = (
        "contribution",
        with_unit("standard uncertainty", study.unit),
        "degrees of freedom",
        "counts for",
        "% contribution",
        "from",
    )
    return Table(caption, head, rows, (False, True, True, False, True, False))


def _who(evaluation: Evaluation, path: tuple[str, ...]) -> str:
    names = {gauge.id: gauge.name for gauge in evaluation.study.gauges}
    if path[0] == "attribute":
        return "judgements"
    if path[0] == "laboratories":
        return "all gauges"
    return " and ".join(names.get(gauge, gauge) for gauge in path[1].split("~"))


def name_and_result(finding: Finding) -> tuple[str, str]:
    """Return a study's name and its result; one that could not be judged bears its own name.

    Parameters
    ----------
    finding : Finding

    Returns
    -------
    name, statement : str
    """
    if isinstance(finding, Unjudged):
        reason = finding.reason
        return finding.method, f"Cannot be judged: {reason[:1].lower()}{reason[1:]}"
    return finding.title, finding.statement


def statements(caption: str, said: list[tuple[str, str]]) -> Table:
    """Tabulate the results of studies, one line each.

    Parameters
    ----------
    caption : str
    said : list of (str, str)
        Name of the study, its statement.

    Returns
    -------
    Table
    """
    return Table(caption, ("study", "result"), tuple(said), (False, False))


def indices(evaluation: Evaluation) -> list[Block]:
    """Lay out what is behind each index: the candidate families, and supplementary studies.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    list of Block
    """
    blocks: list[Block] = []
    compared = False
    for item in evaluation.study.characteristics:
        found = _of_annex(evaluation, item, "shape") | _of_annex(evaluation, item, "capability")
        own: list[Block] = []
        if found:
            said = [name_and_result(finding) for finding in found.values()]
            own.append(statements(f"{item.name}: supplementary", said))
        shape = evaluation.findings.get(item.id, "shape")
        if isinstance(shape, ShapeStudy) and len(shape.families) > 1:
            own.append(from_frame(f"{item.name}: candidate distributions", shape.shown()))
            compared = True
        by_stream = of_each_stream(evaluation, item.id, _BY_STREAM)
        if by_stream:
            own.append(statements(f"{item.name}: stream by stream", by_stream))
        if own:
            blocks += [Heading(item.name, 2), *own]
    return [Text(prose.INDICES), *blocks] if compared else blocks


def of_each_stream(
    evaluation: Evaluation, key: str | None, what: tuple[str, ...]
) -> list[tuple[str, str]]:
    """List what was found of single streams, each under its own name.

    Parameters
    ----------
    evaluation : Evaluation
    key : str or None
        Characteristic; None for what is said of all together.
    what : tuple of str
        What is wanted, as the places of findings name it, for example ``"joint"``.

    Returns
    -------
    list of (str, str)
        Name with its stream, and statement.
    """
    said = []
    for path, finding in evaluation.findings.of(key, "streams").items():
        if len(path) > 2 and path[2] in what:
            name, statement = name_and_result(finding)
            # What could not be judged bears the heading of its declaration, which says so too.
            name = re.sub(r",? (of )?one stream$", "", name)
            said.append((f"{name}, stream {path[1]}", statement))
    return said


def sources(evaluation: Evaluation) -> list[Block]:
    """Lay out sources of variation and advice for the control plan, by characteristic.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    list of Block
    """
    blocks: list[Block] = []
    for item in evaluation.study.characteristics:
        said = []
        for path, finding in _of_annex(evaluation, item, "stability").items():
            if isinstance(finding, Unjudged):
                continue
            name = path[-1].replace("_", " ")
            title = finding.title
            said.append(
                (title if name in title.lower() else f"{title} ({name})", finding.statement)
            )
        if said:
            table = statements(f"{item.name}: sources of variation and control", said)
            blocks += [Heading(item.name, 2), table]
    return [Text(prose.SOURCES), *blocks] if blocks else []


def _of_annex(
    evaluation: Evaluation, item: Characteristic, package: str
) -> dict[tuple[str, ...], Finding]:
    """Select the findings of a package that are declared for the annex."""
    found = {}
    for path, finding in evaluation.findings.of(item.id, package).items():
        declared = declaration_of(path)
        if declared is not None and declared.part == "annex":
            found[path] = finding
    return found
