"""Hold the workbook against the one written anew: every part of it, formulas and numbers by value.

A workbook is a zip of parts. The list of parts is closed, none is in it twice, nothing lies between or behind
them. In a sheet a number, also one pasted into a formula, may differ by the last digits of another processor; all
else is compared byte for byte.
"""

from __future__ import annotations

import re
import tempfile
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.dossier.tolerances import CANCELLED, FORMULA
from linestudy.results import InputError

if TYPE_CHECKING:
    from linestudy.dossier.audit.documents.edges import Edges
    from linestudy.dossier.evaluation import Evaluation

_CELL = re.compile(r'<c r="([A-Z]+\d+)"[^>]*?(?:/>|>.*?</c>)', re.DOTALL)
#: Inside a cell: where numbers may be.
_VALUE = re.compile(r"(?<=<v>)[^<]*(?=</v>)|(?<=<f>)[^<]*(?=</f>)")
#: A number in a formula; no part of the name of a cell or a function.
_NUMBER = re.compile(r"(?<![A-Za-z$\d.])\d+(?:\.\d+)?(?:[eE][-+]?\d+)?(?![\d.A-Za-z(])")
_FLOAT = re.compile(r"-?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
#: Unpacked bytes of one part that are looked at.
_MOST_BYTES = 200_000_000


def check_workbook(evaluation: Evaluation, file: Path, edges: Edges) -> tuple[list[str], list[str]]:
    """Compare a workbook with the one written anew.

    Parameters
    ----------
    evaluation : Evaluation
        With the recorded numbers.
    file : pathlib.Path
    edges : Edges

    Returns
    -------
    lines : list of str
        What differs; nothing where the file is missing: that is reported for the bag.
    near : list of str
        Digits on an edge, which accuse nobody.
    """
    from linestudy.dossier.forms.workbook import write_workbook

    if not file.is_file():
        return [], []
    near: list[str] = []
    with tempfile.TemporaryDirectory() as folder:
        anew = Path(folder) / "workbook.xlsx"
        write_workbook(evaluation, anew)
        return _compared(file, anew, edges, near), near


def check_form(evaluation: Evaluation, file: Path, edges: Edges) -> tuple[list[str], list[str]]:
    """Compare the customer's form as it was filled with the one filled anew from the form that came.

    Parameters
    ----------
    evaluation : Evaluation
        With the recorded numbers.
    file : pathlib.Path
    edges : Edges

    Returns
    -------
    lines, near : list of str
        As of :func:`check_workbook`; nothing where the study names no form.
    """
    from linestudy.dossier.forms.customer.filling import fill_form

    if evaluation.study.file.form is None or not file.is_file():
        return [], []
    near: list[str] = []
    with tempfile.TemporaryDirectory() as folder:
        anew = Path(folder) / "form.xlsx"
        try:
            fill_form(evaluation, anew)
        except InputError as error:
            return [f"cannot be filled anew: {error}"], near
        return _compared(file, anew, edges, near), near


def _compared(file: Path, anew: Path, edges: Edges, near: list[str]) -> list[str]:
    if anew.read_bytes() == file.read_bytes():
        return []
    try:
        with zipfile.ZipFile(file) as old, zipfile.ZipFile(anew) as new:
            return [*_packing(file, old, new), *_parts(old, new, edges, near)]
    except (
        zipfile.BadZipFile,
        zlib.error,
        OSError,
        EOFError,
        ValueError,
        RuntimeError,
    ) as error:
        # zipfile calls a locked member, or one packed in a way it does not know, a RuntimeError.
        return [f"cannot be read ({type(error).__name__}: {error})"]


def _packing(file: Path, old: zipfile.ZipFile, new: zipfile.ZipFile) -> Iterator[str]:
    """Report what a zip file can carry beside its parts: comments, doubled parts, other dates."""
    for name, count in Counter(old.namelist()).items():
        if count > 1:
            yield f"holds the part {name} {count} times"
    if old.comment:
        yield "carries a comment"
    if old.namelist() != new.namelist() and set(old.namelist()) == set(new.namelist()):
        yield "holds its parts in another order"
    dates = {item.filename: (item.date_time, item.extra, item.comment) for item in new.infolist()}
    end = 0
    for item in old.infolist():
        if item.header_offset != end:
            yield f"something lies before the part {item.filename}"
        with file.open("rb") as stream:
            stream.seek(item.header_offset)
            head = stream.read(30 + len(item.filename.encode()))
        if head[30:] != item.filename.encode() or head[28:30] != b"\0\0":
            yield f"names the part {item.filename} in two ways"
        end = item.header_offset + len(head) + item.compress_size
        facts = (item.date_time, item.extra, item.comment)
        if item.filename in dates and facts != dates[item.filename]:
            yield f"the part {item.filename} carries a date or a note of its own"
    directory = sum(46 + len(item.filename.encode()) for item in old.infolist())
    if old.start_dir != end or file.stat().st_size != end + directory + 22 + len(old.comment):
        yield "holds bytes that belong to no part"


def _parts(
    old: zipfile.ZipFile, new: zipfile.ZipFile, edges: Edges, near: list[str]
) -> Iterator[str]:
    names, anew = set(old.namelist()), set(new.namelist())
    for name in sorted(names ^ anew):
        yield f"{name} is {'added' if name in names else 'missing'}"
    titles = dict(enumerate(re.findall(r'<sheet name="([^"]*)"', _text(new, "xl/workbook.xml")), 1))
    for name in sorted(names & anew):
        if old.getinfo(name).file_size > _MOST_BYTES:
            yield f"{name} is too large to be looked at"
            continue
        left, right = (book.read(name) for book in (old, new))
        if left == right:
            continue
        number = re.fullmatch(r"xl/worksheets/sheet(\d+)\.xml", name)
        one, other = left.decode("utf-8", "replace"), right.decode("utf-8")
        if number:
            at = int(number.group(1))
            yield from _sheet(titles.get(at, f"number {at}"), one, other)
        elif edges.explain(one, other):
            near.append(f"workbook.xlsx: {name} has a digit on an edge")
        else:
            yield f"{name} differs {_where(one, other)}"


def _text(book: zipfile.ZipFile, name: str) -> str:
    return book.read(name).decode("utf-8", "replace")


def _sheet(title: str, one: str, other: str) -> Iterator[str]:
    if _CELL.sub("", one) != _CELL.sub("", other):
        yield f"sheet {title} differs beside its cells {_where(_CELL.sub('', one), _CELL.sub('', other))}"
    listed = [[(m.group(1), m.group(0)) for m in _CELL.finditer(text)] for text in (one, other)]
    cells = [dict(found) for found in listed]
    if len(listed[0]) != len(cells[0]):
        yield f"sheet {title} holds a cell twice"
    elif [name for name, _ in listed[0]] != [name for name, _ in listed[1]] and len(
        cells[0]
    ) == len(cells[1]):
        yield f"sheet {title} holds its cells in another order"
    for cell in {**cells[0], **cells[1]}:
        left, right = cells[0].get(cell), cells[1].get(cell)
        if left != right and not (left and right and _same(left, right)):
            yield f"sheet {title}, cell {cell}: {_bare(left)}, recomputed {_bare(right)}"


def _same(left: str, right: str) -> bool:
    """Check whether two cells hold the same value; floating-point numbers may differ within tolerance."""
    if _VALUE.split(left) != _VALUE.split(right) or 't="s"' in left:
        return False
    for one, other in zip(_VALUE.findall(left), _VALUE.findall(right), strict=True):
        if _FLOAT.fullmatch(one) and _FLOAT.fullmatch(other):
            if not _close(float(one), float(other)):
                return False
            continue
        if _NUMBER.split(one) != _NUMBER.split(other):
            return False
        pairs = zip(_NUMBER.findall(one), _NUMBER.findall(other), strict=True)
        if any(not _close(float(a), float(b)) for a, b in pairs):
            return False
    return True


def _close(one: float, other: float) -> bool:
    return abs(one - other) <= max(FORMULA * abs(other), CANCELLED)


def _where(one: str, other: str) -> str:
    at = next((i for i, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), 0)
    return f"at {one[max(at - 20, 0) : at + 40]!r}"


def _bare(cell: str | None) -> str:
    """Return formula and value of a cell without their XML tags."""
    if cell is None:
        return "nothing"
    return " ".join(re.sub(r"<[^>]*>", " ", cell).split())[:120] or "an empty cell"
