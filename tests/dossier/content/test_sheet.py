"""No two places of a dossier say two things: every number that appears twice is the same number."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import pypdfium2 as pdfium
import pytest
from hard_studies import write_ties
from own_studies import write_small

from linestudy.dossier import evaluate, write
from linestudy.dossier.content.contents import build
from linestudy.dossier.content.elements import Bullets, Fields, Image, Table, Text
from linestudy.dossier.content.sheet import BLANK, Sheet, sheets
from linestudy.dossier.evaluation import Evaluation
from linestudy.results import Absent

#: The larger ones among the slow tests.
STUDIES = (
    "sample",
    "starter",
    *(pytest.param(name, marks=pytest.mark.proof) for name in ("gauges", "ties")),
)


@pytest.fixture(scope="module", params=STUDIES)
def written(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Evaluation, Path]:
    """Each of four studies with its dossier."""
    if request.param == "sample":
        return request.getfixturevalue("evaluation"), request.getfixturevalue("dossier")
    if request.param == "starter":
        return request.getfixturevalue("starter"), request.getfixturevalue("starter_dossier")
    place = tmp_path_factory.mktemp(request.param)
    make = {"gauges": write_small, "ties": write_ties}[request.param]
    found = evaluate(make(place / "study"))
    return found, write(found, place / "out")


def _words(blocks: tuple[object, ...]) -> str:
    said: list[str] = []
    for block in blocks:
        if isinstance(block, Text):
            said.append(block.text)
        elif isinstance(block, Bullets):
            said += block.items
        elif isinstance(block, Image):
            said += [block.answer, block.alt]
        elif isinstance(block, Table):
            said += [cell for row in block.rows for cell in row]
    return "\n".join(said)


def _row(table: Table, name: str) -> dict[str, str]:
    row = next(
        row for row in table.rows if row[table.head.index("characteristic")].startswith(name)
    )
    return dict(zip(table.head, row, strict=True))


#: Column of the decision sheet → field of a characteristic's own page.
SAME = {
    "limits": "Limits",
    "n": "n",
    "Pp": "Pp (all values)",
    "bound": "Lower 95 % bound",
    "stream": "Worst stream",
    "ppm": "Expected outside (ppm)",
}


def test_sheet_page_record_and_console_say_the_same(written: tuple[Evaluation, Path]) -> None:
    evaluation, out = written
    document = build(evaluation)
    matrix = next(block for block in document.sections[0].blocks if isinstance(block, Table))
    recorded = json.loads((out / "data/results.json").read_text(encoding="utf-8"))
    console = evaluation.findings.get(None, "verdict").shown().set_index("characteristic")
    pdf = " ".join(
        "".join(page.get_textpage().get_text_bounded())
        for page in pdfium.PdfDocument(io.BytesIO((out / "data/dossier.pdf").read_bytes()))
    )
    compared = 0
    for one in sheets(evaluation):
        row = _row(matrix, one.name)
        section = next(s for s in document.sections if s.heading == one.name)
        fields = dict(next(b for b in section.blocks if isinstance(b, Fields)).items)
        # A study of a short run and of a run has one column for both indices.
        index = next((head for head in row if one.index in head.split(", ")), one.index)
        for column, field in (SAME | {index: f"{one.index} that decides"}).items():
            if field in fields:
                assert fields[field] == row[column], (one.name, column)
                compared += 1
        below = matrix.below[matrix.rows.index(tuple(row.values()))]
        assert below.startswith(one.decision)
        assert one.reason in below
        assert " ".join(below.replace("%", "%").split())[:20] in " ".join(pdf.split())
        assert console.loc[one.name, "decision"] == one.decision
        facts = recorded["characteristics"][one.item.id]["verdict"]["facts"]
        assert recorded["characteristics"][one.item.id]["verdict"]["decision"] == one.decision
        compared += _as_recorded(one, facts)
    assert compared > 3


def _as_recorded(one: Sheet, facts: dict) -> int:
    """Hold what is printed against the numbers of results.json."""
    process, index = facts["process"], facts["index"]
    pairs = []
    if "estimate" in index:
        pairs += [
            (one.Ppk, index["estimate"]),
            (one.bound, index["low"] if "low" in index else index["bound"]),
        ]
    if process["n"]:
        pairs += [(one.n, process["n"])]
        pairs += [
            (text, number)
            for text, number in ((one.mean, process["mean"]), (one.sd, process["sd"]))
            if text != BLANK
        ]
    for text, number in pairs:
        places = len(text.partition(".")[2])
        assert abs(float(text.replace(",", "")) - number) <= 0.51 * 10.0**-places, (one.name, text)
    return len(pairs)


def test_an_index_named_in_words_is_one_that_decides(written: tuple[Evaluation, Path]) -> None:
    evaluation, _ = written
    document = build(evaluation)
    report = [section for section in document.sections if not section.annex]
    counted = 0
    for one in sheets(evaluation):
        index = one.verdict.facts.index
        if isinstance(index, Absent):
            continue
        allowed = {
            f"{value:.2f}"
            for value in (
                index.estimate,
                index.bound,
                index.highest,
                *index.by_stream.values(),
                *index.by_family.values(),
            )
        }
        section = next(s for s in report if s.heading == one.name)
        told = re.findall(r"Ppk[^.;=<\n]{0,40}[=<]? ?(\d+\.\d\d)\b", _words(section.blocks))
        assert set(told) <= allowed | {"1.33", "1.67"}, one.name
        counted += len(told)
    assert counted


def test_counts_of_points_and_readings_are_the_facts(written: tuple[Evaluation, Path]) -> None:
    evaluation, _ = written
    document = build(evaluation)
    points_told, outside_told = [], []
    for one in sheets(evaluation):
        process = one.verdict.facts.process
        section = next(s for s in document.sections if s.heading == one.name)
        words = _words(section.blocks)
        for count in re.findall(r"(\d[\d,]*) points? out of control", words):
            assert int(count.replace(",", "")) == len(process.points)
            points_told.append(count)
        for count in re.findall(r"(\d[\d,]*) of [\d,]+ readings outside", words):
            assert int(count.replace(",", "")) == process.outside
            outside_told.append(count)
        if one.control != BLANK:
            assert one.control.split(" ")[0] == str(len(process.points))
    every = [one.verdict.facts.process for one in sheets(evaluation)]
    # A study whose points all are in control has none to count.
    assert points_told or not any(process.points for process in every)
    assert outside_told or not any(process.outside for process in every)


def test_a_rule_gives_its_reason_in_few_words(evaluation: Evaluation) -> None:
    told = {one.name: one.reason for one in sheets(evaluation)}
    assert told["Blade width"] == ""
    assert told["Shoulder length"] == "Ppk 1.07 < 1.33 in stream right"
    assert "ndc 3 < 5" in told["Seam width"]
    assert "n = 72 < 100" in told["Seam pull force"]
    assert told["Seam appearance"].startswith("miss rate 10.0 % > 5 %")
