"""Hold the page against the page written anew: byte for byte, and its pictures stroke for stroke where asked.

A page can be made to show anything by a rule of style, an attribute or a script, so nothing in it is passed over:
all its bytes must be those written anew, but for the data of the pictures, which are drawings of thousands of
numbers. These must consist of nothing but what this kit's pictures consist of, and where pictures are drawn again
their words must be the same and their numbers within a fiftieth of a point.
"""

from __future__ import annotations

import base64
import binascii
import re
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher
from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.dossier.audit.check_bag import text_of

if TYPE_CHECKING:
    from linestudy.dossier.audit.documents.edges import Edges
    from linestudy.dossier.content.elements import Document

#: What a number of a picture may move, in points (a 72nd of an inch).
UNSEEN = 0.02
_DATA = re.compile(r"[A-Za-z0-9+/]*={0,2}")
_BEFORE = "data:image/svg+xml;base64,"
_PIECES = re.compile(r"(?<=>)|(?=<)|(?<=\n)")
_NAMED = re.compile(r'(?<=id=")[^"]*|(?<=url\(#)[^)]*|(?<=href="#)[^"]*')
_LETTERING = re.compile(r"<text[^>]*>([^<]*)</text>")
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[-+]?\d+)?")
_ELEMENTS = frozenset(
    [
        "svg",
        "metadata",
        "rdf:RDF",
        "cc:Work",
        "dc:type",
        "dc:format",
        "defs",
        "style",
        "g",
        "path",
        "use",
        "clipPath",
        "rect",
        "image",
        "text",
    ]
)
_ATTRIBUTES = frozenset(
    [
        "xlink:href",
        "transform",
        "textLength",
        "lengthAdjust",
        "id",
        "style",
        "x",
        "y",
        "d",
        "clip-path",
        "width",
        "height",
        "version",
        "encoding",
        "standalone",
        "xmlns:xlink",
        "viewBox",
        "xmlns",
        "xmlns:dc",
        "xmlns:cc",
        "xmlns:rdf",
        "rdf:resource",
        "type",
    ]
)
_STYLE = "*{stroke-linejoin: round; stroke-linecap: butt}"
_DOCTYPE = (
    '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN"\n'
    '  "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
)
#: No picture of this kit comes near.
_MOST_BYTES = 30_000_000


@dataclass(frozen=True)
class Page:
    """What came of holding a page against the one written anew.

    Attributes
    ----------
    lines : tuple of str
        What differs.
    edges : tuple of str
        Digits on an edge, which accuse nobody.
    pictures : dict of str to bytes or None
        SVG by name as the page carries them; None where they cannot be named or used.
    """

    lines: tuple[str, ...]
    edges: tuple[str, ...] = ()
    pictures: dict[str, bytes] | None = None


def check_page(document: Document, foot: str, file: Path, edges: Edges) -> Page:
    """Compare a page with the one written anew, pictures left out.

    Parameters
    ----------
    document : Document
        Written out of the recorded numbers, without pictures that draw nothing.
    foot : str
    file : pathlib.Path
    edges : Edges

    Returns
    -------
    Page
        Nothing differs where the file is missing: that is reported for the bag.
    """
    from linestudy.dossier.forms.page import write_page

    if not file.is_file():
        return Page(())
    marks = {name: f"picture {name} ".encode() * 3 for name in document.pictures}
    with tempfile.TemporaryDirectory() as folder:
        anew = Path(folder) / "index.html"
        write_page(document, marks, anew, foot)
        expected = anew.read_bytes().decode("utf-8").replace("\r\n", "\n")
    printed = text_of(file)
    if "\ufffd" in printed and "\ufffd" not in expected:
        return Page(("holds bytes that are no text",))
    names = images_of(document)
    encoded = [base64.b64encode(marks[name]).decode() for name in names]
    order = sorted(range(len(names)), key=lambda at: expected.index(encoded[at]))
    names, encoded = [names[at] for at in order], [encoded[at] for at in order]
    masked, data = _masked(printed)
    wanted = expected
    for text in encoded:
        wanted = wanted.replace(text, "", 1)
    lines, near = _compared(masked, wanted, edges)
    if len(data) != len(names):
        return Page((*lines, f"shows {len(data)} pictures, written anew {len(names)}"), near)
    pictures, odd = {}, []
    for name, text in zip(names, data, strict=True):
        svg = _decoded(text)
        why = "it is not written as data are" if svg is None else strange(svg)
        if why:
            odd.append(f"picture {name} is not one of this kit: {why}")
        else:
            pictures[name] = svg or b""
    return Page((*lines, *odd), near, None if odd else pictures)


def images_of(document: Document) -> list[str]:
    """List the names of the pictures that a document shows, in order.

    Parameters
    ----------
    document : Document

    Returns
    -------
    list of str
    """
    from linestudy.dossier.content.elements import Image

    return [
        block.name
        for section in document.sections
        for block in section.blocks
        if isinstance(block, Image)
    ]


def count_pictures(file: Path) -> int:
    """Count the pictures that a page shows; 0 where there is no page."""
    return len(_masked(text_of(file))[1]) if file.is_file() else 0


def _masked(page: str) -> tuple[str, list[str]]:
    """Separate the page from the data of its pictures, and return both."""
    first, *rest = page.split(f'src="{_BEFORE}')
    pieces, data = [first], []
    for piece in rest:
        found = _DATA.match(piece)
        assert found is not None
        data.append(found.group())
        pieces.append(piece[found.end() :])
    return f'src="{_BEFORE}'.join(pieces), data


def _compared(printed: str, expected: str, edges: Edges) -> tuple[list[str], tuple[str, ...]]:
    if printed == expected:
        return [], ()
    one, other = (list(filter(None, _PIECES.split(text))) for text in (printed, expected))
    lines, near = [], []
    for kind, a, b, c, d in SequenceMatcher(None, one, other, autojunk=False).get_opcodes():
        if kind == "equal":
            continue
        left, right = "".join(one[a:b]), "".join(other[c:d])
        if edges.explain(left, right):
            near.append(f"index.html: {short(left)}, recomputed {short(right)}")
        else:
            lines.append(f"holds {short(left)}, written anew {short(right)}")
    # Pieces that are only split otherwise: the bytes differ all the same.
    return lines if lines or near else ["differs from the page written anew"], tuple(near)


def short(text: str) -> str:
    """Shorten a piece of a file to a line of the report."""
    line = " ".join(text.split())
    if not line:
        return repr(text[:20]) if text else "nothing"
    return f"“{line[:157]}…”" if len(line) > 160 else f"“{line}”"


def _decoded(data: str) -> bytes | None:
    try:
        svg = base64.b64decode(data, validate=True)
    except (binascii.Error, ValueError):
        return None
    # The same bytes may be written in several ways; only one of them is ours.
    return svg if base64.b64encode(svg).decode() == data else None


def strange(svg: bytes) -> str | None:
    """Name what a picture holds that no picture of this kit does; None if there is nothing.

    Parameters
    ----------
    svg : bytes

    Returns
    -------
    str or None

    Examples
    --------
    >>> strange(b'<svg><script>1</script></svg>')
    'the element script'
    """
    if len(svg) > _MOST_BYTES:
        return "it is too large"
    try:
        text = svg.decode("utf-8")
    except UnicodeDecodeError:
        return "it is no text"
    # Words are in elements of text, and beside them as comments.
    text = re.sub(r"<!--.*?-->", "", text.replace(_DOCTYPE, "", 1), flags=re.S)
    for found in re.finditer(r"<([^>\s/]*)", text):
        name = found[1]
        if not name or name.startswith("?xml"):
            continue
        if name not in _ELEMENTS:
            return f"the element {name[:40]}"
    return next(_inside(text), None)


def _inside(text: str) -> Iterator[str]:
    if re.search(r"&(?!(?:amp|lt|gt|quot);)", text):
        yield "a sign that stands for another"
    for tag in re.findall(r"<[^>]*>", text):
        for name, value in re.findall(r"""([^\s"'=<>/]+)\s*=\s*("[^"]*"|'[^']*'|[^\s>]*)""", tag):
            bare = value.strip("\"'")
            if name not in _ATTRIBUTES:
                yield f"the attribute {name[:40]}"
            elif name == "xlink:href" and not bare.lstrip().startswith(
                ("#", "data:image/png;base64,")
            ):
                yield "an address"
            elif name == "style" and re.search(r"url\((?!#)|@|expression", bare):
                yield "a style that fetches something"
    for rules in re.findall(r"<style[^>]*>(.*?)</style>", text, re.S):
        if rules.strip() != _STYLE:
            yield f"rules of style {rules.strip()[:40]!r}"
    words = re.sub(
        r"<style.*?</style>|<metadata.*?</metadata>|<text[^>]*>[^<]*</text>|<[^>]*>",
        "",
        text,
        flags=re.S,
    )
    if words.strip():
        yield f"the words {words.strip()[:40]!r}"


def differing_pictures(shown: dict[str, bytes], anew: dict[str, bytes]) -> list[str]:
    """Compare the pictures of a page with those drawn anew.

    Parameters
    ----------
    shown, anew : dict of str to bytes
        SVG by name.

    Returns
    -------
    list of str
    """
    return [
        f"picture {name} looks otherwise than drawn anew"
        for name, data in shown.items()
        if name not in anew or not alike(data, anew[name])
    ]


def alike(one: bytes, other: bytes) -> bool:
    """Check whether two SVGs look the same: equal words, numbers within a fiftieth of a point.

    Parameters
    ----------
    one, other : bytes

    Returns
    -------
    bool
    """
    if one == other:
        return True
    texts = [_NAMED.sub("", data.decode("utf-8", "replace")) for data in (one, other)]
    # What is read must be the same to the letter; where it is may move a little.
    if _LETTERING.findall(texts[0]) != _LETTERING.findall(texts[1]):
        return False
    words = [_NUMBER.split(text) for text in texts]
    numbers = [_NUMBER.findall(text) for text in texts]
    return words[0] == words[1] and all(
        abs(float(a) - float(b)) <= UNSEEN for a, b in zip(*numbers, strict=True)
    )
