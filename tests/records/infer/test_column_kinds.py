"""What a column holds is told from its cells: numbers however a country writes them, times, judgements, words, units."""

from __future__ import annotations

import pandas as pd
import pytest

from linestudy.records.infer.column_kinds import (
    ColumnKind,
    kinds,
    units_in_cells,
)
from linestudy.records.text_table import TextTable


def cells(*texts: str) -> pd.Series:
    return pd.Series(list(texts), dtype="string")


def told(name: str, *texts: str, **units: str) -> ColumnKind:
    (found,) = kinds(TextTable(pd.DataFrame({name: list(texts)}), units=units))
    return found


@pytest.mark.parametrize(
    ("name", "texts", "kind"),
    [
        ("Width", ("2.80", "2.81", "2.79"), "numbers"),
        ("Stroke", ("1", "2", "3"), "numbers"),
        ("Time", ("2026-09-03 22:00", "2026-09-03 22:05", "2026-09-03 22:10"), "times"),
        ("Time", ("46268.5", "46268.6", "46268.7"), "times"),
        ("Result", ("OK", "NOK", "OK"), "judgements"),
        ("Operator", ("0", "1", "0"), "numbers"),
        ("Coil", ("K1", "K1", "K2"), "words"),
        ("Remark", ("", "", ""), "empty"),
    ],
)
def test_kinds_of_columns(name: str, texts: tuple[str, ...], kind: str) -> None:
    assert told(name, *texts).kind == kind


def test_a_counter_rises_and_a_measurement_is_not_whole() -> None:
    counter, width = told("No", *"12345"), told("W", "1.5", "1.4", "1.6")
    assert (counter.rising, counter.whole) == (1.0, True)
    assert (width.rising, width.whole, width.middle) == (0.0, False, 1.5)
    assert told("Coil", "K1", "K1", "K2", "K2").repeated == 2.0


def test_a_unit_is_read_from_the_row_the_head_or_the_cells() -> None:
    assert told("Width", "2.8", "2.9", Width="mm").unit == "mm"
    assert told("Width [in]", "0.11", "0.12").unit == "in"
    assert told("Width", "2.8 mm", "2.9 mm").unit == "mm"
    assert told("Width", "2.8 mm", "0.11 in").unit is None
    assert units_in_cells(cells("2.8 mm", "0.11 in", "2.9 mm")) == ["mm", "in"]
    assert units_in_cells(cells("2.8 mm", "2.9")) == []


def test_a_column_of_units_belongs_to_the_numbers_before_it() -> None:
    table = TextTable(pd.DataFrame({"Width": ["2.8", "2.9"], "Unit": ["mm", "mm"]}))
    width, unit = kinds(table)
    assert (width.unit, unit.kind) == ("mm", "units")


def test_commas_group_digits_where_other_columns_have_points() -> None:
    table = TextTable(pd.DataFrame({"Strokes": ["12,000", "12,001"], "Width": ["2.80", "2.81"]}))
    strokes, _ = kinds(table)
    assert strokes.numbers.tolist() == [12000.0, 12001.0]
    alone = TextTable(pd.DataFrame({"Width": ["12,001", "12,002"]}))
    assert kinds(alone)[0].numbers.tolist() == [12.001, 12.002]
