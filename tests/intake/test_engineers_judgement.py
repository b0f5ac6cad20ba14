"""What the engineer judges is written where it is read, and nothing else in study.toml changes."""

from __future__ import annotations

import datetime
import re
import tomllib
from pathlib import Path

import pytest

from linestudy.intake import accept_family, exclude, record_action, record_cause
from linestudy.results import InputError
from linestudy.study import open_study
from linestudy.study.starter import start_study

WHO = {"by": "A. Person", "date": "2026-05-03"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return start_study(tmp_path / "study")


def _lines(folder: Path) -> list[str]:
    return (folder / "study.toml").read_text(encoding="utf-8").splitlines()


def test_everything_that_stood_there_stands_there_still(folder: Path) -> None:
    before = _lines(folder)
    record_cause(folder, "coil weld", "welds cut out", at=251.0, characteristic="width", **WHO)
    exclude(folder, "strip jam, tool opened", first=10, last=20, **WHO)
    record_action(folder, "wipe the lens each hour", **WHO)
    after = _lines(folder)
    assert after[: len(before)] == before
    study = open_study(folder)
    (cause,) = study.file.cause
    assert (cause.at, cause.characteristic, cause.by) == (251.0, "width", "A. Person")
    assert study.set_aside[0].first == 10
    assert [item.by for item in study.file.action] == ["A. Person", "A. Person"]
    # What is decided is done; what is to be done is not.
    assert [item.done for item in study.file.action] == ["2026-05-03", None]


def test_a_family_changes_one_key_and_says_by_whom(folder: Path) -> None:
    before = tomllib.loads("\n".join(_lines(folder)))
    accept_family(folder, "width", "gamma", reason="cannot fall below zero", **WHO)
    after = tomllib.loads("\n".join(_lines(folder)))
    assert after["characteristic"][0].pop("family") == "gamma"
    assert "cannot fall below zero" in after.pop("action")[0]["action"]
    before["characteristic"][0].pop("family", None)
    assert after == before


def test_run_all_again_writes_nothing_twice(folder: Path) -> None:
    for _ in range(3):
        record_cause(
            folder, "coil weld", "cut out", by="A", date=datetime.date(2026, 5, 3), first=1, last=9
        )
        found = exclude(folder, "jam", begin="2026-05-03T10:00", end="2026-05-03T10:10", **WHO)
    assert len(open_study(folder).file.cause) == len(open_study(folder).set_aside) == 1
    assert "already" in found.text


@pytest.mark.parametrize(
    ("bad", "told"),
    [
        ({"at": 1.0, "by": "A", "date": "3.5.2026"}, "not a date"),
        ({"by": "A", "date": "2026-05-03"}, "needs at"),
        ({"at": 1.0, "characteristic": "widht", **WHO}, "widht"),
        ({"first": 9.0, "last": 1.0, **WHO}, "first must not be after last"),
    ],
)
def test_what_cannot_be_read_is_never_written(
    folder: Path, bad: dict[str, object], told: str
) -> None:
    before = _lines(folder)
    with pytest.raises(InputError, match=told):
        record_cause(folder, "weld", "cut out", **bad)  # type: ignore[arg-type]
    assert _lines(folder) == before
    assert sorted(p.name for p in folder.iterdir() if p.name.startswith(".")) == []


def test_a_person_who_does_not_say_it_all_is_told_what_is_missing(folder: Path) -> None:
    before = _lines(folder)
    found = record_cause(folder, "weld", " ", by="", date="2026-05-03", at=1)
    assert repr(found) == "Nothing was recorded: action, by are still empty."
    assert _lines(folder) == before


def test_words_are_data(folder: Path) -> None:
    words = 'a "quoted" \\ word, [[action]]\nand a line'
    record_action(folder, words, **WHO)
    assert open_study(folder).file.action[0].action == " ".join(words.split())


def test_the_rule_of_stability_is_handed_what_was_recorded(tmp_path: Path) -> None:
    from linestudy.verdict.gather.run_readings import _causes

    folder = start_study(tmp_path / "study")
    record_cause(folder, "coil weld", "cut out", first=1, last=9, characteristic="width", **WHO)
    study = open_study(folder)
    assert [cause[:2] for cause in _causes(study, study.characteristic("width"))] == [(1.0, 9.0)]


def test_a_distribution_that_nobody_can_fit_is_refused_with_the_nearest(folder: Path) -> None:
    before = _lines(folder)
    with pytest.raises(InputError, match="did you mean 'Weibull'"):
        accept_family(folder, "width", "Weibul", reason="lifetimes", **WHO)
    with pytest.raises(InputError, match="use one of auto, normal"):
        accept_family(folder, "width", "qqq", reason="none", **WHO)
    assert _lines(folder) == before
    accept_family(folder, "width", "weibull", reason="lifetimes", **WHO)
    assert open_study(folder).characteristic("width").family == "weibull"


def _odd(text: str, how: str) -> bytes:
    """A study.toml as other programs and people write it."""
    if how == "line ends of Windows":
        return text.replace("\n", "\r\n").encode()
    if how == "byte order mark":
        return b"\xef\xbb\xbf" + text.encode()
    if how == "tabs and a comment at the end":
        return (text.replace(" = ", "\t=\t") + "\t# the end, without a line end").encode()
    assert how == "tables on one line"
    first = '{ cause = "old", action = "b", by = "c", date = "2026-01-01", at = 8 }'
    return f"cause = [\n\t{first},\t# the first\n\t# nobody else\n]\n{text}".encode()


@pytest.mark.parametrize(
    "how",
    ["line ends of Windows", "byte order mark", "tabs and a comment at the end", "tables on one line"],
)  # fmt: skip
def test_a_file_keeps_its_own_way_of_writing(folder: Path, how: str) -> None:
    file = folder / "study.toml"
    file.write_bytes(_odd(file.read_text(encoding="utf-8"), how))
    before = file.read_bytes()
    causes = len(open_study(folder).file.cause)
    record_cause(folder, "coil weld", "welds cut out", at=251, **WHO)
    exclude(folder, "strip jam", first=10, last=20, **WHO)
    record_cause(folder, "lens", "wiped", at=260, **WHO)
    after = file.read_bytes()
    study = open_study(folder)
    assert [cause.cause for cause in study.file.cause][causes:] == ["coil weld", "lens"]
    assert after.startswith(b"\xef\xbb\xbf") == before.startswith(b"\xef\xbb\xbf")
    # Lines end as they did, and each that was there is there still, in its order.
    ends = b"\r\n" if b"\r\n" in before else b"\n"
    assert after.count(b"\n") == after.count(ends)
    rest = iter(after.split(ends))
    assert all(any(line == other for other in rest) for line in before.split(ends) if line)
    # A table begins behind one blank line.
    text = after.decode().replace("\r\n", "\n")
    added = text[text.index("coil weld") - 40 :] if how != "tables on one line" else text[-120:]
    assert "\n\n\n" not in added
    assert all(block.startswith("\n\n") for block in re.findall(r"\n+(?=\[\[)", added)[1:])


def test_what_the_call_lacks_is_not_laid_to_study_toml(folder: Path) -> None:
    before = (folder / "study.toml").read_bytes()
    words = {"cause": "jam", "action": "cleared", **WHO}
    for where, lacks in (
        ({"first": 5}, "nothing was written: needs at"),
        ({"first": 9, "last": 5}, "nothing was written: first must not be after last"),
        ({"at": 5, "characteristic": "Width"}, 'nothing was written: there is no characteristic "Width"'),
    ):  # fmt: skip
        with pytest.raises(InputError, match=lacks) as error:
            record_cause(folder, **words, **where)
        assert "mend study.toml" not in str(error.value)
    assert (folder / "study.toml").read_bytes() == before
    # What was wrong before is still told where it is.
    study = open_study(folder)
    (folder / "study.toml").write_bytes(before + b"\n[[cause]]\nat = 1\n")
    with pytest.raises(InputError, match=r"study\.toml line \d+"):
        record_cause(study, **words, at=5)


def test_a_date_is_written_in_one_way(folder: Path) -> None:
    record_action(folder, "wipe the lens", by="A. Person", date="20260503")
    assert open_study(folder).file.action[0].date == "2026-05-03"


def test_a_place_that_the_run_does_not_have_is_named_at_once(folder: Path) -> None:
    there = record_cause(folder, "coil weld", "cut out", at=51, **WHO)
    assert there.text == "Written into study.toml:"
    cause = record_cause(folder, "feed slip", "guide replaced", at=990_001, **WHO)
    assert 'Look at this: [[cause]] "feed slip": no reading of the run has' in cause.text
    assert "at = 990001" in cause.lines
    period = exclude(folder, "jam", first=880_000, last=890_000, **WHO)
    assert "from 880,000 to 890,000" in period.text
    # A second time nothing is written, and nothing is read.
    assert "already" in record_cause(folder, "feed slip", "guide replaced", at=990_001, **WHO).text
    # Files that cannot be read are reported by whatever reads them.
    for file in (folder / "data").iterdir():
        file.unlink()
    assert record_cause(folder, "x", "y", at=7, **WHO).text == "Written into study.toml:"
