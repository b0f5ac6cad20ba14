"""What a file holds beside the part of it that study.toml names: sheets, ranges of cells, blocks, rows above a header."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import openpyxl
import pytest

from linestudy import open_study, read
from linestudy.records.across.unread import UNREAD_NUMBERS, UNREAD_STREAM

STUDY = """format = 1
[study]
title = "Elsewhere"
part = "TE-10"
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
lower = 9.0
upper = 11.0
"""
DATA = (
    '[[data]]\nrole = "run"\nfile = "{file}"\ncolumns = {{ w = "{column}" }}\norder = "n"\n{more}\n'
)
Rows = list[list[object]]


def rows(seed: int, n: int = 60, middle: float = 10.0, sd: float = 0.1, name: str = "w") -> Rows:
    y = np.random.default_rng(seed).normal(middle, sd, n).round(3)
    return [["n", name], *([k + 1, float(v)] for k, v in enumerate(y))]


def book(folder: Path, sheets: dict[str, Rows], *data: str, column: str = "w") -> set[str]:
    """Kinds of what is said of unread readings of a workbook, and reasons of rows left out by choice."""
    workbook = openpyxl.Workbook()
    workbook.remove(workbook.active)
    for name, lines in sheets.items():
        page = workbook.create_sheet(name)
        for line in lines:
            page.append(line)
    workbook.save(folder / "b.xlsx")
    return said(folder, *(DATA.format(file="b.xlsx", column=column, more=more) for more in data))


def said(folder: Path, *data: str) -> set[str]:
    (folder / "study.toml").write_text(STUDY + "".join(data), encoding="utf-8")
    records = read(open_study(folder))
    seen = {one.what for _, one in records.screening.seen} & {UNREAD_NUMBERS, UNREAD_STREAM}
    left = {
        f"{reason.partition(': ')[2]}: {n}"
        for account in records.ledger.accounts
        for reason, n in account.set_aside.items()
        if "by a choice" in reason
    }
    for account in records.ledger.accounts:
        assert account.rows_read == account.rows_used + sum(account.set_aside.values())
    return seen | left


SHEET = 'sheet = "Monday"'


@pytest.mark.parametrize("other", ["Tuesday", "Monday 2", "scrap"])
def test_another_sheet_with_the_same_columns_asks(tmp_path: Path, other: str) -> None:
    sheets = {"Monday": rows(1), other: rows(2, sd=0.2)}
    assert book(tmp_path, sheets, SHEET) == {UNREAD_STREAM}


def test_a_name_broken_over_lines_is_one(tmp_path: Path) -> None:
    sheets = {"Monday": rows(1, name="w\n[mm]"), "Tuesday": rows(2, name="w\n[mm]")}
    assert book(tmp_path, sheets, SHEET, column="w [mm]") == {UNREAD_STREAM}


def test_the_first_sheet_whose_cells_hold_the_columns_is_not_the_only_one(tmp_path: Path) -> None:
    sheets = {"Monday": rows(1), "Tuesday": rows(2)}
    assert book(tmp_path, sheets, 'cells = "A1:B61"') == {UNREAD_STREAM}


@pytest.mark.parametrize(
    ("other", "expected"),
    [
        # Another part and another dimension of about that size may be what the sheet says: told.
        ({"TE-10": rows(1), "TE-11": rows(2)}, {UNREAD_NUMBERS}),
        ({"Width": rows(1), "Length": rows(2)}, {UNREAD_NUMBERS}),
        ({"Monday": rows(1), "Length": rows(2, middle=10.8, sd=0.15)}, {UNREAD_NUMBERS}),
        # Another dimension, the same readings once more, averages of them, and few.
        ({"Monday": rows(1), "Length": rows(2, middle=30, sd=0.1)}, set()),
        ({"Monday": rows(1), "Raw": rows(1)}, set()),
        ({"Monday": rows(1), "Chart": rows(2, name="Mean")}, set()),
        ({"Monday": rows(1), "Example": rows(2, n=5)}, set()),
    ],
)
def test_what_honest_workbooks_hold_beside_their_data(
    tmp_path: Path, other: dict[str, Rows], expected: set[str]
) -> None:
    assert book(tmp_path, other, f'sheet = "{next(iter(other))}"') == expected


def test_a_sheet_that_another_table_reads_is_read(tmp_path: Path) -> None:
    sheets = {"Monday": rows(1), "Tuesday": rows(2)}
    assert book(tmp_path, sheets, SHEET, 'sheet = "Tuesday"') == set()


def test_rows_beyond_a_range_of_cells_are_left_out_by_a_choice(tmp_path: Path) -> None:
    long = rows(1, n=80)
    assert book(tmp_path, {"S": long}, 'cells = "A1:B61"') == {"outside of cells = A1:B61: 20"}
    assert book(tmp_path, {"S": long}, 'cells = "A1:B80"') == {"outside of cells = A1:B80: 1"}
    both = ('cells = "A1:B61"', 'cells = "A62:B81"\nheader_rows = 0')
    data = [DATA.format(file="b.xlsx", column="w", more=both[0])]
    data.append(
        DATA.format(file="b.xlsx", column="column 2", more=both[1]).replace('"n"', '"column 1"')
    )
    assert said(tmp_path, *data) == set()


@pytest.mark.parametrize("gap", [[], [[None]]])
def test_what_stands_below_readings_is_not_of_them(tmp_path: Path, gap: Rows) -> None:
    below: Rows = [["Mean", 10.01], ["SD", 0.1], ["Cpk", 1.71]]
    other: Rows = [["n", "height"], *rows(2, name="h")[1:]]
    for more in (below, other, [*below, *other]):
        assert book(tmp_path, {"S": [*rows(1), *gap, *more]}, 'cells = "A1:B61"') == set()


def test_a_second_table_below_with_the_same_columns_asks(tmp_path: Path) -> None:
    stacked: Rows = [*rows(1), [None], *rows(2)]
    assert book(tmp_path, {"S": stacked}, 'cells = "A1:B61"') == {UNREAD_STREAM}


def test_a_column_beyond_a_range_of_cells_is_not_read(tmp_path: Path) -> None:
    wide = [[*row, "", more] for row, (_, more) in zip(rows(1), rows(2), strict=True)]
    wide[0][3] = "w_2"
    assert book(tmp_path, {"S": wide}, 'cells = "A1:B61"') == {UNREAD_STREAM}
    wide[0][3] = "bin"
    assert book(tmp_path, {"S": wide}, 'cells = "A1:B61"') == {UNREAD_NUMBERS}


def text(*tables: Rows, titles: tuple[str, ...] = ()) -> str:
    lines: list[str] = []
    for at, table in enumerate(tables):
        lines += [titles[at]] if titles else []
        lines += [",".join(map(str, row)) for row in table]
        lines += [""] if titles else []
    return "\n".join(lines) + "\n"


CASES: dict[str, tuple[Callable[[], str], str, set[str]]] = {
    "rows above": (
        lambda: text(rows(1), rows(2)),
        "header_row = 62",
        {"outside of header_row = 62: 60"},
    ),
    "a preamble": (
        lambda: text([["n", "w, of line 4"], ["", ""]], rows(2)),
        "header_row = 3",
        set(),
    ),
    "another block": (
        lambda: text(rows(1), rows(2), titles=("Line A", "Line B")),
        'block = "Line A"',
        {UNREAD_STREAM},
    ),
    "a block of another dimension": (
        lambda: text(rows(1), rows(2, middle=40), titles=("Line A", "Line B")),
        'block = "Line A"',
        set(),
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_text_of_which_a_part_is_read(tmp_path: Path, case: str) -> None:
    made, more, expected = CASES[case]
    (tmp_path / "t.csv").write_text(made())
    assert said(tmp_path, DATA.format(file="t.csv", column="w", more=more)) == expected


def test_a_file_without_names_of_which_the_first_rows_are_not_read(tmp_path: Path) -> None:
    (tmp_path / "t.csv").write_text(text(rows(1)[1:]))
    more = "header_rows = 0\nheader_row = 41"
    data = DATA.format(file="t.csv", column="column 2", more=more).replace('"n"', '"column 1"')
    assert said(tmp_path, data) == {"outside of header_row = 41: 40"}
