"""Cautions of gauge studies have a destination, and words of the document where it asks somebody to act."""

from __future__ import annotations

import pytest

from linestudy.dossier.content.caution_destinations import destination
from linestudy.dossier.gauge_cautions import OF_GAUGES


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
    ],
)
def test_cautions_of_comparisons_have_a_destination(caution: str, goes: str) -> None:
    assert destination(caution)[0] == goes


def test_a_condition_has_words_of_its_own() -> None:
    assert all(kind.words and kind.asks for kind in OF_GAUGES if kind.goes == "condition")
