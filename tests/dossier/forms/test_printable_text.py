"""Text of a study can neither turn its neighbours round nor run out of its cell."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.dossier.forms.printable_text import printable, shortened


@pytest.mark.parametrize("mark", ["\u202e", "\u2066", "\u200f", "\u061c", "\x00", "\x1b", "\n"])
def test_marks_of_direction_and_control_become_blanks(mark: str) -> None:
    assert printable(f"a{mark}b") == "a b"


def test_blank_text_is_a_dash() -> None:
    assert printable(" \t ") == printable("") == "–"


def test_long_words_have_places_to_break_and_long_texts_an_end() -> None:
    pieces = printable("x" * 100).split("\u200b")
    assert [len(one) for one in pieces] == [40, 40, 20]
    assert printable("ab " * 2000).endswith("…")
    assert len(printable("ab " * 2000)) <= 2000


@given(st.text(max_size=300))
def test_one_line_of_bounded_length(text: str) -> None:
    shown = shortened(text)
    assert "\n" not in shown
    assert len(shown.replace("\u200b", "")) <= 70 + shown.count("…")
    assert all(sign.isprintable() or sign == "\u200b" for sign in shown)
