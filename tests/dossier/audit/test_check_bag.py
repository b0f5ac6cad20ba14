"""The bag as a closed list: of a small bag, each way to spoil it, named by its file."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Callable
from pathlib import Path

import bagit
import pytest

from linestudy import __version__
from linestudy.dossier.audit.check_bag import (
    damaged,
    text_of,
    unexpected,
    versions,
    with_line_ends_restored,
)


@pytest.fixture
def bag(tmp_path: Path) -> Path:
    folder = tmp_path / "bag"
    folder.mkdir()
    for name in ("dossier.pdf", "index.html", "results.json", "versions.txt", "workbook.xlsx"):
        (folder / name).write_text(f"{name}\nof two lines\n", encoding="utf-8")
    (folder / "study").mkdir()
    (folder / "study" / "study.toml").write_text("format = 1\n", encoding="utf-8")
    bagit.make_bag(str(folder), {}, checksums=["sha256", "sha512"])
    return folder


def anew(bag: Path) -> None:
    """Renew the sums of the lists, as somebody who covers a change does."""
    for kind in ("sha256", "sha512"):
        lines = [
            f"{hashlib.new(kind, (bag / name).read_bytes()).hexdigest()} {name}\n"
            for name in ("bag-info.txt", "bagit.txt", "manifest-sha256.txt", "manifest-sha512.txt")
        ]
        (bag / f"tagmanifest-{kind}.txt").write_text("".join(lines), encoding="utf-8")


def test_a_sound_bag_has_nothing_to_tell(bag: Path) -> None:
    assert damaged(bag) == ()
    assert unexpected(bag, None) == ((), ())
    anew(bag)
    assert damaged(bag) == ()


def _twice(bag: Path) -> None:
    file = bag / "manifest-sha256.txt"
    file.write_text(2 * file.read_text(encoding="utf-8"), encoding="utf-8")
    anew(bag)


def _odd_line(bag: Path) -> None:
    file = bag / "manifest-sha512.txt"
    file.write_text(file.read_text(encoding="utf-8") + "note of mine\n", encoding="utf-8")
    anew(bag)


def _outside(bag: Path) -> None:
    (bag.parent / "mine.txt").write_text("mine", encoding="utf-8")
    file = bag / "tagmanifest-sha256.txt"
    total = hashlib.sha256(b"mine").hexdigest()
    file.write_text(file.read_text(encoding="utf-8") + f"{total} ../mine.txt\n", encoding="utf-8")


@pytest.mark.parametrize(
    ("spoil", "named"),
    [
        (lambda bag: (bag / "data" / "index.html").write_text("other"), "data/index.html"),
        (lambda bag: (bag / "data" / "index.html").unlink(), "data/index.html"),
        (lambda bag: (bag / "data" / "mine.txt").write_text("x"), "data/mine.txt"),
        (lambda bag: (bag / "manifest-sha512.txt").unlink(), "sha512 sums are missing"),
        (lambda bag: (bag / "bag-info.txt").write_text("Who: me\n"), "bag-info.txt"),
        (lambda bag: (bag / "bagit.txt").unlink(), "bag"),
        (_twice, "manifest-sha256.txt names data/dossier.pdf twice"),
        (_odd_line, "'note of mine', which is no sum"),
        (_outside, "../mine.txt"),
    ],
)
def test_each_way_to_spoil_it_is_named(
    bag: Path, spoil: Callable[[Path], object], named: str
) -> None:
    spoil(bag)
    assert named in "\n".join(damaged(bag))


def test_files_that_no_dossier_holds(bag: Path) -> None:
    (bag / "data" / "working_papers").mkdir()
    (bag / "data" / "working_papers" / "1.html").touch()
    (bag / "data" / "mine").mkdir()
    (bag / "data" / ".DS_Store").touch()
    (bag / "notes.txt").touch()
    (bag / "data" / "index.html").unlink()
    (bag / "data" / "link.txt").symlink_to(bag / "notes.txt")
    wrong, unchecked = unexpected(bag, None)
    assert unchecked == ("data/working_papers/1.html",)
    told = "\n".join(wrong)
    assert len(wrong) == 5
    assert "data/mine is a folder" in told
    assert "data/.DS_Store was laid there by a system" in told
    assert "notes.txt is no part of a dossier" in told
    assert "data/link.txt is a link" in told
    assert "data/index.html is missing" in told


def test_line_ends_that_a_transfer_turned_are_found_by_their_own_sums(bag: Path) -> None:
    page = bag / "data" / "index.html"
    was = page.read_bytes()
    page.write_bytes(was.replace(b"\n", b"\r\n"))
    assert with_line_ends_restored(bag) == {"data/index.html": was}
    # A word that was changed besides has no sum to be found by.
    page.write_bytes(page.read_bytes().replace(b"two", b"six"))
    assert with_line_ends_restored(bag) == {}


@pytest.mark.parametrize(
    ("raw", "read"),
    [
        (b"a\r\nb\r\n", "a\nb\n"),
        (b"a\nb\n", "a\nb\n"),
        # Mixed ends no transfer makes.
        (b"a\r\nb\n", "a\r\nb\n"),
        (b"a\rb\r\n", "a\rb\r\n"),
        (b"\xff", "\ufffd"),
    ],
)
def test_text_reads_the_same_from_every_system(tmp_path: Path, raw: bytes, read: str) -> None:
    file = tmp_path / "x.txt"
    file.write_bytes(raw)
    assert text_of(file) == read


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("numpy==2.0\n", "begins with 'numpy==2.0'"),
        ("# Python 3.11.2\nnumpy==2.0", "begins with"),
        ("# Python 3.11.2\nnumpy>=2.0\n", "'numpy>=2.0', which names no version"),
        ("# Python 3.11.2\n--no-binary x\n", "names no version"),
        ("# Python 3.11.2\npandas==2.0\nnumpy==2.0\n", "order of its names"),
        ("# Python 3.11.2\nnumpy==2.0\nnumpy==2.1\n", "names one twice"),
        ("# Python 3.11.2\nlinestudy==0.0.1\n", "versions.txt names linestudy 0.0.1"),
        ("# Python 3.10.2\nlinestudy==9\n", "versions.txt names python 3.10.2"),
    ],
)
def test_versions_are_read_as_strictly_as_they_are_written(
    tmp_path: Path, text: str, named: str
) -> None:
    file = tmp_path / "versions.txt"
    file.write_text(text, encoding="utf-8")
    wrong, _ = versions(file, {"linestudy": __version__, "python": "3.11"})
    assert named in "\n".join(wrong)
    shutil.rmtree(tmp_path)
    assert versions(file, {}) == ((), ())
