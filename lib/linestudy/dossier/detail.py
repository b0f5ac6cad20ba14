"""Three sections that go through every characteristic: gauges, distribution and index, and sources of variation.

Each says in one line per study what it found; only the tables somebody will want to check stand beside.
All other numbers are in results.json and in the notebooks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linestudy.core import Finding, Unjudged
from linestudy.dossier import prose
from linestudy.dossier.blocks import Album, Block, Bullets, Heading, Table, Text, from_frame
from linestudy.shape import ShapeStudy

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation
    from linestudy.study.model import Characteristic

#: Gauge studies whose table stands in the document.
_WITH_TABLE = ("crossed", "nested", "uncertainty")
#: Gauge studies whose cautions stand with the characteristic already.
_TOLD_BEFORE = ("crossed", "bias", "nested")


def gauges(evaluation: Evaluation) -> list[Block]:
    """Every study of every gauge, by characteristic.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    list of Block
    """
    blocks: list[Block] = []
    biases = evaluation.findings.get(None, "biases")
    if biases is not None and not isinstance(biases, Unjudged):
        blocks += [Text(biases.statement), from_frame("Biases side by side", biases.table())]
    for item in evaluation.study.characteristics:
        own = _of_characteristic(evaluation, item)
        if own:
            blocks += [Heading(item.name, 2), *own]
    return blocks


def _of_characteristic(evaluation: Evaluation, item: Characteristic) -> list[Block]:
    by_gauge: dict[str, dict[tuple[str, ...], Finding]] = {}
    for path, finding in evaluation.findings.of(item.id).items():
        if path[0] in ("gauges", "agreement", "attribute"):
            by_gauge.setdefault(_who(evaluation, path), {})[path] = finding
    blocks: list[Block] = []
    for who, found in by_gauge.items():
        said = [(finding.title, finding.statement) for finding in found.values()]
        blocks.append(statements(f"{item.name}, {who}: what was studied", said))
        for path, finding in found.items():
            shown = path[-1] in _WITH_TABLE or path == ("attribute",)
            if shown and not isinstance(finding, Unjudged):
                caption = f"{item.name}, {who}: {finding.title.lower()}"
                blocks.append(from_frame(caption, finding.table()))
        notes = [
            note
            for path, finding in found.items()
            if path[-1] not in _TOLD_BEFORE
            for note in finding.cautions
        ]
        if notes:
            blocks.append(Bullets("Keep in mind:", tuple(dict.fromkeys(notes))))
    return blocks


def _who(evaluation: Evaluation, path: tuple[str, ...]) -> str:
    names = {gauge.id: gauge.name for gauge in evaluation.study.gauges}
    if path[0] == "attribute":
        return "judgements"
    return " and ".join(names.get(gauge, gauge) for gauge in path[1].split("~"))


def statements(caption: str, said: list[tuple[str, str]]) -> Table:
    """What each study says, one line each.

    Parameters
    ----------
    caption : str
    said : list of (str, str)
        Name of the study, its statement.

    Returns
    -------
    Table
    """
    return Table(caption, ("study", "what it says"), tuple(said), (False, False))


#: Findings beside the index that do not stand with their characteristic.
BESIDE_THE_INDEX = (
    ("capability", "within"),
    ("capability", "tolerance_intervals"),
    ("capability", "block_bootstrap"),
    ("capability", "machine"),
)


def indices(evaluation: Evaluation, album: Album) -> list[Block]:
    """What stands behind each index: candidate families, and what needs none.

    Parameters
    ----------
    evaluation : Evaluation
    album : Album

    Returns
    -------
    list of Block
    """
    blocks: list[Block] = []
    for item in evaluation.study.characteristics:
        found = {
            path: finding
            for path in BESIDE_THE_INDEX
            if (finding := evaluation.findings.get(item.id, *path)) is not None
        }
        own: list[Block] = []
        if found:
            said = [(finding.title, finding.statement) for finding in found.values()]
            own.append(statements(f"{item.name}: beside the index", said))
        notes = tuple(note for finding in found.values() for note in finding.cautions)
        if notes:
            own.append(Bullets("Keep in mind:", notes))
        shape = evaluation.findings.get(item.id, "shape")
        if isinstance(shape, ShapeStudy) and len(shape.families) > 1:
            own.append(from_frame(f"{item.name}: candidate distributions", shape.table()))
            # Without limits no candidate expects anything outside them, and there is nothing to draw.
            if shape.candidates:
                own += album.take(
                    f"{item.id} candidates", shape.candidates_figure, shape.candidates, 60
                )
        if own:
            blocks += [Heading(item.name, 2), *own]
    return blocks


#: Stability findings that stand with their characteristic; the others stand with the sources.
_SHOWN_WITH_CHARACTERISTIC = {
    ("stability",),
    ("stability", "serial"),
    ("stability", "time_model"),
    ("stability", "with_set_aside"),
}


def sources(evaluation: Evaluation, album: Album) -> list[Block]:
    """Sources of variation and advice for the control plan, by characteristic.

    Parameters
    ----------
    evaluation : Evaluation
    album : Album

    Returns
    -------
    list of Block
    """
    blocks: list[Block] = []
    for item in evaluation.study.characteristics:
        said = []
        picture: list[Block] = []
        for path, finding in evaluation.findings.of(item.id, "stability").items():
            if path in _SHOWN_WITH_CHARACTERISTIC or isinstance(finding, Unjudged):
                continue
            name = path[-1].replace("_", " ")
            title = finding.title
            said.append(
                (title if name in title.lower() else f"{title} ({name})", finding.statement)
            )
            if path == ("stability", "sources"):
                picture = album.take(f"{item.id} sources", finding.figure, finding.alt_text, 66)
        if said:
            table = statements(f"{item.name}: what moves it, and how to watch it", said)
            blocks += [Heading(item.name, 2), table, *picture]
    return [Text(prose.SOURCES), *blocks] if blocks else []
