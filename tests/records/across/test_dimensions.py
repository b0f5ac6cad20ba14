"""The dimensional results of a layout, row by row."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy import start_study
from linestudy.dossier import evaluate, recompute, write
from linestudy.dossier.content.contents import build
from linestudy.dossier.content.elements import Bullets, Table, Text
from linestudy.records.across.dimensions import (
    CONFORMS,
    NOT_JUDGED,
    NOT_MEASURED,
    OUTSIDE,
    Dimension,
)
from linestudy.records.read_files import read
from linestudy.results import InputError
from linestudy.study import open_study

ROWS = """No;Feature;LSL;USL;a;b
1;Strip width;7,45;7,55;7,50;7,55
2;Window;;0,5;0,51;0,4
3;Radius;;;0,2;
4;Angle;88;92;;
5;Burr side;;;ok;ok
6;Plating;;;ok;nok
;;;;;
7;Depth;1,0;;0,9999;1,2
"""
TABLE = """
[[data]]
role = "layout"
file = "data/layout.csv"
decimal = ","
layout = { number = "No", name = "Feature", lower = "LSL", upper = "USL", values = ["a", "b"] }
accept = ["ok"]
reject = ["nok"]
"""


def with_a_layout(folder: Path, rows: str = ROWS) -> Path:
    start_study(folder)
    (folder / "data/layout.csv").write_text(rows, encoding="utf-8")
    toml = folder / "study.toml"
    text = toml.read_text(encoding="utf-8").replace('id = "width"', 'id = "width"\nnumber = "1"')
    toml.write_text(text + TABLE, encoding="utf-8")
    return folder


def test_every_row_is_held_against_its_own_limits(tmp_path: Path) -> None:
    records = read(open_study(with_a_layout(tmp_path / "s")))
    found = {one.number: one for one in records.table("layout")["dimension"]}
    assert {key: one.result for key, one in found.items()} == {
        "1": CONFORMS,
        "2": OUTSIDE,
        "3": NOT_JUDGED,
        "4": NOT_MEASURED,
        "5": CONFORMS,
        "6": OUTSIDE,
        "7": OUTSIDE,
    }
    assert (found["1"].values, found["2"].outside, found["6"].words) == (
        (7.5, 7.55),
        1,
        ("ok", "nok"),
    )
    account = next(one for one in records.ledger.accounts if one.role == "layout")
    assert account.rows_used == 7


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        (ROWS.replace("0,51", "wide"), '"wide" stands in column "a" where a number belongs'),
        # One odd cell of many is a slip elsewhere; a dimension may not go missing for it.
        (
            ROWS.replace("0,51", "wide") + 40 * "8;More;1;2;1,5;1,5\n",
            '"wide" in column "a" is no number',
        ),
        (ROWS.replace("88;92", "92;88"), "lower limit 92 is not below upper limit 88"),
        (ROWS.replace("7,45;7,55;", "about 7;7,55;"), '"about 7" stands in column "LSL"'),
    ],
)
def test_what_is_no_number_is_refused_with_its_line(
    tmp_path: Path, rows: str, sentence: str
) -> None:
    with pytest.raises(InputError, match=r"data/layout.csv line \d") as error:
        read(open_study(with_a_layout(tmp_path / "s", rows)))
    assert sentence in str(error.value)


def test_a_layout_says_what_its_columns_are(tmp_path: Path) -> None:
    folder = with_a_layout(tmp_path / "s")
    toml = folder / "study.toml"
    text = toml.read_text(encoding="utf-8")
    toml.write_text(text.replace('number = "No", name = "Feature", ', ""), encoding="utf-8")
    with pytest.raises(InputError, match="needs the column number or the column name"):
        open_study(folder)


@pytest.mark.proof
def test_report_and_decision_sheet_show_it_and_the_audit_holds_it(tmp_path: Path) -> None:
    found = evaluate(with_a_layout(tmp_path / "s"))
    sections = {section.heading: section.blocks for section in build(found).sections}
    said, doubts, table = sections["Dimensional results"]
    assert isinstance(said, Text)
    assert said.text.endswith("2 conform, 3 do not conform, 1 was not measured, 1 has no limits.")
    assert isinstance(doubts, Bullets)
    assert "where its capability is judged" in doubts.items[0]
    assert isinstance(table, Table)
    assert [row[-1] for row in table.rows][:2] == [CONFORMS, OUTSIDE]
    asked = next(b for b in sections["Decisions"] if isinstance(b, Bullets))
    assert asked.items[-2] == (
        "Dimensional results: approval of the deviation of no. 2 Window (0.51, 0.40; allowed: at most 0.5); no. 6 Plating; "
        "no. 7 Depth (0.9999, 1.2000; allowed: at least 1)."
    )
    assert recompute(write(found, tmp_path / "out")).agrees


@given(
    st.lists(st.floats(-5, 5), max_size=5),
    st.one_of(st.none(), st.floats(-4, 0)),
    st.one_of(st.none(), st.floats(0.1, 4)),
)
def test_a_dimension_conforms_exactly_where_every_reading_does(
    values: list[float], lower: float | None, upper: float | None
) -> None:
    one = Dimension("1", "x", "mm", "", None, lower, upper, tuple(values))
    inside = all((lower is None or v >= lower) and (upper is None or v <= upper) for v in values)
    if values and (lower, upper) != (None, None):
        assert (one.result == CONFORMS) == inside
    assert (one.outside == 0) == inside
