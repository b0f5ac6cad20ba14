"""Cautions of gauge studies have a destination, and words of the document where it asks somebody to act."""

from __future__ import annotations

import ast
import random
from collections.abc import Iterator
from pathlib import Path

import pytest

import linestudy
from linestudy.dossier.content.cautions.destinations import destination
from linestudy.dossier.content.cautions.of_gauges import OF_GAUGES


@pytest.mark.parametrize(
    ("caution", "goes"),
    [
        (
            "20 parts are few for agreement in grades; 30 are usual (common practice, no source).",
            "condition",
        ),
        (
            "At the upper limit appraisers A and B turn at different sizes; agree on boundary samples.",
            "condition",
        ),
        ("1 judgement is missing; agreement is taken over what was judged.", "method"),
        (
            "The gauge repeated worse in the study May than in the last one (p < 0.001).",
            "condition",
        ),
        ("A master was read 3 times only; slope and bias at the limits have wider.", "author"),
        ("Readings of the master have heavier tails than normal ones; intervals.", "method"),
        ("CMM against camera: the two have 2 parts in common; three are needed.", "author"),
        (
            "CMM reads parts 0.894 times as far apart as Camera (p = 0.0011): look at the scale of these readings.",
            "condition",
        ),
        (
            "Lab A reads 0.02 above the others over all parts (p < 0.001): a bias of its own, which no single part need show.",
            "condition",
        ),
        (
            "The readings of Ben fit those of the others if parts 3 and 4 are exchanged (p < 0.001): look whether labels were exchanged.",
            "condition",
        ),
        ("Each master was read once: the interval rests on how errors differ.", "condition"),
        ("8 readings are few for a statement about drift.", "condition"),
        (
            "Errors follow one another (lag-1 correlation 0.6, p = 0.001): the gauge moves otherwise than along one line.",
            "condition",
        ),
        (
            "Each appraiser belongs to one machine only, so the readings cannot separate the two: .",
            "condition",
        ),
    ],
)
def test_cautions_of_comparisons_have_a_destination(caution: str, goes: str) -> None:
    assert destination(caution)[0] == goes


def test_a_condition_has_words_of_its_own() -> None:
    assert all(kind.words and kind.asks for kind in OF_GAUGES if kind.goes == "condition")


#: What stands in a caution for a value, as the document would print it.
VALUES = ("3", "A", "1.2 mm", "3 of 4", "A and B", "upper", "0.41", "12 accepted parts", "escapes")


def _asking() -> Iterator[tuple[str, list[str | None]]]:
    """Sentences in the code of the studies that ask a reader to look at something; None stands for a value."""
    package = Path(linestudy.__file__).parent
    for room in ("gauges", "capability"):
        for file in sorted((package / room).rglob("*.py")):
            tree = ast.parse(file.read_text(encoding="utf-8"))
            for node in ast.walk(tree):
                if not isinstance(node, ast.JoinedStr):
                    continue
                parts = [
                    str(one.value)
                    if isinstance(one, ast.Constant)
                    else "p = 0.001"
                    if "p_text" in ast.unparse(one)
                    else None
                    for one in node.values
                ]
                text = "".join(one or "" for one in parts)
                if ": look " in text and text.endswith("."):
                    yield f"{file.name}: {text}", parts


@pytest.mark.parametrize(("where", "parts"), list(_asking()), ids=lambda one: str(one)[:60])
def test_what_asks_a_reader_to_look_has_a_destination(where: str, parts: list[str | None]) -> None:
    draw = random.Random(1)
    assert any(
        destination("".join(one or draw.choice(VALUES) for one in parts))[0] is not None
        for _ in range(400)
    ), where
