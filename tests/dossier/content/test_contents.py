"""What the document holds: nothing for its author, and no yield of a log that holds accepted parts only."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from linestudy.dossier.content.contents import _FOR_THE_AUTHOR, _holds_accepted_parts_only, _period
from linestudy.study.events import SetAside


def _study(*bins: tuple[int, ...]) -> Any:
    verdicts = {
        str(at): SimpleNamespace(facts=SimpleNamespace(record=SimpleNamespace(bins=one)))
        for at, one in enumerate(bins)
    }
    return SimpleNamespace(
        findings=SimpleNamespace(get=lambda *_: SimpleNamespace(verdicts=verdicts))
    )


def test_a_log_of_accepted_parts_is_known_by_the_bins() -> None:
    assert _holds_accepted_parts_only(_study((), (3989, 11, 3989, 0)))
    assert not _holds_accepted_parts_only(_study((3989, 11, 3989, 11)))
    assert not _holds_accepted_parts_only(_study((4000, 0, 4000, 0)))
    assert not _holds_accepted_parts_only(_study(()))


@pytest.mark.parametrize(
    ("evidence", "kept"),
    [
        (
            "The counter begins anew 2 times; strokes were numbered on from the first job, and at in study.toml means "
            "these numbers",
            "The counter begins anew 2 times; strokes were numbered on from the first job",
        ),
        (
            "Used like product: 84 purged parts; set_aside_verdict in study.toml sets them aside",
            "Used like product: 84 purged parts",
        ),
        ("4 steps of the clock, the longest 1,801 s", "4 steps of the clock, the longest 1,801 s"),
    ],
)
def test_what_the_author_could_set_is_not_told_to_the_customer(evidence: str, kept: str) -> None:
    assert _FOR_THE_AUTHOR.sub("", evidence) == kept


@pytest.mark.parametrize(
    ("period", "said"),
    [
        ({"first": 1204.0, "last": 1248.0}, "1,204 to 1,248: jam"),
        ({"first": 9}, "from 9 on: jam"),
        ({"last": 1e6, "characteristic": "w"}, "up to 1,000,000, Width: jam"),
        ({"begin": "2026-05-03T10:00", "end": "2026-05-03T10:10"}, "2026-05-03T10:00 to 2026-05-03T10:10: jam"),
    ],
)  # fmt: skip
def test_an_excluded_period_is_said_in_strokes_as_they_are_counted(
    period: dict[str, Any], said: str
) -> None:
    assert _period(SetAside(reason="jam", **period), {"w": "Width"}) == said
