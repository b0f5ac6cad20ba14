"""Tables on a terminal: columns stand under their heads, whatever signs stand in them."""

from __future__ import annotations

import unicodedata

import pandas as pd

from linestudy.terminal import text_table, with_something


def _at(line: str, text: str) -> int:
    """Place at which a text begins on a terminal, where signs of East Asia take two."""
    before = line[: line.index(text)]
    return sum(2 if unicodedata.east_asian_width(sign) in "WF" else 1 for sign in before)


def test_wide_signs_and_accents_leave_columns_in_line() -> None:
    table = pd.DataFrame({"name": ["内側幅", "Höhe", "Ho\u0308he"], "n": ["1", "2", "3"]})
    lines = text_table(table).splitlines()
    assert _at(lines[2], "1") == _at(lines[3], "2")
    assert lines[4].replace("o\u0308", "o").index("3") == _at(lines[3], "2")


def test_columns_of_which_nothing_is_known_are_left_out() -> None:
    table = pd.DataFrame({"a": ["x", ""], "b": ["", ""]})
    assert list(with_something(table)) == ["a"]
