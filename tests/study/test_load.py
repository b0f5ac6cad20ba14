"""study.toml: what is read, and the one line a reader gets when it cannot be."""

from __future__ import annotations

import re
import typing
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.results import InputError
from linestudy.study import open_study, start_study

GOOD = """format = 1
[study]
title = "Study"
part = "P-1"
[[characteristic]]
id = "throat"
name = "Throat"
unit = "mm"
nominal = 0.55
lower = 0.5
upper = 0.6
[[gauge]]
id = "camera"
name = "Camera"
[[data]]
role = "run"
gauge = "camera"
file = "run.csv"
columns = { throat = "T" }
"""


def study(folder: Path, text: str) -> Path:
    (folder / "study.toml").write_text(text, encoding="utf-8")
    return folder


def refusal(folder: Path, text: str) -> InputError:
    with pytest.raises(InputError) as refused:
        open_study(study(folder, text))
    assert "\n" not in str(refused.value)
    return refused.value


def test_a_good_file_is_read(tmp_path: Path) -> None:
    opened = open_study(study(tmp_path, GOOD))
    throat = opened.characteristic("throat")
    assert throat.tolerance == pytest.approx(0.1)
    assert throat.measures() == "0.5 to 0.6 mm"
    assert opened.confidence == 0.95
    assert opened.gauge("camera").name == "Camera"
    assert opened.line_rate is None


def test_study_toml_itself_may_be_named(tmp_path: Path) -> None:
    assert open_study(study(tmp_path, GOOD) / "study.toml").folder == tmp_path


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert open_study(tmp_path).head.title == "Study"


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ("upper", "uper", 11, 'unknown key "uper"; did you mean "upper"'),
        ("lower = 0.5", "lower = 0.7", 5, "lower limit 0.7 is not below upper limit 0.6"),
        ("nominal = 0.55", "nominal = 0.65", 5, "nominal 0.65 is above upper limit"),
        ("columns =", "collumns =", 19, 'did you mean "columns"'),
        (
            'gauge = "camera"',
            'gauge = "kamera"',
            17,
            'there is no gauge "kamera"; did you mean "camera"',
        ),
        ("{ throat", "{ throut", 19, 'there is no characteristic "throut"'),
        ('"run.csv"', '"../run.csv"', 18, "must lie inside the study folder"),
        ('"run.csv"', '"/etc/passwd"', 18, "must lie inside the study folder"),
        ('"run.csv"', '"C:\\\\run.csv"', 18, "must lie inside the study folder"),
        ('role = "run"', 'role = "rum"', 16, "role = 'rum' cannot be used"),
        ("lower = 0.5", 'lower = "0,5"', 10, "lower = '0,5' cannot be used"),
        ('title = "Study"', "", 2, 'the key "title" is missing'),
        ("[[gauge]]", "[[guage]]", None, 'unknown key "guage"'),
        ("upper = 0.6", "upper = nan", 11, "upper = nan cannot be used"),
        ('id = "throat"', 'id = "a b"', 6, "id = 'a b' cannot be used"),
    ],
)
def test_each_mistake_gets_its_line(
    tmp_path: Path, old: str, new: str, line: int | None, words: str
) -> None:
    error = refusal(tmp_path, GOOD.replace(old, new, 1))
    assert words in str(error)
    if line is not None:
        assert f"line {line}" in error.where


def test_other_mistakes(tmp_path: Path) -> None:
    assert "format 2" in str(refusal(tmp_path, GOOD.replace("format = 1", "format = 2")))
    assert "not valid TOML" in str(refusal(tmp_path, GOOD + "x = ["))
    second = '[[characteristic]]\nid = "throat"\nname = "Again"\n'
    assert "used twice" in str(refusal(tmp_path, GOOD.replace("[[gauge]]", second + "[[gauge]]")))
    pairs = '[[data]]\nrole = "paired"\ngauges = ["camera", "camera"]\npart = "P"\nfile = "p.csv"\n'
    assert "two column names" in str(
        refusal(tmp_path, GOOD + pairs + 'columns = { throat = "T" }\n')
    )
    (tmp_path / "study.toml").write_bytes(b"title = \xff\xfe")
    with pytest.raises(InputError, match="not UTF-8"):
        open_study(tmp_path)


def test_a_study_in_planning_is_an_ordinary_state(tmp_path: Path) -> None:
    lonely = '[[characteristic]]\nid = "seam"\nname = "Seam"\n'
    text = GOOD.replace("[[gauge]]", lonely + "[[gauge]]")
    planned = (
        text
        + '[[data]]\nrole = "run"\nplanned = true\nfile = "later.csv"\ncolumns = { seam = "S" }\n'
    )
    (tmp_path / "study.toml").write_text(planned)
    study = open_study(tmp_path)
    assert [data.file for data in study.planned] == ["later.csv"]
    assert len(study.data) == 1
    (tmp_path / "later.csv").write_text("S\n1\n")
    assert not study.planned
    assert len(study.data) == 2
    (tmp_path / "study.toml").write_text(text.split("[[data]]")[0])
    assert open_study(tmp_path).data == ()


def test_dates_of_toml_are_read(tmp_path: Path) -> None:
    text = GOOD.replace('part = "P-1"', 'part = "P-1"\ndate = 2026-03-02')
    text += '[[event]]\nname = "wipe"\ntime = 2026-03-02T06:10:00\n'
    text += (
        '[[set_aside]]\nreason = "jam"\nbegin = 2026-03-02 06:00:00\nend = 2026-03-02 06:05:00\n'
    )
    (tmp_path / "study.toml").write_text(text)
    study = open_study(tmp_path)
    assert study.head.date == "2026-03-02"
    assert study.events[0].time == "2026-03-02T06:10:00"
    assert study.set_aside[0].begin == "2026-03-02T06:00:00"


def test_causes_and_criteria_by_class(tmp_path: Path) -> None:
    cause = '[[cause]]\ncause = "feed slipped"\naction = "guide replaced"\nby = "A. Berg"\n'
    assert "needs at" in str(refusal(tmp_path, GOOD + cause))
    assert "needs at" in str(refusal(tmp_path, GOOD + cause + "first = 4\n"))
    assert "must not be after" in str(refusal(tmp_path, GOOD + cause + "first = 9\nlast = 4\n"))
    unknown = cause + 'at = 4\ncharacteristic = "throut"\n'
    assert 'no characteristic "throut"' in str(refusal(tmp_path, GOOD + unknown))
    classes = "[criteria.special]\ncapability_accept = 2.0\n"
    (tmp_path / "study.toml").write_text(GOOD + cause + "at = 4\n" + classes)
    study = open_study(tmp_path)
    assert study.file.cause[0].stretch == (4.0, 4.0)
    assert study.criteria.special is not None
    assert study.criteria.special.capability_accept == 2.0
    assert 'unknown key "kapa_min"' in str(
        refusal(tmp_path, GOOD + "[criteria.other]\nkapa_min = 0.8\n")
    )


def test_no_folder_and_no_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such folder"):
        open_study(tmp_path / "absent")
    with pytest.raises(InputError, match="linestudy new"):
        open_study(tmp_path)


@given(st.text(max_size=200), st.integers(0, len(GOOD)), st.integers(0, 40))
def test_a_damaged_file_is_refused_in_one_line_or_read(
    tmp_path: Path, junk: str, place: int, cut: int
) -> None:
    text = GOOD[:place] + junk + GOOD[place + cut :]
    (tmp_path / "study.toml").write_bytes(text.encode("utf-8", "surrogatepass"))
    said = ""
    try:
        open_study(tmp_path)
    except InputError as error:
        said = str(error)
    assert said == "" or said.isprintable()


def test_the_starter_opens_and_refuses_to_overwrite(tmp_path: Path) -> None:
    folder = start_study(tmp_path / "mine")
    assert open_study(folder).characteristic("width").nominal == 6.30
    with pytest.raises(InputError, match="not empty"):
        start_study(folder)
    assert [p.name for p in tmp_path.iterdir()] == ["mine"]


def _sections() -> dict[str, str]:
    """Each section of FORMAT.md about a table, with the tables that a section lists in one table of its own."""
    from linestudy.study import load

    text = (Path(load.__file__).parent / "FORMAT.md").read_text(encoding="utf-8")
    parts = re.split(r"^## \[+(\w+)\]+\n", text.partition("# printed.toml")[0], flags=re.MULTILINE)
    found = dict(zip(parts[1::2], parts[2::2], strict=True))
    rows = re.findall(r"^\| `\[+(\w+)\]+` \| (.*) \|$", text, flags=re.MULTILINE)
    return {name: part.partition("\n## ")[0] for name, part in found.items()} | dict(rows)


def _models() -> dict[str, Any]:
    """Each table of study.toml with its model."""
    from linestudy.study import model

    found = {}
    for name, field in model.StudyFile.model_fields.items():
        kinds = [field.annotation, *typing.get_args(field.annotation)]
        own = [kind for kind in kinds if isinstance(kind, type) and hasattr(kind, "model_fields")]
        found |= {name: own[0]} if own else {}
    return found


def test_every_key_is_described_in_the_section_of_its_table() -> None:
    models, sections = _models(), _sections()
    assert models.keys() == sections.keys()
    assert len(models) > 15
    for name, table in models.items():
        for key in table.model_fields.keys() - {"special", "other"}:
            assert re.search(rf"`{key}(?:`| =)", sections[name]), f"[{name}] {key} is not described"


def test_every_key_that_a_table_describes_is_read() -> None:
    from linestudy.study import model, submission

    for name, table in _models().items():
        for cell in re.findall(r"^\| (`[^|]*) \|", _sections()[name], flags=re.MULTILINE):
            for key in re.findall(r"`(\w+)`", re.sub(r" of `\w+`", "", cell)):
                assert key in table.model_fields, f"[{name}] {key} is described and not read"
    # Inner tables are described by an example of each.
    data = _sections()["data"]
    for key, inner in (("long", model.Long), ("layout", submission.Layout), ("subgroup", model.Subgroup)):  # fmt: skip
        line = next(each for each in data.splitlines() if each.startswith(f"| `{key}`"))
        examples = re.findall(r"`\{([^{}]*)\}`", line)
        named = set(re.findall(r"(\w+) = ", " ".join(examples))) or set(inner.model_fields)
        assert named <= inner.model_fields.keys()
        for own in inner.model_fields:
            assert re.search(rf"\b{own}\b", line), f"{key} = {{ {own} = … }} is not described"
