"""Draw every picture of a dossier again, and say which of them look otherwise.

In the page a picture is an SVG of its own: text between numbers must be the same and numbers may differ by
what another machine's last digits move, far below what an eye sees. A PDF keeps pictures as strokes on its
pages; where its bytes are those of the document set anew nothing differs, and where they are not, pages are
painted and held beside each other.
"""

from __future__ import annotations

import base64
import binascii
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from linestudy.dossier.blocks import Document

#: A picture of the page: its words, then its bytes.
_IMAGE = re.compile(r'<img\b[^>]*?src="data:image/svg\+xml;base64,([A-Za-z0-9+/=\s]*)"')
#: Names inside a picture are hashes of what they name, last digits included.
_NAMED = re.compile(r'(?<=id=")[^"]*|(?<=url\(#)[^)]*|(?<=href="#)[^"]*')
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[-+]?\d+)?")
#: What a number of a picture may move, in points (a 72nd of an inch).
_UNSEEN = 0.02
#: What a shade of a painted page may differ, of 255.
_SHADE = 48


def differing_pictures(
    document: Document, pictures: dict[str, bytes], foot: str, folder: Path
) -> tuple[list[str], list[str]]:
    """Compare the pictures of a dossier's page and PDF with those drawn anew.

    Parameters
    ----------
    document : Document
        Written out of the recomputed numbers, without pictures that draw nothing.
    pictures : dict of str to bytes
        SVG by name, drawn anew.
    foot : str
        Last line of every page.
    folder : pathlib.Path
        The dossier's ``data`` folder.

    Returns
    -------
    page, pdf : list of str
        One line per difference. A missing file is not told here but by the bag.
    """
    return _of_page(document, pictures, folder / "index.html"), _of_pdf(
        document, pictures, foot, folder / "dossier.pdf"
    )


def _of_page(document: Document, pictures: dict[str, bytes], file: Path) -> list[str]:
    from linestudy.dossier.blocks import Image

    if not file.is_file():
        return []
    shown = _IMAGE.findall(file.read_text(encoding="utf-8", errors="replace"))
    names = [
        block.name
        for section in document.sections
        for block in section.blocks
        if isinstance(block, Image)
    ]
    if len(shown) != len(names):
        return [f"shows {len(shown)} pictures, drawn anew {len(names)}"]
    return [
        f"picture {name} looks otherwise than drawn anew"
        for name, data in zip(names, shown, strict=True)
        if not _alike(_decoded(data), pictures[name])
    ]


def _decoded(data: str) -> bytes:
    try:
        return base64.b64decode(data)
    except (binascii.Error, ValueError):
        return b""


def _alike(one: bytes, other: bytes) -> bool:
    """Whether two SVGs draw the same to the eye: same words, numbers within a fiftieth of a point."""
    if one == other:
        return True
    texts = [_NAMED.sub("", data.decode("utf-8", "replace")) for data in (one, other)]
    words = [_NUMBER.split(text) for text in texts]
    numbers = [_NUMBER.findall(text) for text in texts]
    return words[0] == words[1] and all(
        abs(float(a) - float(b)) <= _UNSEEN for a, b in zip(*numbers, strict=True)
    )


def _of_pdf(document: Document, pictures: dict[str, bytes], foot: str, file: Path) -> list[str]:
    from linestudy.dossier.pdf import write_pdf

    if not file.is_file():
        return []
    with tempfile.TemporaryDirectory() as aside:
        anew = Path(aside) / "dossier.pdf"
        write_pdf(document, pictures, anew, foot)
        if anew.read_bytes() == file.read_bytes():
            return []
        return list(_pages(file, anew))


def _pages(printed: Path, anew: Path) -> Iterator[str]:
    import numpy as np
    from pypdfium2 import PdfDocument, PdfiumError

    try:
        with PdfDocument(printed.read_bytes()) as old, PdfDocument(anew.read_bytes()) as new:
            if len(old) != len(new):
                yield f"has {len(old)} pages, set anew {len(new)}"
                return
            for number, (a, b) in enumerate(zip(old, new, strict=True), start=1):
                # Twice the resolution of a screen: a dot of the smallest size covers several points.
                one, other = (page.render(scale=2, grayscale=True).to_numpy() for page in (a, b))
                if (
                    one.shape != other.shape
                    or (np.abs(one.astype(int) - other.astype(int)) > _SHADE).any()
                ):
                    yield f"page {number} looks otherwise than set anew"
    except PdfiumError:
        # Said already where its numbers are read.
        return
