"""Every caution of the sample studies has a destination, and few of them reach the customer."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest
from own_studies import write_small

from linestudy import evaluate
from linestudy.dossier.content.blocks import Bullets, Text
from linestudy.dossier.content.cautions import (
    CAUTIONS,
    conditions,
    destination,
    for_the_author,
    notes_on_methods,
)
from linestudy.dossier.content.contents import build
from linestudy.dossier.evaluation import Evaluation
from linestudy.results import Unjudged


def _cautions(evaluation: Evaluation) -> list[str]:
    return [
        caution
        for _, finding in evaluation.findings.items()
        if not isinstance(finding, Unjudged)
        for caution in finding.cautions
        if type(finding).__name__ != "CharacteristicVerdict"
    ]


def test_none_is_without_a_destination(
    evaluation: Evaluation, starter: Evaluation, tmp_path: Path
) -> None:
    for found in (evaluation, starter, evaluate(write_small(tmp_path / "small"))):
        lost = {text for text in _cautions(found) if destination(text)[0] is None}
        assert not lost


def test_about_fifteen_conditions_reach_the_customer_each_with_something_to_do(
    evaluation: Evaluation,
) -> None:
    asked = [
        line
        for item in (None, *(c.id for c in evaluation.study.characteristics))
        for line in conditions(evaluation, item)
    ]
    assert len({re.sub(r"^[^:]*: ", "", line) for line in asked}) <= 15
    assert all(
        re.search(
            r"\b(take|measure|repeat|chart|set|change|record|find|bring|judge|extend|look|hold|correct)\b",
            line,
            re.I,
        )
        for line in asked
    )
    counts = Counter(destination(text)[0] for text in _cautions(evaluation))
    assert counts["method"] > counts["condition"] > 0


def test_what_the_author_should_do_is_not_told_to_the_customer(evaluation: Evaluation) -> None:
    assert any("Not in the budget" in line for line in for_the_author(evaluation))
    said = [
        text
        for section in build(evaluation).sections
        for block in section.blocks
        for text in (
            block.items
            if isinstance(block, Bullets)
            else (block.text,)
            if isinstance(block, Text)
            else ()
        )
    ]
    assert not any("Not in the budget" in text or "[[" in text for text in said)
    notes = notes_on_methods(evaluation)
    assert len(notes) == len(set(notes))
    assert all(said.count(note) == 1 for note in notes)


@pytest.mark.parametrize("kind", CAUTIONS, ids=lambda kind: kind.pattern[:30])
def test_words_use_only_groups_that_the_pattern_has(kind) -> None:
    groups = re.compile(kind.pattern).groups
    assert all(int(n) <= groups for n in re.findall(r"\{(\d)\}", kind.words))
    assert kind.words or kind.goes in ("author", "rule")
