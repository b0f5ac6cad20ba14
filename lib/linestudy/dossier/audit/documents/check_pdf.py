"""Hold the PDF against the one set anew from the recorded numbers and the page's pictures.

Its bytes must be the same: the typesetter gives the same file for the same content. Where they are not, what
differs is looked for and named: what a reader's program would do with the file beyond showing pages (forms,
annotations, actions, scripts, attachments), words and looks of every page, the order of the pages.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from linestudy.dossier.audit.documents.edges import Edges
    from linestudy.dossier.content.elements import Document

#: What a shade of a painted page may differ, of 255.
_SHADE = 48
#: A page larger than A4 by far is not painted: a hostile file must not fill the memory.
_MOST_POINTS = 3_000.0
_NAMES = {
    "/AcroForm": "a form",
    "/OpenAction": "an action on opening",
    "/AA": "actions",
    "/AF": "attached files",
    "/Names": "named objects, which may be scripts or attachments",
    "/Collection": "attached files",
    "/Metadata": "metadata",
    "/OCProperties": "layers",
    "/Rotate": "a turn",
    "/CropBox": "a crop",
    "/Annots": "annotations",
}


def check_pdf(
    document: Document, pictures: dict[str, bytes], foot: str, file: Path, edges: Edges
) -> tuple[list[str], list[str]]:
    """Compare a PDF with the one set anew.

    Parameters
    ----------
    document : Document
        Written out of the recorded numbers, without pictures that draw nothing.
    pictures : dict of str to bytes
        SVG by name, as the page shows them or drawn anew.
    foot : str
        Last line of every page.
    file : pathlib.Path
    edges : Edges

    Returns
    -------
    lines : list of str
        What differs; nothing where the file is missing: that is reported for the bag.
    near : list of str
        Digits on an edge, which accuse nobody.
    """
    from linestudy.dossier.forms.pdf import write_pdf

    if not file.is_file():
        return [], []
    with tempfile.TemporaryDirectory() as aside:
        anew = Path(aside) / "dossier.pdf"
        try:
            write_pdf(document, pictures, anew, foot)
        except Exception as error:
            # Only pictures taken from a page that somebody has changed can do that.
            return [
                f"cannot be set anew with the pictures of the page ({type(error).__name__})"
            ], []
        expected = anew.read_bytes()
    printed = file.read_bytes()
    if printed == expected:
        return [], []
    near: list[str] = []
    lines = [*_structure(printed, expected), *_pages(printed, expected, edges, near)]
    if not lines and not near:
        lines = ["its bytes differ from those set anew, though every page looks the same"]
    return lines, near


def _structure(printed: bytes, expected: bytes) -> Iterator[str]:
    """Report what differs between two PDF files outside their pages, such as parts written behind the end."""
    import io
    import logging

    from pypdf import PdfReader

    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    if printed.count(b"%%EOF") != 1 or not printed.rstrip().endswith(b"%%EOF"):
        yield "was changed after it was written: more stands behind its end"
    try:
        old, new = (PdfReader(io.BytesIO(data)) for data in (printed, expected))
        if old.is_encrypted:
            yield "is locked with a password"
            return
        yield from _beside(old, new)
    except Exception as error:
        # pypdf raises whatever a broken file leads it to.
        yield f"cannot be read by its parts ({type(error).__name__})"


def _beside(old: Any, new: Any) -> Iterator[str]:
    for what, one, other in (
        ("the file", old.trailer["/Root"], new.trailer["/Root"]),
        ("the facts of the file", old.trailer.get("/Info", {}), new.trailer.get("/Info", {})),
    ):
        yield from _keys(what, one.get_object(), other.get_object())
    if _metadata(old) != _metadata(new):
        yield "the file: its metadata differ"
    for number, page in enumerate(old.pages, start=1):
        if number <= len(new.pages):
            yield from _keys(f"page {number}", page, new.pages[number - 1])
            yield from _boxes(number, page, new.pages[number - 1])
            found, wanted = (_marks(p) for p in (page, new.pages[number - 1]))
            for mark in found:
                if mark not in wanted:
                    yield f"page {number}: an annotation that is not set anew ({mark[0]})"
            if len(found) < len(wanted):
                yield f"page {number}: links are missing"


def _keys(what: str, one: Any, other: Any) -> Iterator[str]:
    for key in sorted({*one.keys(), *other.keys()}):
        if (key in one) != (key in other):
            called = _NAMES.get(key, key)
            yield f"{what} {'has' if key in one else 'lacks'} {called}"
        elif isinstance(one.raw_get(key), str | int | float) and one[key] != other[key]:
            yield f"{what}: {key} is {str(one[key])[:60]!r}, set anew {str(other[key])[:60]!r}"


def _boxes(number: int, page: Any, anew: Any) -> Iterator[str]:
    for key in ("/MediaBox", "/CropBox", "/TrimBox", "/BleedBox", "/ArtBox"):
        if key in page and key in anew and list(page[key]) != list(anew[key]):
            yield f"page {number}: {key} differs"


def _marks(page: Any) -> list[tuple[str, str]]:
    """List the annotations of a page by kind, place and action."""
    found = []
    for item in page.get("/Annots") or ():
        mark = item.get_object()
        where = [round(float(x), 2) for x in mark.get("/Rect", ())]
        does = {
            key: str(mark[key]) if not hasattr(mark[key], "keys") else sorted(mark[key].keys())
            for key in sorted(mark.keys())
            if key not in ("/Dest", "/StructParent", "/P", "/Parent")
        }
        found.append((str(mark.get("/Subtype", "?")), f"{where} {does}"))
    return found


def _metadata(reader: Any) -> bytes:
    stream = reader.trailer["/Root"].get("/Metadata")
    if stream is None:
        return b""
    # Some of them are sums of the rest of the file, and differ wherever anything does.
    return re.sub(rb"(<(?:xmpMM|stEvt):\w*ID>)[^<]*", rb"\1", bytes(stream.get_object().get_data()))


def _pages(printed: bytes, expected: bytes, edges: Edges, near: list[str]) -> Iterator[str]:
    import numpy as np
    from pypdfium2 import PdfDocument, PdfiumError

    try:
        with PdfDocument(printed) as old, PdfDocument(expected) as new:
            if len(old) != len(new):
                yield f"has {len(old)} pages, set anew {len(new)}"
            for number, (a, b) in enumerate(zip(old, new, strict=False), start=1):
                if a.get_size() != b.get_size() or max(a.get_size()) > _MOST_POINTS:
                    yield f"page {number} is of another size than set anew"
                    continue
                words = [p.get_textpage().get_text_bounded() for p in (a, b)]
                on_edge = words[0] != words[1] and edges.explain(*words)
                if on_edge:
                    near.append(f"dossier.pdf: page {number} has a digit on an edge")
                    continue
                if words[0] != words[1]:
                    yield f"page {number} says {_first_difference(*words)}"
                # Twice the resolution of a screen: a dot of the smallest size covers several points.
                one, other = (p.render(scale=2, grayscale=True).to_numpy() for p in (a, b))
                if (np.abs(one.astype(int) - other.astype(int)) > _SHADE).any():
                    yield f"page {number} looks otherwise than set anew"
    except PdfiumError as error:
        yield f"cannot be read ({error})"


def _first_difference(one: str, other: str) -> str:
    """Quote the first lines in which two texts differ."""
    from difflib import SequenceMatcher

    from linestudy.dossier.audit.documents.check_page import short

    left, right = one.splitlines(), other.splitlines()
    for kind, a, b, c, d in SequenceMatcher(None, left, right, autojunk=False).get_opcodes():
        if kind != "equal":
            return f"{short(' | '.join(left[a:b]))}, set anew {short(' | '.join(right[c:d]))}"
    return "the same in other places"
