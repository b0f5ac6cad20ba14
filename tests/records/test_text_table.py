"""A file as one table of text: rows that are no data are counted by their reason, nothing is converted, what is stated wins."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from linestudy.records import text_table as tt
from linestudy.records.text_table import TextTable, read_text_table


@pytest.fixture
def table(make_study: Callable[..., Any]) -> Callable[..., TextTable]:
    def make(content: str, more: str = "") -> TextTable:
        data = 'role = "run"\ncolumns = { width = "Width" }\norder = "Stroke"\n' + more
        study = make_study("run.csv", content, data)
        return read_text_table(study.folder / "run.csv", study.data[0])

    return make


def test_cells_are_as_they_are_written_with_their_lines(table: Callable[..., TextTable]) -> None:
    found = table("Stroke;Width\n1;2,800\n2;+2.81 \n003;n/a\n")
    assert found.cells["Width"].str.strip().tolist() == ["2,800", "+2.81", "n/a"]
    assert found.cells["Stroke"].tolist() == ["1", "2", "003"]
    assert found.cells.index.tolist() == [2, 3, 4]
    assert found.rows_read == 3
    assert found.set_aside == {}


def test_every_row_is_data_or_counted_with_its_reason(table: Callable[..., TextTable]) -> None:
    rows = ["Stroke;Width", "[-];[mm]", "1;2.80", "2;2.81", ";", "Stroke;Width", "3;2.79", "4;2.80"]
    found = table("\n".join(rows) + "\n")
    assert found.cells["Stroke"].tolist() == ["1", "2", "3", "4"]
    assert found.set_aside == {tt.UNITS_ROW: 1, tt.NAMES_AGAIN: 1, tt.BLANK: 1}
    assert found.units == {"Width": "mm"}
    assert found.rows_read == len(rows) - 1


def test_blank_lines_at_the_end_are_no_rows(table: Callable[..., TextTable]) -> None:
    found = table("Stroke;Width\n1;2.80\n2;2.81\n;\n;\n\n")
    assert found.rows_read == 2
    assert found.set_aside == {}


def test_rows_skipped_on_purpose_are_counted_and_no_more_than_there_are(
    table: Callable[..., TextTable],
) -> None:
    text = "Stroke;Width\nfirst;piece\n1;2.80\n2;2.81\n"
    found = table(text, "skip_rows_after_header = 1")
    assert found.set_aside == {tt.SKIPPED: 1}
    assert found.cells["Stroke"].tolist() == ["1", "2"]
    assert table(text, "skip_rows_after_header = 99").set_aside == {tt.SKIPPED: 3}


def test_a_header_further_down_is_found_and_said_and_one_that_is_stated_is_not(
    table: Callable[..., TextTable],
) -> None:
    text = "Line 4, shift A\nfork receptacle\nStroke;Width\n1;2.80\n2;2.81\n3;2.82\n"
    found = table(text)
    assert found.notes == ["The header was found in line 3."]
    assert found.cells.index.tolist() == [4, 5, 6]
    stated = table(text, "header_row = 3")
    assert stated.notes == []
    assert stated.cells.equals(found.cells)


def test_totals_at_the_end_are_no_parts(table: Callable[..., TextTable]) -> None:
    body = "".join(f"{n};{2.8 + 0.001 * (n % 5):.3f}\n" for n in range(1, 21))
    found = table("Stroke;Width\n" + body + "Mean;2.802\nSD;0.0014\n")
    assert found.set_aside == {tt.TOTALS: 2}
    assert len(found.cells) == 20


def test_limits_below_the_names_are_kept_with_what_they_are(
    table: Callable[..., TextTable],
) -> None:
    found = table("Stroke;Width\nNominal;2.80\nLSL;2.75\nUSL;2.85\n1;2.80\n2;2.81\n3;2.79\n")
    assert found.set_aside == {tt.LIMITS_ROW: 3}
    assert [cells["Width"] for cells in found.limits.values()] == ["2.80", "2.75", "2.85"]
    assert found.cells["Stroke"].tolist() == ["1", "2", "3"]


def test_names_written_once_hold_for_the_rows_below(table: Callable[..., TextTable]) -> None:
    text = "Coil;Stroke;Width\nC1;1;2.80\n;2;2.81\nC2;3;2.79\n;4;2.80\n"
    found = table(text, 'coil = "Coil"\nfill_down = ["Coil"]')
    assert found.cells["Coil"].tolist() == ["C1", "C1", "C2", "C2"]
