"""What every finding can do from a few lines of its own: show, state, warn, be recorded, be safe to show."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np
import pandas as pd
import pytest

from linestudy.results import Finding, Interval, Quantity, Unjudged
from linestudy.results.finding import aligned, cell_text, table_html
from linestudy.results.tables import Rows

PPK = Interval(1.5, 1.4, 1.6, 0.95, "example")


@dataclass(frozen=True)
class Example(Finding):
    """An index of readings."""

    Ppk: Interval = PPK
    name: str = "Width"
    readings: Any = field(default=(), repr=False)
    cautions: tuple[str, ...] = ()
    lines: int = field(default=1, repr=False)
    title: ClassVar[str] = "Index"

    def _rows(self) -> Rows:
        return [Quantity(f"Ppk {k}", self.Ppk) for k in range(self.lines)]

    @property
    def statement(self) -> str:
        return f"{self.name}: Ppk -1.5 is below 1.67."


def test_a_record_holds_every_field_but_what_is_not_shown() -> None:
    found = Example(readings=np.arange(3), cautions=("Few parts.",))
    record = found.record()
    assert set(record) == {"Ppk", "name", "cautions", "statement"}
    assert record["cautions"] == ["Few parts."]
    assert record["Ppk"]["estimate"] == 1.5
    assert record["statement"] == found.statement


def test_printed_it_is_title_statement_a_dozen_lines_and_notes() -> None:
    text = str(Example(lines=30, cautions=("Few parts.",)))
    lines = text.splitlines()
    assert lines[0] == "Index"
    assert sum("Ppk" in line and "1.50" in line for line in lines) == 12
    assert "18 more lines in .table()" in text
    assert lines[-1] == "Note: Few parts."
    assert "more lines" not in str(Example(lines=12))
    # No array is printed, whatever the dataclass would do.
    assert repr(Example(readings=np.arange(99_999))) == str(Example())


def test_what_a_file_named_cannot_become_markup() -> None:
    hostile = Example(name="<script>x</script>", cautions=("<b>",))
    html = hostile.html()
    assert "<script>" not in html
    assert "&lt;script&gt;" in html
    assert "<li>&lt;b&gt;</li>" in html
    cells = table_html(pd.DataFrame({"<i>": ["<b>bold</b>"]}))
    assert "<b>" not in cells
    assert "<i>" not in cells


def test_without_a_picture_none_is_drawn_and_asking_for_one_says_so() -> None:
    assert Example().figure() is None
    with pytest.raises(ValueError, match="Example draws no picture"):
        Example().plot()
    assert "<img" not in Example().html()


def test_text_for_the_eye_and_the_ear_has_true_minus_signs() -> None:
    assert Example().alt_text == "Index. Width: Ppk \u22121.5 is below 1.67."


def test_what_cannot_be_judged_says_its_method_and_its_reason() -> None:
    found = Unjudged("Shape", "Only one part.")
    assert found.statement == "Shape: cannot be judged. Only one part."
    assert found.record() == {"absent": "Only one part.", "method": "Shape"}


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, ""),
        (float("nan"), ""),
        (pd.NA, ""),
        (pd.NaT, ""),
        (np.float64("nan"), ""),
        (True, "yes"),
        (np.bool_(False), "no"),
        (np.int64(7), "7"),
        ("1e-3", "1e-3"),
        ("", ""),
    ],
)
def test_a_cell_is_what_a_reader_sees(value: object, text: str) -> None:
    assert cell_text(value) == text


def test_columns_of_text_stand_under_their_names() -> None:
    lines = aligned(pd.DataFrame({"station": ["A", "Lane 10"], "n": [5, 12]}))
    assert lines == ["station  n", "A        5", "Lane 10  12"]
