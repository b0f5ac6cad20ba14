"""Documents of studies unlike the sample: what is not there is left out, and every word is true of what is."""

from __future__ import annotations

import re
from typing import Any

import pytest
from odd_studies import write_gauges, write_lanes, write_planned, write_unlimited

from linestudy import evaluate
from linestudy.dossier.content.contents import build
from linestudy.dossier.content.elements import Bullets, Document, Fields, Image, Table, Text

WRITERS = {
    "gauges": write_gauges,
    "planned": write_planned,
    "unlimited": write_unlimited,
    "lanes": write_lanes,
}


@pytest.fixture(scope="module")
def documents(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Document]:
    place = tmp_path_factory.mktemp("unlike")
    return {name: build(evaluate(write(place / name))) for name, write in WRITERS.items()}


def _blocks(document: Document, heading: str, kind: type) -> list[Any]:
    section = next((s for s in document.sections if s.heading == heading), None)
    return [] if section is None else [b for b in section.blocks if isinstance(b, kind)]


def _words(document: Document) -> str:
    said: list[str] = []
    for section in document.sections:
        for block in section.blocks:
            if isinstance(block, Text):
                said.append(block.text)
            elif isinstance(block, Bullets):
                said += block.items
            elif isinstance(block, Image):
                said += [block.question, block.answer]
            elif isinstance(block, Fields):
                said += [f"{name}: {value}" for name, value in block.items]
            elif isinstance(block, Table):
                said += [
                    block.caption,
                    *block.head,
                    *block.below,
                    *(cell for row in block.rows for cell in row),
                ]
    return "\n".join(said)


@pytest.mark.proof
def test_what_is_not_there_has_no_table(documents: dict[str, Document]) -> None:
    headings = {name: [s.heading for s in one.sections] for name, one in documents.items()}
    assert all("Attachments" not in headings[name] for name in ("gauges", "planned", "unlimited"))
    assert "Control plan" not in headings["gauges"]
    assert "Control plan" not in headings["planned"]
    assert _blocks(documents["lanes"], "Attachments", Table)[0].rows[0][2] == "flow.txt"
    for document in documents.values():
        for section in document.sections:
            for table in (b for b in section.blocks if isinstance(b, Table)):
                filled = any(cell for row in table.rows for cell in row[1:])
                assert filled or table.head[1] == "cause and action", table.caption


def test_results_show_no_column_that_nothing_is_known_for(documents: dict[str, Document]) -> None:
    for name, columns in {
        "gauges": {"%GRR", "ndc"},
        "planned": set(),
        "unlimited": {"n", "mean", "SD"},
    }.items():
        table = _blocks(documents[name], "Decisions", Table)[0]
        assert set(table.head) - {"no.", "characteristic", "limits"} == columns
        assert ("Ppk" in table.caption) == ("Ppk" in table.head)


def test_readings_without_a_decision_have_their_numbers(documents: dict[str, Document]) -> None:
    fields = dict(_blocks(documents["unlimited"], "Thickness", Fields)[0].items)
    assert fields["n"] == "30"
    assert fields["Mean (mm)"].startswith("0.799")
    assert "stay between the limits" not in _words(documents["unlimited"])


def test_every_decision_has_a_reason_that_says_something(documents: dict[str, Document]) -> None:
    reasons = {
        name: _blocks(document, "Decisions", Table)[0].below for name, document in documents.items()
    }
    assert reasons["planned"] == (
        "cannot be judged: no readings of the process yet",
        "cannot be judged: no readings of the process yet",
        "cannot be judged: no judgements yet",
    )
    assert reasons["unlimited"] == ("cannot be judged: no limits to hold the readings against",)
    assert reasons["gauges"][1].startswith("does not meet: %GRR")
    assert "bias not known" in reasons["lanes"][1]


def test_a_gauge_that_is_not_adequate_is_an_answer_in_a_study_of_gauges(
    documents: dict[str, Document],
) -> None:
    asked = _blocks(documents["gauges"], "Decisions", Bullets)[0].items
    assert any("Hardness: agreement on how parts are measured" in one for one in asked)
    assert not any("evidence that is missing" in one for one in asked)


def test_confidence_is_that_of_the_study(documents: dict[str, Document]) -> None:
    words = _words(documents["gauges"])
    assert "bands 90 % confidence" in words
    assert "95 % CI" not in words
    assert "Lower 95 %" not in words


def test_what_happened_is_not_compared_with_a_run_that_was_not_made(
    documents: dict[str, Document],
) -> None:
    words = _words(documents["gauges"])
    assert "due on 2026-02-01, before the submission" in words
    assert "counter of the press" not in words


def test_criteria_of_a_class_are_those_that_picture_and_words_show(
    documents: dict[str, Document],
) -> None:
    words = _words(documents["lanes"])
    assert "index above which a characteristic is accepted 1.33 instead of 1.67" in words
    assert not re.search(r"capability_\w+", words)
    picture = _blocks(documents["lanes"], "How it was measured and sampled", Image)[0]
    assert "criteria of each characteristic" in picture.answer


def test_only_what_was_computed_is_listed_as_computed(documents: dict[str, Document]) -> None:
    tables = _blocks(documents["gauges"], "Methods and references", Table)
    methods = "\n".join(row[0] for row in tables[0].rows)
    assert "Crossed gauge study" in methods
    for absent in ("Control chart", "Kappa", "Deming", "Time-dependent", "Position", "short run"):
        assert absent not in methods


def test_a_picture_of_a_gauge_asks_what_it_draws(documents: dict[str, Document]) -> None:
    asked = [b.question for b in _blocks(documents["gauges"], "Measurement systems", Image)]
    assert "Hardness, Hardness tester: do readings agree with themselves?" in asked


def test_a_study_that_could_not_be_judged_has_its_own_name(documents: dict[str, Document]) -> None:
    for document in documents.values():
        for section in document.sections:
            for table in (b for b in section.blocks if isinstance(b, Table)):
                assert "Cannot be judged" not in [row[0] for row in table.rows if row]


def test_two_lanes_of_one_stroke_are_no_fault_of_the_record(documents: dict[str, Document]) -> None:
    words = _words(documents["lanes"])
    assert "order numbers that repeat" not in words
    assert "labels that come back" not in words
    assert re.search(r"The stations differ by 0\.0\d+ \(0\.0", words)


def test_a_bare_number_has_no_zeros_at_its_end(documents: dict[str, Document]) -> None:
    for document in documents.values():
        found = re.findall(
            r"(?:within|reading of|shift of|from|than) 0\.\d*?[1-9]00+ ", _words(document)
        )
        assert not found


def test_a_planned_file_is_named_by_its_study_and_judgements_too(
    documents: dict[str, Document],
) -> None:
    (told,) = [
        line
        for block in _blocks(documents["planned"], "Decisions", Bullets)
        for line in block.items
        if "ot submitted yet" in line
    ]
    assert told.endswith("run in production order (run.csv), which is planned.")


def test_a_rule_that_nothing_is_about_is_said_in_one_sentence(
    documents: dict[str, Document],
) -> None:
    for document in documents.values():
        rules, texts = (_blocks(document, "Rules and criteria", kind) for kind in (Table, Text))
        assert all(set(row[1:]) - {"–", ""} for row in rules[0].rows)
        silent = [one.text for one in texts if one.text.startswith("These rules had nothing")]
        told = (
            silent[0].split(": ")[1].rstrip(".").replace(" and ", ", ").split(", ")
            if silent
            else []
        )
        assert not {row[0] for row in rules[0].rows} & set(told)
        assert document is not documents["gauges"] or "drift" in told


def test_long_names_make_numbers_of_the_heads_that_the_caption_explains() -> None:
    from types import SimpleNamespace

    from linestudy.dossier.content.contents import _heads

    known: Any = [SimpleNamespace(name=f"A name of some length {n}", number="") for n in range(9)]
    heads, legend = _heads(known)
    assert heads == [str(n) for n in range(1, 10)]
    assert "; 9: A name of some length 8)" in legend
    assert _heads(known[:2]) == ([one.name for one in known[:2]], "")
