"""The first two pages: what study.toml says is there, what it does not say is a blank line."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from linestudy import evaluate, start_study
from linestudy.dossier.content.contents import build
from linestudy.dossier.content.elements import Bullets, Fields, Signatures, Table
from linestudy.dossier.content.report.front import run_facts
from linestudy.dossier.evaluation import Evaluation
from linestudy.study.submission import Identification

TOLD = """
[identification]
drawing = "D-1007"
supplier_code = "Q77"
level = "3"

[line]
press = "Press 4"
die = "F-12"

[[action]]
action = "centre both stations on the nominal"
characteristic = "width"
by = "Tooling"
date = "2026-01-15"

[[appraiser]]
name = "Ines"
role = "setter"
"""


@pytest.mark.proof
def test_what_is_missing_is_a_blank_line_and_no_sentence(evaluation: Evaluation) -> None:
    study = evaluation.study
    silent = study.file.model_copy(update={"identification": Identification(), "action": ()})
    first, second = build(replace(evaluation, study=replace(study, file=silent))).sections[:2]
    fields = dict(next(b for b in first.blocks if isinstance(b, Fields)).items)
    assert fields["Drawing"] == ""
    actions = [b for b in first.blocks if isinstance(b, Table)][-1]
    assert {row[1:] for row in actions.rows} == {("", "", "")}
    assert fields["Parts rejected"] == "10 (bins)"
    assert fields["Coils"] == "C417, C418, C419, C420"
    assert any(isinstance(block, Signatures) for block in first.blocks)
    assert (
        "every 250 strokes"
        in dict(next(b for b in second.blocks if isinstance(b, Fields)).items)["Parts of the run"]
    )


def test_every_characteristic_that_does_not_meet_has_a_request_and_a_line_for_the_action(
    evaluation: Evaluation,
) -> None:
    first = build(evaluation).sections[0]
    asked = next(b for b in first.blocks if isinstance(b, Bullets)).items
    actions = [b for b in first.blocks if isinstance(b, Table)][-1]
    for name in (
        "Throat gap",
        "Shoulder length",
        "Seam width",
        "Seam pull force",
        "Seam appearance",
    ):
        assert any(name in line.partition(": ")[0] for line in asked)
        assert any(row[0] == name for row in actions.rows)
    # The cause that the study knows of stands on the first page.
    assert "the means of left and right differ by 0.0349" in " ".join(asked)


def test_keys_of_the_submission_are_printed(tmp_path: Path) -> None:
    folder = start_study(tmp_path / "study")
    toml = folder / "study.toml"
    toml.write_text(toml.read_text(encoding="utf-8") + TOLD, encoding="utf-8")
    found = evaluate(folder)
    first, second = build(found).sections[:2]
    fields = dict(next(b for b in first.blocks if isinstance(b, Fields)).items)
    assert (fields["Drawing"], fields["Supplier code"], fields["Press"]) == (
        "D-1007",
        "Q77",
        "Press 4",
    )
    actions = [b for b in first.blocks if isinstance(b, Table)][-1]
    assert actions.rows[0][1:] == ("centre both stations on the nominal", "Tooling", "2026-01-15")
    people = next(b for b in second.blocks if isinstance(b, Table) and b.caption == "Appraisers")
    assert any(row[0] == "Ines" and row[2] == "setter" for row in people.rows)
    assert run_facts(found)["strokes"]
