"""Where a dossier may go, what goes into it, and results.json the same bytes for the same content."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from linestudy.dossier.bag.writing import as_json, check_place, inputs_of
from linestudy.results import InputError
from linestudy.study import open_study


def test_results_are_sorted_whole_and_without_what_json_does_not_know() -> None:
    text = as_json({"b": 0.1 + 0.2, "a": {"z": "Höhe", "y": None}})
    assert text.index('"a"') < text.index('"b"')
    assert text.index('"y"') < text.index('"z"')
    assert "0.30000000000000004" in text
    assert "Höhe" in text
    assert text.endswith("}\n")
    assert text == as_json({"a": {"y": None, "z": "Höhe"}, "b": 0.1 + 0.2})
    for number in (float("nan"), float("inf")):
        with pytest.raises(ValueError, match="JSON compliant"):
            as_json({"a": number})


def test_a_lone_surrogate_of_a_hostile_file_is_written_as_a_mark() -> None:
    text = as_json({"a": "x\ud800y"})
    assert json.loads(text.encode("utf-8")) == {"a": "x?y"}


@pytest.fixture
def study(tmp_path: Path) -> Path:
    folder = tmp_path / "study"
    folder.mkdir()
    return folder


@pytest.mark.parametrize("place", [".", "out", "data/out"])
def test_no_dossier_goes_into_its_study(study: Path, place: str) -> None:
    with pytest.raises(InputError, match=r"in or around the study|did not write|not a dossier"):
        check_place(study / place, study)


def test_no_dossier_goes_around_its_study_or_by_a_way_about(study: Path) -> None:
    with pytest.raises(InputError):
        check_place(study.parent, study)
    with pytest.raises(InputError, match="in or around"):
        check_place(study.parent / "beside" / ".." / "study" / "out", study)
    (study.parent / "link").symlink_to(study)
    with pytest.raises(InputError, match="in or around"):
        check_place(study.parent / "link" / "out", study)


def test_beside_the_study_is_free_until_somebody_puts_something_there(study: Path) -> None:
    out = study.parent / "out"
    check_place(out, study)
    out.mkdir()
    check_place(out, study)
    (out / "mine.txt").touch()
    with pytest.raises(InputError, match="not a dossier"):
        check_place(out, study)
    # A name that only begins alike is another place.
    check_place(study.parent / "study.dossier", study)


STUDY = """format = 1
[study]
title = "T"
part = "P"
earlier = "before/results.json"
[[characteristic]]
id = "w"
name = "Width"
lower = 0.0
upper = 1.0
[[data]]
role = "run"
file = "data\\\\run.csv"
columns = { w = "W" }
[[data]]
role = "run"
file = "data/run.csv"
columns = { w = "V" }
[[attachment]]
title = "There"
file = "drawing.pdf"
[[attachment]]
title = "Not there"
file = "missing.pdf"
"""


def test_inputs_are_listed_once_by_forward_strokes(study: Path) -> None:
    (study / "study.toml").write_text(STUDY, encoding="utf-8")
    (study / "drawing.pdf").touch()
    assert inputs_of(open_study(study)) == ("data/run.csv", "before/results.json", "drawing.pdf")
