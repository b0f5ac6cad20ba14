"""Delimited text, cell by cell, against Python's own csv module (the reader of the standard library)."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from linestudy.records.formats import delimited
from linestudy.results import InputError
from linestudy.study.model import Data

DATA = Data(
    role="run", gauge="g", file="f.csv", order="S", columns={"w": "W"}, missing=("", "NA", "9999")
)
cell = st.one_of(
    st.sampled_from(["1", "2.50", "NA", "", " ", "é", "Total", "a b", "x;y", "a,b", 'say "so"', "up\ndown", "5 °C"]),
    st.text(st.characters(exclude_categories=("Cs", "Cc"), exclude_characters="\ufeff"), max_size=4),
)  # fmt: skip


@st.composite
def tables(draw: st.DrawFn) -> tuple[list[list[str]], str, bool]:
    """Rows below a header of three columns, some short, their delimiter, and whether each cell has quotes."""
    rows = draw(st.lists(st.lists(cell, min_size=1, max_size=3), min_size=1, max_size=12))
    return rows, draw(st.sampled_from([",", ";", "\t"])), draw(st.booleans())


def written(rows: list[list[str]], mark: str, every: bool) -> str:
    stream = io.StringIO()
    csv.writer(
        stream, delimiter=mark, lineterminator="\n", quoting=csv.QUOTE_ALL if every else csv.QUOTE_MINIMAL
    ).writerows([["S", "W", "Tag"], *rows])  # fmt: skip
    return stream.getvalue()


@pytest.mark.proof
@given(table=tables())
@settings(max_examples=400, deadline=None)
@example(table=([["1", "up\ndown", "a"], ["2"], ["3", "4", "5"]], ",", False))
@example(table=([[""], ["1", "2", "3"]], ";", False))
def test_cells_and_lines_are_those_of_the_csv_module(
    table: tuple[list[list[str]], str, bool],
) -> None:
    text = written(*table)
    reader = csv.reader(io.StringIO(text), delimiter=table[1])
    next(reader)
    expected, lines = [], []
    begin = reader.line_num + 1
    for row in reader:
        expected.append(([*row, "", "", ""])[:3])
        lines.append(begin)
        begin = reader.line_num + 1
    cells, header = delimited.text_cells(text.encode(), DATA)
    assert header == 1
    assert cells.to_numpy().tolist() == expected
    assert cells.index.tolist() == lines


@pytest.mark.parametrize("block", [64, 1 << 26])
def test_short_lines_keep_their_places_across_blocks(
    block: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(delimited, "_BLOCK", block)
    rows = [[str(k)] if k % 7 == 3 else [str(k), f"{k}.5", "a"] for k in range(60)]
    cells, _ = delimited.text_cells(written(rows, ",", False).encode(), DATA)
    assert cells["S"].tolist() == [str(k) for k in range(60)]
    assert cells["W"].tolist() == ["" if k % 7 == 3 else f"{k}.5" for k in range(60)]


def test_empty_cells_beyond_the_header_are_cut_and_others_refused() -> None:
    cells, _ = delimited.text_cells(b"S;W\n1;2;\n3;4;;\n", DATA)
    assert cells.to_numpy().tolist() == [["1", "2"], ["3", "4"]]
    with pytest.raises(InputError, match=r"f\.csv line 3: has 3 cells where the header has 2"):
        delimited.text_cells(b"S;W\n1;2\n3;4;5\n", DATA)


@pytest.mark.parametrize("text", [b'S,W\n1,2\n3,"4\n5,6\n', b'S,W\n1,2\n"3,4\n5,6\n'])
def test_a_quote_that_is_never_closed_swallows_no_lines(text: bytes) -> None:
    with pytest.raises(InputError, match="a quote is never closed"):
        delimited.text_cells(text, DATA)


@pytest.mark.parametrize("line", ["1,2\n", '1,2\n3,"4\n', '1,2\n"3,4\n', '"a" b,2\n3,"4\n'])
def test_nor_does_it_in_a_long_file(line: str) -> None:
    text = "S,W\n" + line + "5,6\n" * 60_000
    if line == "1,2\n":
        assert len(delimited.text_cells(text.encode(), DATA)[0]) == 60_001
        return
    with pytest.raises(InputError, match="a quote is never closed"):
        delimited.text_cells(text.encode(), DATA)


def test_an_inch_mark_is_no_quote() -> None:
    cells, _ = delimited.text_cells(b'S,W,Tag\n1,2,5" pipe\n2,3\n', DATA)
    assert cells.to_numpy().tolist() == [["1", "2", '5" pipe'], ["2", "3", ""]]
