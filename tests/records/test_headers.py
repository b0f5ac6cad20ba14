"""The header is the row that holds the names, wherever it stands; names are told apart."""

from __future__ import annotations

import pytest

from linestudy.records.headers import (
    distinct_names,
    header_names,
    header_of_lines,
    header_of_rows,
    place_of,
)
from linestudy.results import InputError
from linestudy.study.model import Data

DATA = Data(role="run", gauge="g", file="f.csv", order="Part", columns={"w": "Width"})


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
def test_a_preamble_is_passed_over(mark: str) -> None:
    lines = ["Press 4", f"Tool{mark}17", "", mark.join(["Part", "Time", "Width"]), "1"]
    assert header_of_lines(lines, DATA) == (3, mark, 1)


def test_names_in_quotes_are_names() -> None:
    assert header_of_lines(['"Part";"Width"'], DATA) == (0, ";", 1)


def test_without_the_names_the_first_line_that_is_not_blank() -> None:
    assert header_of_lines(["", "A;B;C", "1;2;3"], DATA) == (1, ";", 1)


def test_a_stated_row_wins() -> None:
    stated = DATA.model_copy(update={"header_row": 2})
    assert header_of_lines(["Part,Width", "Part,Width", "1,2"], stated) == (1, ",", 1)
    with pytest.raises(InputError, match="has no header row"):
        header_of_lines(["Part,Width"], stated)


def test_a_sheet_without_names_to_look_for_has_its_header_in_the_first_of_the_fullest_rows() -> (
    None
):
    nameless = DATA.model_copy(update={"order": None, "columns": {}})
    rows = [["Report", "", ""], ["", "", ""], ["Part", "Width", "Gap"], ["1", "2.8", "0.6"]]
    assert header_of_rows(rows, 1, nameless) == (2, 1)
    assert header_of_rows(rows, 1, DATA) == (2, 1)
    with pytest.raises(InputError, match="has no header row"):
        header_of_rows([["", ""]], 1, DATA)


def test_nameless_and_repeated_columns_get_names() -> None:
    found = distinct_names(["Part", "", "Gap", "Gap", "Gap"], DATA, 1)
    assert found == ["Part", "column 2", "Gap", "Gap again", "Gap again again"]
    with pytest.raises(InputError, match=r'f\.csv line 3: has the column "Width" twice'):
        distinct_names(["Part", "Width", "Width"], DATA, 3)


def test_a_column_may_be_named_by_its_place() -> None:
    assert [place_of(name) for name in ("column 2", "column 12", "column", "Column 2")] == [
        2,
        12,
        0,
        0,
    ]
    names = header_names([["No", "Width", "Width"]])
    data = Data(role="run", file="f.csv", columns={"w": "column 2"}, order="No")
    assert distinct_names(names, data, 1) == ["No", "column 2", "Width"]
