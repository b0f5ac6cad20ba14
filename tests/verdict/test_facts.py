"""The index as facts hand it to picture and claim."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.verdict.facts import BEFORE_SORTING, IndexFacts

INDICES = st.floats(0.01, 10)


@given(INDICES, INDICES, INDICES)
def test_the_estimate_lies_within_its_interval_whatever_bound_and_highest(
    estimate: float, bound: float, highest: float
) -> None:
    """A bound by the lots may lie above the lowest estimate of a stream; a picture cannot show that."""
    drawn = IndexFacts("Ppk", estimate, bound, highest, 0.9).interval
    assert drawn.low <= drawn.estimate == estimate <= drawn.high
    assert {drawn.low, drawn.high} <= {estimate, bound, highest}
    assert drawn.confidence == 0.9


@pytest.mark.parametrize(
    ("name", "high"), [("Ppk", math.inf), ("Ppk, worst stream", math.inf), (BEFORE_SORTING, 1.9)]
)
def test_what_is_claimed_is_a_lower_bound_alone_but_before_sorting(name: str, high: float) -> None:
    claimed = IndexFacts(name, 1.7, 1.5, 1.9).claimed
    assert (claimed.low, claimed.estimate, claimed.high) == (1.5, 1.7, high)


@pytest.mark.parametrize(
    ("family", "said"),
    [
        ("", ""),
        ("normal", " by the normal"),
        ("inverse Gaussian with threshold", " by the inverse Gaussian with threshold"),
        ("Student's t with 4.89 df", " by Student's t with 4.89 df"),
        ("peaks over a threshold", " by peaks over a threshold"),
    ],
)
def test_a_distribution_ends_a_sentence_as_people_speak(family: str, said: str) -> None:
    assert IndexFacts("Ppk", 1.5, 1.4, 1.6, family=family).by == said
