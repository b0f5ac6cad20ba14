"""The bag as a closed list: every file it must hold, every sum, and its own few lines.

Sums protect against damage, not against somebody who renews them. So what a dossier holds is listed from the study
itself: a file that is missing, one that nobody asked for, a line that nobody wrote are each named.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.dossier.bag.ownership import laid_there
from linestudy.dossier.bag.writing import inputs_of
from linestudy.dossier.forms.customer.filling import FORM
from linestudy.records.files import sha256

if TYPE_CHECKING:
    import bagit

    from linestudy.study.load import Study

SUMS = ("sha256", "sha512")
#: What a dossier holds beside its inputs.
PAYLOAD = ("dossier.pdf", "index.html", "results.json", "versions.txt", "workbook.xlsx")
#: The bag's own files.
TAGS = (
    "bag-info.txt",
    "bagit.txt",
    *(f"manifest-{kind}.txt" for kind in SUMS),
    *(f"tagmanifest-{kind}.txt" for kind in SUMS),
)
#: Pages of notebooks that were run with the study: written by code of the study's folder, never run here.
PAPERS = re.compile(r"working_papers/[^/]+\.html")

#: A seal over the lists; whoever put it there is asked for the key, see the signature's own check.
SEAL = "tagmanifest-sha512.txt.minisig"

_BAGIT = "BagIt-Version: 0.97\nTag-File-Character-Encoding: UTF-8\n"
_AGENT = re.compile(
    r"bagit\.py v\d+(?:\.\d+)*(?:[-.a-z0-9]*)? <https://github\.com/LibraryOfCongress/bagit-python>"
)


def damaged(place: Path) -> tuple[str, ...]:
    """Hold every file of a bag against the sums it carries.

    Parameters
    ----------
    place : pathlib.Path

    Returns
    -------
    tuple of str
        One line for each file that is not as the bag says.
    """
    return tuple(dict.fromkeys((*_by_bagit(place), *_tag_files(place), *_lists(place))))


def with_line_ends_restored(place: Path) -> dict[str, bytes]:
    """Find the texts of a bag whose line ends a transfer has turned, and what they were.

    Parameters
    ----------
    place : pathlib.Path

    Returns
    -------
    dict of str to bytes
        Path within the bag → the bytes that its own sum is of. Lists of the bag's own files, which no sum is of, are
        among them where every line of theirs ends with two signs.
    """
    found: dict[str, bytes] = {}
    for name in ("manifest-sha512.txt", "tagmanifest-sha512.txt"):
        for line in _lines(place / name) if (place / name).is_file() else ():
            total, _, member = line.partition(" ")
            file = place / member.lstrip(" ")
            if not file.resolve().is_relative_to(place.resolve()) or not file.is_file():
                continue
            held = file.read_bytes()
            again = held.replace(b"\r\n", b"\n")
            if held != again and hashlib.sha512(again).hexdigest() == total:
                found[member.lstrip(" ")] = again
    for kind in SUMS if found else ():
        file = place / f"tagmanifest-{kind}.txt"
        if file.is_file() and (text := text_of(file).encode()) != file.read_bytes():
            found[file.name] = text
    return found


def _by_bagit(place: Path) -> tuple[str, ...]:
    import logging

    import bagit

    # bagit reports to its own log what it raises as well; once is enough.
    logging.getLogger("bagit").setLevel(logging.CRITICAL)
    bag = None
    try:
        bag = bagit.Bag(str(place))
        bag.validate(processes=1)
    except bagit.BagValidationError as error:
        named = tuple(dict.fromkeys(str(item) for item in error.details))
        if named:
            return named
        return _named(bag, place) if bag is not None else (str(error),)
    except (bagit.BagError, OSError, UnicodeDecodeError, ValueError) as error:
        return (f"the bag itself: {error}",)
    return ()


def _named(bag: bagit.Bag, place: Path) -> tuple[str, ...]:
    """Name the files where bagit, which weighs the bag first, only says that its weight is off."""
    missing, found = bag.compare_manifests_with_fs()
    added = sorted(name for name in found if not laid_there(name))
    lines = [f"{name} is missing" for name in sorted(missing)]
    lines += [f"{name} was added" for name in added]
    for name, sums in sorted(bag.payload_entries().items()):
        file = place / name
        if file.is_file() and sums.get("sha256") != sha256(file):
            lines.append(f"{name} was changed")
    # What was laid there is named with all else that no dossier holds.
    return tuple(lines) if lines or found else ("the bag's size is not as recorded",)


def _tag_files(place: Path) -> Iterator[str]:
    """Hold the bag's own files against the sums of them, which bagit skips in a bag of an older version.

    Its lists must be in the form in which this kit writes them: a list that is missing protects nothing.
    """
    for kind in SUMS:
        file = place / f"tagmanifest-{kind}.txt"
        if not file.is_file() or not (place / f"manifest-{kind}.txt").is_file():
            yield f"the lists of {kind} sums are missing"
            continue
        for line in _lines(file):
            wanted, _, name = line.partition(" ")
            member = place / name
            known = name and member.resolve().is_relative_to(place.resolve())
            if not known or not member.is_file():
                yield f"{file.name} names {name or line!r}, which is not there"
            elif hashlib.new(kind, member.read_bytes()).hexdigest() != wanted:
                yield f"{name} was changed, or its {kind} sum was"


def text_of(file: Path) -> str:
    """Read the text of a file of the dossier, line ends made alike.

    Parameters
    ----------
    file : pathlib.Path

    Returns
    -------
    str
    """
    text = file.read_bytes().decode("utf-8", "replace")
    both = text.count("\r\n")
    return (
        text.replace("\r\n", "\n")
        if both and both == text.count("\n") == text.count("\r")
        else text
    )


def _lines(file: Path) -> list[str]:
    return text_of(file).removesuffix("\n").split("\n")


def _lists(place: Path) -> Iterator[str]:
    """Report checksum lists that are not plain: a file named twice, a line of any other form."""
    for kind in SUMS:
        length = hashlib.new(kind).digest_size * 2
        for name, gap in ((f"manifest-{kind}.txt", "  "), (f"tagmanifest-{kind}.txt", " ")):
            file = place / name
            if not file.is_file():
                continue
            seen = set()
            for line in _lines(file):
                good = re.fullmatch(f"([0-9a-f]{{{length}}}){gap}(\\S.*)", line)
                if good is None:
                    yield f"{name} holds the line {line[:60]!r}, which is no sum"
                elif good[2] in seen:
                    yield f"{name} names {good[2]} twice"
                else:
                    seen.add(good[2])


def unexpected(place: Path, study: Study | None) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Hold the files of a dossier against the list of what one holds.

    Parameters
    ----------
    place : pathlib.Path
    study : Study or None
        The dossier's own; None where it cannot be opened, and inputs are not distinguished from other files.

    Returns
    -------
    wrong, unchecked : tuple of str
        What must not be there or is missing; and working papers and a seal, which no number can be held against.
    """
    inputs = {"study.toml"}
    if study is not None:
        inputs |= set(inputs_of(study))
    wanted = {
        *TAGS,
        *(f"data/{name}" for name in PAYLOAD),
        *(f"data/study/{name}" for name in inputs),
    }
    if study is not None and study.file.form is not None:
        wanted.add(f"data/{FORM}")
    wrong, unchecked, there = [], [], set()
    for name, kind in _members(place):
        there.add(name)
        if kind != "file" and not any(file.startswith(f"{name}/") for file in wanted):
            if name != "data/working_papers":
                wrong.append(f"{name} is {kind}, which no dossier holds")
        elif kind == "a link":
            wrong.append(f"{name} is a link, which no dossier holds")
        elif kind == "file" and (name == SEAL or PAPERS.fullmatch(name.removeprefix("data/"))):
            unchecked.append(name)
        elif (
            kind == "file"
            and name not in wanted
            and (study is not None or not name.startswith("data/study/"))
        ):
            wrong.append(
                f"{name} was laid there by a system or an open program, not by this kit: delete it and recompute"
                if laid_there(name)
                else f"{name} is no part of a dossier and was not checked"
            )
    wrong += [f"{name} is missing" for name in sorted(wanted - there)]
    return tuple(sorted(wrong)), tuple(sorted(unchecked))


def _members(place: Path) -> Iterator[tuple[str, str]]:
    for folder, below, files in os.walk(place):
        for name in (*below, *files):
            member = Path(folder) / name
            if member.is_symlink():
                kind = "a link"
            elif member.is_dir():
                kind = "a folder"
            else:
                kind = "file" if member.is_file() else "no file"
            yield member.relative_to(place).as_posix(), kind


def words_of_the_bag(place: Path, study: Study) -> tuple[str, ...]:
    """Hold bag-info.txt and bagit.txt against what the study makes them say.

    Parameters
    ----------
    place : pathlib.Path
    study : Study

    Returns
    -------
    tuple of str
    """
    from linestudy.dossier.forms.printable_text import shortened

    head = study.head
    files = [
        file for file in (place / "data").rglob("*") if file.is_file() and not laid_there(file.name)
    ]
    wanted = {
        "Bag-Software-Agent": None,
        "Bagging-Date": shortened(head.date or "not stated"),
        "External-Description": shortened(
            f"{head.title}: {head.part}, revision {head.revision}", 200
        ),
        "Payload-Oxum": f"{sum(file.stat().st_size for file in files)}.{len(files)}",
        "Source-Organization": shortened(head.supplier or "not stated"),
    }
    lines = []
    mark = place / "bagit.txt"
    if mark.is_file() and text_of(mark) != _BAGIT:
        lines.append("bagit.txt does not say what it says in every dossier")
    info = place / "bag-info.txt"
    if not info.is_file():
        return tuple(lines)
    text = text_of(info)
    found = [line.partition(": ") for line in text.removesuffix("\n").split("\n")]
    seen = set()
    for name, _, value in found:
        if name not in wanted:
            lines.append(f"bag-info.txt says “{name[:60]}: {value[:60]}”, which no dossier does")
        elif name in seen:
            lines.append(f"bag-info.txt says {name} twice")
        elif (value != wanted[name]) if wanted[name] is not None else not _AGENT.fullmatch(value):
            lines.append(
                f"bag-info.txt says “{name}: {value[:120]}”, recomputed “{wanted[name] or 'bagit.py …'}”"
            )
        seen.add(name)
    lines += [f"bag-info.txt does not say {name}" for name in wanted if name not in seen]
    if not lines and text != "".join(f"{name}: {value}\n" for name, _, value in sorted(found)):
        lines.append("bag-info.txt is not written as in every dossier")
    return tuple(lines)


def versions(file: Path, kit: object) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Read the lock of versions, which cannot be recomputed, as strictly as it is written.

    Parameters
    ----------
    file : pathlib.Path
        versions.txt.
    kit : object
        ``kit`` of the recorded results.json, which repeats some of them.

    Returns
    -------
    wrong, other : tuple of str
        What cannot be so; and what is installed here in another version.
    """
    from linestudy.dossier.bag.versions import lock

    if not file.is_file():
        return (), ()
    text = text_of(file)
    if text == lock():
        return _against_kit(text, kit), ()
    head, *lines = text.removesuffix("\n").split("\n")
    wrong = []
    if not re.fullmatch(r"# Python \d+\.\d+\.\d+\S{0,8}", head) or not text.endswith("\n"):
        wrong.append(f"versions.txt begins with {head[:60]!r}")
    names = []
    for line in lines:
        good = re.fullmatch(r"([a-z0-9]+(?:-[a-z0-9]+)*)==([A-Za-z0-9.!+_-]{1,40})", line)
        if good is None:
            wrong.append(f"versions.txt holds the line {line[:60]!r}, which names no version")
        else:
            names.append(good[1])
    if names != sorted(set(names)):
        wrong.append("versions.txt is not in the order of its names, or names one twice")
    if wrong:
        return tuple(wrong), ()
    here = dict(_versions(lock()))
    there = dict(_versions(text))
    other = [
        f"{name} {there.get(name, 'not named')} there, {here.get(name, 'not named')} here"
        for name in sorted({*here, *there})
        if here.get(name) != there.get(name)
    ]
    return _against_kit(text, kit), tuple(other)


def _against_kit(text: str, kit: object) -> tuple[str, ...]:
    named = dict(_versions(text))
    lines = []
    for name, version in kit.items() if isinstance(kit, dict) else ():
        stated = named.get(name, "")
        same = stated.startswith(f"{version}.") if name == "python" else stated == version
        if not same:
            lines.append(f"versions.txt names {name} {stated or 'nowhere'}, results.json {version}")
    return tuple(lines)


def _versions(text: str) -> Iterator[tuple[str, str]]:
    head, *lines = text.splitlines()
    yield "python", head.removeprefix("# Python ")
    for line in lines:
        name, _, version = line.partition("==")
        yield name, version
