"""The row of names is found below titles, pairs and known values, and counts as two where parts are numbered under one name."""

from __future__ import annotations

import pytest

from linestudy.records.infer.notices.heads import header_row, rows_of_header, usual_width

BODY = [[str(i), f"2.80{i}"] for i in range(8)]
PARTS = ["Appraiser", "Trial", "Part", "", "", "Average"]
NUMBERS = ["", "", "1", "2", "3", ""]
READ = ["Anna", "1", "2.801", "2.802", "2.803", "2.802"]


@pytest.mark.parametrize(
    "above",
    [
        [],
        [["Report"], []],
        [["Reference", "2.8003"]],
        [["Report"], ["Reference", "2,8003"]],
        [["Machine", "4"], ["Date", "3.9.2026"], ["Shift", "early"]],
    ],
)
def test_the_header_below_what_stands_above_it(above: list[list[str]]) -> None:
    assert header_row([*above, ["No", "Width"], *BODY]) == len(above)


@pytest.mark.parametrize(
    ("upper", "lower", "deep"),
    [
        (PARTS, NUMBERS, 2),
        # Not counted from 1, not under a name for parts, or readings of the first row.
        (PARTS, ["", "", "1", "3", "4", ""], 1),
        (["Appraiser", "Trial", "Width", "", "", "Average"], NUMBERS, 1),
        (["Part", "Trial", "Width", "Gap", "Burr", "x"], ["1", "2", "3", "", "", ""], 1),
    ],
)
def test_parts_that_are_numbered_under_one_name(
    upper: list[str], lower: list[str], deep: int
) -> None:
    assert rows_of_header([upper, lower, *[READ] * 6], 0) == deep


def test_the_usual_width_is_that_of_the_table() -> None:
    assert usual_width([["Report"], [], ["No", "Width"], *BODY]) == 2
