"""Each cell of the grid is checked when it is left, and what was understood is said."""

from __future__ import annotations

from typing import Any


def test_limits_are_said_as_understood(filled: Any) -> None:
    height, burr, force, weld = filled.grid.rows
    read = "Read from drawing.csv line {}, drawing."
    assert filled.said(height).split("  ") == ["Contact height: 0.108 to 0.112 in", read.format(2)]
    assert "0 is taken for a physical bound" in filled.said(burr)
    assert filled.said(force).split("  ") == ["Pull force: at least 35 N", read.format(4)]
    assert "judged" in filled.said(weld)
    height.fields["lower"].value = "0,109"
    assert filled.said(height) == "Contact height: 0.109 to 0.112 in"


#: Cell, what is typed into it, what is said.
WRONG = [
    ("upper", "0.1", "has to lie below"),
    ("upper", "about 3", "is no number"),
    ("nominal", "0.2", "above the upper"),
    ("nominal", "0.02", "below the lower"),
    ("unit", "furlong", "no unit that is known"),
    ("unit", "", "give the unit"),
    ("name", " ", "needs a name"),
    ("required", "1.33", "who asks for this"),
]


def test_what_cannot_stand_is_said_and_keeps_the_study_back(filled: Any) -> None:
    row = filled.grid.rows[0]
    for key, typed, told in WRONG:
        before = row.fields[key].value
        row.fields[key].value = typed
        assert told in filled.said(row)
        assert any(told in fault for fault in filled.grid.faults())
        row.fields[key].value = before
        assert filled.grid.faults() == []
    row.fields["upper"].value = "0.1"
    filled.write.write.click()
    assert "Nothing was written" in filled.said(filled.write)


def test_a_characteristic_more_and_one_less(filled: Any) -> None:
    step = filled.grid
    step.new.value = "Slot"
    step.add.click()
    assert [row.item.name for row in step.rows][-1] == "Slot"
    step.new.value = "slot"
    step.add.click()
    assert "already" in filled.said(step)
    step.rows[1].cells[-1].click()
    assert [item.name for item in filled.draft.items] == [
        "Contact height", "Pull force", "Weld seam", "Slot",
    ]  # fmt: skip
    assert all("burr" not in table.ids.values() for table in filled.draft.tables)
