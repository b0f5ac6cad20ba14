"""What a person puts right is what the study says, and nothing else changes."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy import open_study
from linestudy.intake import Draft, draft_study
from linestudy.intake.corrections import ROLES, TAGS, WORDS, faults, meanings, set_meaning, set_role
from linestudy.intake.preview import Preview, preview
from linestudy.records import read
from linestudy.study.model import Data


def drafted(folder: Path, text: str) -> tuple[Draft, Preview]:
    (folder / "list.csv").write_text(
        "Name,Nominal,LSL,USL,Unit\nWidth,2.8,2.7,2.9,mm\nGap,1,0.9,1.1,mm\n"
    )
    (folder / "f.csv").write_text(text)
    draft = draft_study([folder / "list.csv", folder / "f.csv"])
    return draft, preview(draft.tables[0])


def test_words_and_tags_are_keys_that_there_are() -> None:
    assert set(TAGS) == set(ROLES)
    assert {tag for tags in TAGS.values() for tag in tags} == set(WORDS)
    assert {word.partition(":")[0] for word in WORDS} <= set(Data.model_fields)


def test_a_gauge_study_taken_for_a_run(tmp_path: Path) -> None:
    # Two combinations are not there, so that the design does not tell what the columns are.
    rows = "".join(
        f"{p},{w},{t},{2.8 + p / 100 + t / 1000}\n"
        for p in range(5)
        for w in "xy"
        for t in (1, 2)
        if (p, t) != (3, 2)
    )
    draft, seen = drafted(tmp_path, "a,b,c,d\n" + rows)
    table = draft.tables[0]
    assert table.said.role == "run"
    set_role(table, "crossed")
    table.ids = dict.fromkeys(table.ids, "")
    assert any("part" in fault for fault in faults(draft, table))
    assert "Name the gauge." in faults(draft, table)
    for column, meaning in {
        "a": "part",
        "b": "appraiser",
        "c": "trial",
        "d": "readings:width",
    }.items():
        set_meaning(draft, table, seen, column, meaning)
    table.gauges = [draft.gauge("Camera")]
    assert faults(draft, table) == []
    assert meanings(table) == {"a": "part", "b": "appraiser", "c": "trial", "d": "readings:width"}
    draft.write(tmp_path / "study")
    crossed = read(open_study(tmp_path / "study")).table("crossed", "width")
    assert len(crossed) == 18
    assert set(crossed["appraiser"]) == {"x", "y"}


def test_a_column_has_one_meaning_and_a_tag_one_column(tmp_path: Path) -> None:
    rows = "".join(f"{i},{i + 3},{'ok' if i % 7 else 'nok'},2.80{i % 10}\n" for i in range(40))
    draft, seen = drafted(tmp_path, "Stroke,Extra,Result,Width\n" + rows)
    table = draft.tables[0]
    assert meanings(table)["Stroke"] == "order"
    set_meaning(draft, table, seen, "Extra", "order")
    assert "Stroke" not in meanings(table)
    set_meaning(draft, table, seen, "Result", "")
    assert table.said.key("accept") is None
    set_meaning(draft, table, seen, "Result", "verdict")
    assert (table.said.key("accept"), table.said.key("reject")) == (["ok"], ["nok"])
    set_meaning(draft, table, seen, "Width", "readings:gap")
    assert table.ids["Width"] == "gap"
    set_meaning(draft, table, seen, "Extra", "readings:gap")
    # The readings of a characteristic stand in one column of a file.
    assert meanings(table) == {"Extra": "readings:gap", "Result": "verdict"}


def test_the_role_that_was_recognised_comes_back_whole(tmp_path: Path) -> None:
    draft, _ = drafted(tmp_path, "No,Width\n" + "".join(f"{i},2.80{i}\n" for i in range(9)))
    table = draft.tables[0]
    before = table.said
    set_role(table, "attribute")
    assert table.said.key("order") is None
    set_role(table, "run")
    assert table.said == before


@pytest.mark.parametrize(
    ("column", "meaning", "told"),
    [
        ("Nowhere", "order", "no column"),
        ("Word", "readings:width", "no numbers"),
        ("No", "appraiser", "cannot be"),
        ("No", "readings:height", "no characteristic"),
    ],
)
def test_what_cannot_be_is_said(tmp_path: Path, column: str, meaning: str, told: str) -> None:
    rows = "".join(f"{i},w{i},2.80{i}\n" for i in range(9))
    draft, seen = drafted(tmp_path, "No,Word,Width\n" + rows)
    with pytest.raises(ValueError, match=told):
        set_meaning(draft, draft.tables[0], seen, column, meaning)
    with pytest.raises(ValueError, match="is no role"):
        set_role(draft.tables[0], "picnic")


def test_a_table_that_is_not_used_is_left_out(tmp_path: Path) -> None:
    draft, _ = drafted(tmp_path, "No,Width\n" + "".join(f"{i},2.80{i}\n" for i in range(9)))
    draft.tables[0].used = False
    assert draft.data_tables() == []
    assert draft.left_out() == ["f.csv, as was said"]
    draft.write(tmp_path / "study")
    assert not (tmp_path / "study/data/f.csv").exists()


LAYOUT = "No;Merkmal;Nennmaß;USG;OSG;Einheit;Teil 1;Teil 2\n1;Länge;20,0;19,8;20,2;mm;20,05;19,98\n2;Breite;6,3;6,2;6,4;mm;6,31;6,45\n3;Lochabstand;12,0;11,9;12,1;mm;12,01;12,02\n"


def test_dimensions_measured_on_two_parts_are_a_layout(tmp_path: Path) -> None:
    (tmp_path / "masse.csv").write_text(LAYOUT, encoding="utf-8")
    draft = draft_study([tmp_path / "masse.csv"])
    assert [item.name for item in draft.items] == ["Länge", "Breite", "Lochabstand"]
    (table,) = draft.tables
    assert table.said.role == "layout"
    assert faults(draft, table) == []
    assert meanings(table)["Teil 2"] == "layout:values"
    draft.write(tmp_path / "study")
    account = read(open_study(tmp_path / "study")).ledger.accounts[0]
    assert account.rows_used == 3


def test_a_layout_is_put_right_column_by_column(tmp_path: Path) -> None:
    text = "a,b,c,d,e,f\n" + "".join(f"{i},name{i},{i}.5,{i},{i + 1},{i}.4\n" for i in range(1, 8))
    draft, seen = drafted(tmp_path, text)
    table = draft.tables[0]
    set_role(table, "layout")
    assert len(faults(draft, table)) == 2
    wanted = {"a": "number", "b": "name", "d": "lower", "e": "upper", "f": "values", "c": "values"}
    for column, part in wanted.items():
        set_meaning(draft, table, seen, column, f"layout:{part}")
    set_meaning(draft, table, seen, "c", "layout:nominal")
    assert faults(draft, table) == []
    assert table.said.key("layout") == {
        "number": "a", "name": "b", "lower": "d", "upper": "e", "values": ["f"], "nominal": "c"
    }  # fmt: skip
    draft.write(tmp_path / "study")
    assert read(open_study(tmp_path / "study")).ledger.accounts[0].rows_used == 7
