"""What a share of the gauge is of, in the words of the trade."""

from __future__ import annotations

import pytest

from linestudy.results import Absent
from linestudy.verdict.measurement_facts import GaugeFacts, JudgementFacts, share_of_what


@pytest.mark.parametrize(
    ("of", "multiplier", "said"),
    [
        ("tolerance", 6.0, "tolerance"),
        ("tolerance", 5.15, "tolerance (5.15 SD)"),
        ("tolerance", 5.0, "tolerance (5 SD)"),
        # A share of a standard deviation counts none.
        ("total spread", 5.15, "total variation"),
        ("process variation", 5.15, "process variation"),
    ],
)
def test_what_a_share_is_of(of: str, multiplier: float, said: str) -> None:
    assert share_of_what(of, multiplier) == said
    assert GaugeFacts(share_of=of, multiplier=multiplier).of_what == said


def test_nothing_is_known_of_what_no_study_was_made_of() -> None:
    """A number that nobody measured is absent with its reason, never nought or one."""
    gauge, judged = GaugeFacts(), JudgementFacts()
    unknown = (gauge.share, gauge.ndc, judged.effectiveness, judged.miss, judged.kappa)
    assert {type(item) for item in unknown} == {Absent}
    assert str(gauge.share) == "not given: no study of it was submitted"
