"""Judgements in ordered grades: what accepts, what rejects, and what is refused."""

from __future__ import annotations

import pytest

from linestudy.study.grades import rejecting

GRADES = ("none", "slight", "heavy")


def test_what_does_not_accept_rejects() -> None:
    assert rejecting("attribute", GRADES, ("none", "slight"), None) == ("heavy",)
    assert rejecting("attribute", GRADES, ("none",), ("heavy", "slight")) == ("heavy", "slight")


@pytest.mark.parametrize(
    ("role", "grades", "accept", "reject", "said"),
    [
        ("run", GRADES, ("none",), None, "belong to judgements"),
        ("attribute", ("a", "a", "b"), ("a",), None, "stands twice"),
        ("attribute", GRADES, ("good",), None, '"good", which is none'),
        ("attribute", GRADES, ("none",), ("heavy",), "each grade once"),
    ],
)
def test_what_is_refused(
    role: str, grades: tuple[str, ...], accept: tuple[str, ...], reject: tuple | None, said: str
) -> None:
    with pytest.raises(ValueError, match=said):
        rejecting(role, grades, accept, reject)
