"""A draft is written whole or not at all, beside what is there already."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy import open_study
from linestudy.intake import draft_study
from linestudy.records import read
from linestudy.results import InputError

RUN = "Stroke,Width\n" + "".join(f"{i},2.8{i % 7}\n" for i in range(1, 20))


def drafted(folder: Path, text: str = RUN):
    (folder / "run.csv").write_text(text, encoding="utf-8")
    draft = draft_study([folder / "run.csv"])
    for question in draft.questions():
        draft.answer(question.key, {"gauge": "Camera 1"}.get(question.key.split(":")[0], "") or "")
    return draft


def test_a_study_of_its_own(tmp_path: Path) -> None:
    file = drafted(tmp_path).write(tmp_path / "study")
    study = open_study(file.parent)
    assert [item.name for item in study.characteristics] == ["Width"]
    assert [gauge.name for gauge in study.gauges] == ["Camera 1"]
    assert (tmp_path / "study" / "data" / "run.csv").read_text(encoding="utf-8") == RUN


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    drafted(tmp_path).write(tmp_path / "study")
    with pytest.raises(InputError, match="in the study already with other content"):
        drafted(tmp_path, RUN + "20,2.8\n").write(tmp_path / "study")
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "letter.txt").write_text("x", encoding="utf-8")
    with pytest.raises(InputError, match="is no study"):
        drafted(tmp_path).write(tmp_path / "other")


def test_answers_that_are_none(tmp_path: Path) -> None:
    (tmp_path / "run.csv").write_text(RUN, encoding="utf-8")
    draft = draft_study([tmp_path / "run.csv"])
    with pytest.raises(ValueError, match="a gauge needs a name"):
        draft.answer("gauge:0", "")
    with pytest.raises(ValueError, match="there is no question"):
        draft.answer("colour", "red")


def test_of_two_columns_with_one_name_the_first_is_named_by_its_place(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text("Name,LSL,USL,Unit\nWidth,2.75,2.85,mm\n")
    rows = [f"{i},2.80{i * 7 % 10},2.81{i * 3 % 10}\n" for i in range(1, 30)]
    (tmp_path / "run.csv").write_text("No,Width,Width\n" + "".join(rows))
    draft = draft_study([tmp_path / "list.csv", tmp_path / "run.csv"])
    draft.answer("gauge:0", "Camera")
    folder = tmp_path / "study"
    draft.write(folder)
    study = open_study(folder)
    assert study.data[0].columns == {"width": "column 2"}
    found = read(study).table("run", "width")
    assert found is not None
    assert found["value"].tolist() == [float(row.split(",")[1]) for row in rows]
    assert any("stands there again" in each for each in draft.doubts())
