"""Hold what the page, the PDF and the workbook print against what the recomputed numbers would print.

The page is read as the sequence of its texts, the workbook cell by cell, both exactly. A PDF keeps no order
that a table could be read back from with certainty, so of it the numbers are counted: each number of the
recomputed text must be printed at least as often, and no number with decimals may stand there that the
recomputed text lacks. Pictures are curves without text; where they too are asked for they are drawn again
(:mod:`linestudy.dossier.redrawn`).
"""

from __future__ import annotations

import re
import tempfile
import zipfile
import zlib
from collections import Counter
from collections.abc import Callable, Iterator
from difflib import SequenceMatcher
from functools import partial
from html.parser import HTMLParser
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from linestudy.dossier.blocks import Document
    from linestudy.dossier.evaluation import Evaluation

#: A number as printed, with signs and thousands separators.
_NUMBER = re.compile(r"[-−]?\d+(?:[.,]\d+)*")
#: Most differences named per file.
_MOST = 20


def compare_documents(
    evaluation: Evaluation, folder: Path, pictures: bool = False
) -> tuple[str, ...]:
    """Compare the documents of a dossier with what an evaluation prints.

    Parameters
    ----------
    evaluation : Evaluation
        Recomputed from the dossier's own inputs.
    folder : pathlib.Path
        The dossier's ``data`` folder.
    pictures : bool
        Whether every picture is drawn again and compared as well.

    Returns
    -------
    tuple of str
        One line per difference: file, what is printed, what the recomputed numbers print.
        A missing file is not told here but by the bag.
    """
    from linestudy.dossier.contents import build
    from linestudy.workers import begin

    document = build(evaluation)
    foot = foot_of(evaluation)
    of_workbook = partial(_workbook, evaluation, folder / "workbook.xlsx")
    looks: tuple[list[str], list[str]] = ([], [])
    if pictures:
        from linestudy.dossier.drawing import drawn
        from linestudy.dossier.redrawn import differing_pictures

        document, anew, (in_workbook,) = drawn(document, of_workbook)
        looks = differing_pictures(document, anew, foot, folder)
        workbook: Callable[[], list[str]] = lambda: in_workbook  # noqa: E731
    else:
        workbook = begin(of_workbook)
    checks: list[tuple[str, Callable[[], list[str]]]] = [
        ("index.html", lambda: [*_page(document, foot, folder / "index.html"), *looks[0]]),
        ("dossier.pdf", lambda: [*_pdf(document, foot, folder / "dossier.pdf"), *looks[1]]),
        ("workbook.xlsx", workbook),
    ]
    lines = []
    for name, check in checks:
        found = check()
        lines += [f"{name}: {line}" for line in found[:_MOST]]
        if len(found) > _MOST:
            lines.append(f"{name}: … and {len(found) - _MOST} more")
    return tuple(lines)


def foot_of(evaluation: Evaluation) -> str:
    """The last line of every page: part and revision."""
    from linestudy.dossier.pdf import shortened

    head = evaluation.study.head
    return shortened(f"{head.part}, revision {head.revision}", 90)


class _Texts(HTMLParser):
    """The texts of a page in order; style sheets and pictures left out."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._silent = False

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        self._silent = tag == "style"

    def handle_endtag(self, tag: str) -> None:
        self._silent = False

    def handle_data(self, data: str) -> None:
        if not self._silent and data.strip():
            self.found.append(" ".join(data.split()))


def _texts(page: str) -> list[str]:
    # A picture is one attribute of a megabyte; what it shows is not read.
    reader = _Texts()
    reader.feed(re.sub(r"data:image/svg\+xml;base64,[A-Za-z0-9+/=]*", "", page))
    reader.close()
    return reader.found


def _page(document: Document, foot: str, file: Path) -> list[str]:
    from linestudy.dossier.page import write_page

    if not file.is_file():
        return []
    with tempfile.TemporaryDirectory() as folder:
        anew = Path(folder) / "index.html"
        write_page(document, dict.fromkeys(document.pictures, b""), anew, foot)
        expected = _texts(anew.read_text(encoding="utf-8"))
    printed = _texts(file.read_text(encoding="utf-8", errors="replace"))
    return [] if printed == expected else list(_changes(printed, expected))


def _changes(printed: list[str], expected: list[str]) -> Iterator[str]:
    matcher = SequenceMatcher(None, printed, expected, autojunk=False)
    for kind, a, b, c, d in matcher.get_opcodes():
        if kind != "equal":
            yield f"prints {_short(printed[a:b])}, recomputed {_short(expected[c:d])}"


def _short(texts: list[str]) -> str:
    text = " | ".join(texts)
    return f"“{text[:157]}…”" if len(text) > 160 else f"“{text}”" if text else "nothing"


def _numbers(text: str) -> Counter[str]:
    return Counter(_NUMBER.findall(text.replace("\u200b", "")))


def _pdf(document: Document, foot: str, file: Path) -> list[str]:
    from linestudy.dossier.pdf import shortened

    if not file.is_file():
        return []
    from pypdfium2 import PdfDocument, PdfiumError

    try:
        with PdfDocument(file.read_bytes()) as pdf:
            text = "\n".join(page.get_textpage().get_text_bounded() for page in pdf)
    except PdfiumError as error:
        return [f"cannot be read ({error})"]
    # Head and foot stand on every page: counted along, they would hide a number that is lacking elsewhere.
    running = (
        foot,
        *(shortened(fact) for fact in (dict(document.facts).get("Part", ""), document.title)),
    )
    for words in running:
        if _NUMBER.search(words):
            text = text.replace(words, " ")
    printed = _numbers(text)
    cover = _numbers("\n".join((document.title, *(value for _, value in document.facts), *running)))
    expected = _numbers("\n".join(_words(document)))
    lines = [
        f"prints {number} {printed[number]} times, recomputed {count} times"
        for number, count in sorted(expected.items())
        if printed[number] < count
    ]
    # Page numbers, heads and the contents add whole numbers; nothing adds a decimal.
    lines += [
        f"prints {number}, which nothing recomputed does"
        for number in sorted(printed)
        if number not in expected and number not in cover and "." in number
    ]
    return lines


def _words(document: Document) -> Iterator[str]:
    """All text of the document that the PDF sets, block by block."""
    from linestudy.dossier.pdf import as_data, printable

    yield printable(document.claim)
    for section in document.sections:
        for block in map(as_data, section.blocks):
            yield from _of_block(block)


def _of_block(block: dict[str, Any]) -> Iterator[str]:
    kind = block["kind"]
    if kind in ("text", "heading"):
        yield block["text"]
    elif kind == "bullets":
        yield block["lead"]
        yield from block["items"]
    elif kind == "table":
        yield block["caption"]
        # A head may be printed again on every page that the table runs over.
        yield from block["head"]
        for row in block["rows"]:
            yield from row


def _workbook(evaluation: Evaluation, file: Path) -> list[str]:
    from linestudy.dossier.workbook import write_workbook

    if not file.is_file():
        return []
    with tempfile.TemporaryDirectory() as folder:
        anew = Path(folder) / "workbook.xlsx"
        write_workbook(evaluation, anew)
        try:
            with zipfile.ZipFile(file) as old, zipfile.ZipFile(anew) as new:
                return list(_parts(old, new))
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


_CELL = re.compile(r'<c r="([A-Z]+\d+)"[^>]*?(?:/>|>.*?</c>)', re.DOTALL)


def _parts(old: zipfile.ZipFile, new: zipfile.ZipFile) -> Iterator[str]:
    names, anew = set(old.namelist()), set(new.namelist())
    for name in sorted(names ^ anew):
        yield f"{name} is {'added' if name in names else 'missing'}"
    titles = re.findall(r'<sheet name="([^"]*)"', new.read("xl/workbook.xml").decode())
    for name in sorted(names & anew):
        left, right = old.read(name), new.read(name)
        if left == right:
            continue
        number = re.fullmatch(r"xl/worksheets/sheet(\d+)\.xml", name)
        title = titles[int(number.group(1)) - 1] if number else name
        cells = [
            {m.group(1): m.group(0) for m in _CELL.finditer(text.decode("utf-8", "replace"))}
            for text in (left, right)
        ]
        off = [c for c in {**cells[0], **cells[1]} if cells[0].get(c) != cells[1].get(c)]
        if not off:
            yield f"{title} differs"
        for cell in off:
            yield f"sheet {title}, cell {cell}: {_bare(cells[0].get(cell))}, recomputed {_bare(cells[1].get(cell))}"


def _bare(cell: str | None) -> str:
    """Formula and value of a cell, without the marks around them."""
    if cell is None:
        return "nothing"
    return " ".join(re.sub(r"<[^>]*>", " ", cell).split())[:120] or "an empty cell"
