"""study.toml as a person would write it, and what a person wrote keeps its place."""

from __future__ import annotations

import tomllib

from linestudy.intake.draft import Draft, Item
from linestudy.intake.writing import added, written

MINE = """# my study

format = 1
[study]
title = "T"   # mine
part = "P"

# the one that matters
[[characteristic]]
id = "w"
name = "Width"
lower = 1      # drawing sheet 2
upper = 2

[criteria]
# the customer's
capability_accept = 1.5
source = "Q 12"
"""


def draft() -> Draft:
    return Draft(
        items=[Item("w", "Width"), Item("g", 'Gap "A"\\b', "mm", 1.0, 0.9, 1.1, special=True)],
        gauges={"camera": "Camera\u0007"},
        head={"title": 'A "title"', "part": "P-1"},
    )


def test_a_new_study_reads_back() -> None:
    text = written(draft())
    found = tomllib.loads(text)
    assert found["study"] == {"title": 'A "title"', "part": "P-1", "revision": "-"}
    assert found["characteristic"][1] == {
        "id": "g", "name": 'Gap "A"\\b', "unit": "mm", "nominal": 1.0, "lower": 0.9, "upper": 1.1, "special": True,
    }  # fmt: skip
    assert found["gauge"] == [{"id": "camera", "name": "Camera\u0007"}]


def test_what_was_written_stays_to_the_letter() -> None:
    text = added(MINE, draft())
    left = iter(text.splitlines())
    # In this order, with nothing changed; new lines may stand between.
    assert all(line in left for line in MINE.splitlines() if line)
    found = tomllib.loads(text)
    assert [item["id"] for item in found["characteristic"]] == ["w", "g"]
    assert found["criteria"]["capability_accept"] == 1.5
    assert added(text, draft()) == text
