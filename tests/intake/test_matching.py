"""Readings are given to characteristics by names, then by sizes; what cannot be told is asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy.intake import draft_study
from linestudy.results import InputError

LIST = "Name,Nominal,LSL,USL,Unit,Gauge\nBlade width,2.8,2.75,2.85,mm,Camera\nGap,0.6,0.5,0.7,mm,Camera\n"


def rows(head: str, middle: float, n: int = 12) -> str:
    return head + "\n" + "".join(f"{i},{middle + i % 5 / 1000:.4f}\n" for i in range(1, n + 1))


def draft(folder: Path, **files: str):
    for name, text in files.items():
        (folder / name.replace("__", ".")).write_text(text, encoding="utf-8")
    return draft_study([folder / name.replace("__", ".") for name in files])


@pytest.mark.parametrize(
    "head",
    [
        "Stroke,Blade width",
        "Stroke,blade_width [mm]",
        "Stroke,Width",
        "Stroke,Bladewidth",
        "Stroke,Blade widht",
    ],
)
def test_by_name(tmp_path: Path, head: str) -> None:
    found = draft(tmp_path, list__csv=LIST, run__csv=rows(head, 2.8))
    assert list(found.tables[0].ids.values()) == ["blade_width"]
    assert found.tables[0].gauges == ["camera"]


def test_by_the_name_of_the_file(tmp_path: Path) -> None:
    found = draft(tmp_path, list__csv=LIST, gap_run__csv=rows("Stroke,Value", 0.6))
    assert found.tables[0].ids == {"Value": "gap"}


def test_by_size_where_only_one_fits(tmp_path: Path) -> None:
    found = draft(tmp_path, list__csv=LIST, run__csv=rows("Stroke,Value [in]", 2.8 / 25.4))
    assert list(found.tables[0].ids.values()) == ["blade_width"]


def test_what_cannot_be_told_is_asked_or_left_out(tmp_path: Path) -> None:
    found = draft(tmp_path, list__csv=LIST, run__csv=rows("Stroke,Value", 77))
    assert found.tables[0].ids == {"Value": "?"}
    assert "about:0:Value" in [question.key for question in found.questions()]
    found = draft(tmp_path, list__csv=LIST, run__csv=rows("Stroke,Temperature", 77))
    assert found.tables[0].ids == {"Temperature": ""}
    assert found.left_out() == ['"Temperature" in run.csv, which is given to no characteristic']
    assert found.data_tables() == []


def test_without_a_list_the_columns_are_the_characteristics(tmp_path: Path) -> None:
    found = draft(
        tmp_path,
        run__csv=rows("Stroke,Blade width [mm]", 2.8),
        sheet__csv="Part,A1,A2\n1,2.8,2.9\n2,2.7,2.8\n3,2.8,2.8\n",
    )
    assert [(item.id, item.name, item.unit) for item in found.items] == [
        ("blade_width", "Blade width", "mm"),
        ("sheet", "sheet", None),
    ]
    assert "item:blade_width:lower" in [question.key for question in found.questions()]


def test_a_unit_is_proposed_where_sizes_differ_by_a_factor(tmp_path: Path) -> None:
    found = draft(tmp_path, list__csv=LIST, run__csv=rows("Stroke,Blade width", 2800))
    (question,) = [q for q in found.questions() if q.key == "unit:0"]
    assert question.default == "µm"
    assert "1000 times" in question.why
    found.answer("unit:0", "")
    assert found.data_tables()[0][0]["unit"] == "µm"
    with pytest.raises(ValueError, match="no unit that is known"):
        found.answer("unit:0", "furlong")


def test_two_files_of_one_name(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    for place in (tmp_path / "f.csv", tmp_path / "a" / "f.csv"):
        place.write_text(rows("Stroke,W", 2.8), encoding="utf-8")
    with pytest.raises(InputError, match="name of two files"):
        draft_study([tmp_path / "f.csv", tmp_path / "a" / "f.csv"])
