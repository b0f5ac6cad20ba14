"""Whether a folder is a dossier of this kit and nothing else: nothing of anybody's is lost to a newer one."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import bagit
import pytest

from linestudy.dossier.bag.ownership import laid_there, same_content, strange
from linestudy.dossier.sealing.signature import SIGNATURE


def bag_at(folder: Path, results: object, page: str = "page\n") -> Path:
    folder.mkdir()
    (folder / "results.json").write_text(json.dumps(results), encoding="utf-8")
    (folder / "a\nb.txt").write_text(page, encoding="utf-8")
    bagit.make_bag(str(folder), {"Bagging-Date": "2026"}, checksums=["sha256", "sha512"])
    return folder


OURS = {"format": 2, "kit": {"linestudy": "0.3"}}


@pytest.fixture
def bag(tmp_path: Path) -> Path:
    return bag_at(tmp_path / "bag", OURS)


def test_a_dossier_as_it_was_written_is_nobody_elses(bag: Path) -> None:
    assert strange(bag) is None
    for name in (".DS_Store", "data/Thumbs.db", "data/.~lock.workbook.xlsx#"):
        (bag / name).touch()
    assert strange(bag) is None


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda bag: (bag / "notes.txt").touch(), 'holds "notes.txt", which this kit did not'),
        (lambda bag: (bag / "data" / "a\nb.txt").write_text("x"), "was changed since"),
        (lambda bag: (bag / "data" / "l").symlink_to(bag), 'holds the link "data/l"'),
        (lambda bag: (bag / "bagit.txt").unlink(), "is not a dossier of this kit"),
        (lambda bag: (bag / "data" / "results.json").unlink(), "is not a dossier of this kit"),
        (lambda bag: (bag / "data" / "results.json").write_text("{"), "no"),
        (lambda bag: (bag / "manifest-sha256.txt").unlink(), "is not a sound dossier"),
    ],
)
def test_what_this_kit_did_not_write_is_named(
    bag: Path, change: Callable[[Path], object], said: str
) -> None:
    change(bag)
    assert said in str(strange(bag))


@pytest.mark.parametrize(
    "results", [{"format": 2}, {"kit": {"linestudy": "1"}}, {"format": 2, "kit": "linestudy"}, []]
)
def test_a_bag_of_another_program_is_left_alone(tmp_path: Path, results: object) -> None:
    assert strange(bag_at(tmp_path / "bag", results)) == "exists and is not a dossier of this kit"


def test_an_empty_folder_is_free_and_a_link_or_a_file_is_not(tmp_path: Path, bag: Path) -> None:
    (tmp_path / "empty").mkdir()
    assert strange(tmp_path / "empty") is None
    (tmp_path / "link").symlink_to(bag)
    assert strange(tmp_path / "link") == "is a link to somewhere else"
    (tmp_path / "file").touch()
    assert strange(tmp_path / "file") == "exists and is not a dossier"


def test_what_systems_lay_there_is_told_from_what_people_do() -> None:
    laid = ["data/._a", "desktop.ini", "x/~$book.xlsx", "Thumbs.db"]
    mine = ["my.DS_Store", "Thumbs.db.txt", "~notes.txt", ".lock", "._"]
    assert [laid_there(name) for name in (*laid, *mine)] == [True] * 4 + [False] * 5


def test_the_same_content_in_every_byte_and_no_seal_lost(tmp_path: Path, bag: Path) -> None:
    again = bag_at(tmp_path / "again", OURS)
    other = bag_at(tmp_path / "other", OURS, "another page\n")
    assert same_content(again, bag)
    assert not same_content(other, bag)
    (bag / SIGNATURE).write_text("seal", encoding="utf-8")
    assert not same_content(again, bag)
    # A seal more is no loss.
    assert same_content(bag, again)
    (again / SIGNATURE).write_text("seal", encoding="utf-8")
    assert same_content(again, bag)
