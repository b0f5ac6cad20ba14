"""study.toml as a person would write it, and what a person wrote keeps its place."""

from __future__ import annotations

import tomllib
from dataclasses import replace

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


CHANGED = """format = 1
[study]
title = "T"   # mine
part = "P"

[[characteristic]]
id = "w"
name = "Width"
lower = 1      # drawing sheet 2
upper = 2   # as agreed
# this comment stays here

[[characteristic]]
id = "v"
name = "Gap"
special = true
criteria = { capability_accept = 1.4, source = "x" } # own
# and this one

[criteria]
# the customer's
capability_accept = 1.5 # since May
source = "Q 12"
"""


def known() -> Draft:
    """What the form knows of CHANGED before anybody touches it."""
    return Draft(
        items=[
            Item("w", "Width", lower=1, upper=2),
            Item("v", "Gap", special=True, required=1.4, asked_by="x"),
        ],
        head={"title": "T", "part": "P"},
        criteria={"": {"capability_accept": 1.5, "source": "Q 12"}},
    )


def changed() -> Draft:
    return replace(known(), before=known())


def test_what_nobody_changed_is_left_to_the_letter() -> None:
    assert added(CHANGED, changed()) == CHANGED


def test_a_change_stands_where_the_old_value_stood() -> None:
    study = changed()
    width, gap = study.items
    width.upper, width.lower, width.unit = 2.5, None, "mm"
    gap.special, gap.required = False, 1.33
    study.head["customer"] = "C"
    study.criteria[""]["capability_accept"] = 1.6
    study.criteria["special"] = {"capability_accept": 2.0, "source": "Q 13"}
    text = added(CHANGED, study)
    found = tomllib.loads(text)
    assert found["characteristic"] == [
        {"id": "w", "name": "Width", "upper": 2.5, "unit": "mm"},
        {"id": "v", "name": "Gap", "criteria": {"capability_accept": 1.33, "source": "x"}},
    ]
    assert found["study"]["customer"] == "C"
    assert found["criteria"]["capability_accept"] == 1.6
    assert found["criteria"]["special"] == {"capability_accept": 2.0, "source": "Q 13"}
    # Of what stood there only the values are gone that were taken out: two lines.
    for comment in (
        "# mine",
        "# as agreed",
        "# this comment stays here",
        "# own",
        "# and this one",
    ):
        assert text.count(comment) == 1
    assert text.count("# since May") == 1
    order = [line.split("=")[0] for line in text.splitlines()]
    assert order.index("upper ") < order.index("unit ") < order.index("# this comment stays here")


def test_a_hand_that_wrote_meanwhile_is_not_undone() -> None:
    """The file as it is at writing is what is changed, not as it was when the form was opened."""
    study = changed()
    study.items[0].upper = 2.5
    mine = CHANGED.replace("lower = 1 ", "lower = 0.5 ").replace("Q 12", "Q 14")
    assert added(mine, study) == mine.replace("upper = 2 ", "upper = 2.5 ")
