"""The submission as a tagged PDF, by typst; text goes in as data, never as markup."""

from __future__ import annotations

import datetime
import json
import re
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.dossier.content.blocks import Bullets, Document, Heading, Image, Table, Text

if TYPE_CHECKING:
    from linestudy.study.load import Study

#: Archivable with full tags, and accessible.
STANDARDS: Any = ["a-2a", "ua-1"]
_TEMPLATE = Path(__file__).with_name("template.typ")


def write_pdf(document: Document, pictures: dict[str, bytes], out: Path, foot: str) -> None:
    """Write the document as PDF/A-2a and PDF/UA-1.

    Parameters
    ----------
    document : Document
    pictures : dict of str to bytes
        SVG by name.
    out : pathlib.Path
        File to write.
    foot : str
        Left part of the foot line.

    Raises
    ------
    RuntimeError
        typst refuses the document, which is a mistake of this kit.
    """
    content = {
        "title": printable(document.title),
        "date": _date(dict(document.facts).get("Date", "")),
        "running": shortened(document.title),
        "part": shortened(dict(document.facts).get("Part", "")),
        "foot": foot,
        "facts": [[printable(name), printable(value)] for name, value in document.facts],
        "claim": printable(document.claim),
        "release": list(document.release),
        "sections": [
            {
                "heading": shortened(section.heading, 120),
                "fresh": section.fresh,
                "blocks": [as_data(block) for block in section.blocks],
            }
            for section in document.sections
        ],
    }
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        shutil.copy(_TEMPLATE, root / "main.typ")
        for name, data in pictures.items():
            (root / f"{name}.svg").write_bytes(data)
        _compile(root, content, out)


def _compile(root: Path, content: dict[str, Any], out: Path) -> None:
    """Set the document; a sign that its font lacks is named by its number instead.

    PDF/A allows no sign without a shape. The page, which a browser sets, shows all of them.
    """
    import typst

    text = json.dumps(_with_shapes(content), ensure_ascii=False)
    for _ in range(_MOST_REPAIRS):
        (root / "content.json").write_text(text, encoding="utf-8")
        try:
            typst.compile(
                root / "main.typ",
                output=out,
                root=root,
                pdf_standards=STANDARDS,
                ignore_system_fonts=True,
                timestamp=datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC),
            )
        except typst.TypstError as error:
            lacking = re.search(r'the text [`"]+(.+?)["`]+ could not be displayed', str(error))
            if lacking is None:
                raise
            for sign in set(lacking.group(1)):
                text = text.replace(sign, f"[U+{ord(sign):04X}]")
        else:
            return
    raise RuntimeError("the document could not be set")


#: Signs repaired one by one before giving up; whole scripts are named beforehand.
_MOST_REPAIRS = 40
#: Scripts that the document's font has: Latin, Greek, Cyrillic, punctuation, signs, arrows.
_SHAPED = (
    (0x20, 0x24F),
    (0x300, 0x36F),
    (0x370, 0x3FF),
    (0x400, 0x52F),
    (0x1E00, 0x1EFF),
    (0x2000, 0x206F),
    (0x2070, 0x209F),
    (0x20A0, 0x20BF),
    (0x2100, 0x22FF),
)


def _with_shapes(value: Any) -> Any:
    """The same content with signs of other scripts named by their number."""
    if isinstance(value, str):
        return "".join(
            c if any(low <= ord(c) <= high for low, high in _SHAPED) else f"[U+{ord(c):04X}]"
            for c in value
        )
    if isinstance(value, list):
        return [_with_shapes(item) for item in value]
    if isinstance(value, dict):
        return {key: _with_shapes(item) for key, item in value.items()}
    return value


def foot_of(study: Study) -> str:
    """The last line of every page: part and revision.

    Parameters
    ----------
    study : Study

    Returns
    -------
    str
    """
    return shortened(f"{study.head.part}, revision {study.head.revision}", 90)


def _date(text: str) -> list[int]:
    """The study's own date where it is one, so that a second run gives the same bytes."""
    try:
        day = datetime.date.fromisoformat(text.strip())
    except ValueError:
        day = datetime.date(2000, 1, 1)
    return [day.year, day.month, day.day]


def as_data(block: Any) -> dict[str, Any]:
    """A block of the document as plain data, all text printable; paper and page both take it."""
    if isinstance(block, Text):
        return {"kind": "text", "text": printable(block.text), "strong": block.strong}
    if isinstance(block, Bullets):
        return {
            "kind": "bullets",
            "lead": printable(block.lead),
            "items": [printable(item) for item in block.items],
        }
    if isinstance(block, Table):
        return {
            "kind": "table",
            "caption": printable(block.caption),
            "head": [printable(cell) for cell in block.head],
            "rows": [[printable(cell) for cell in row] for row in block.rows],
            "numeric": list(block.numeric),
        }
    if isinstance(block, Image):
        return {
            "kind": "image",
            "file": f"{block.name}.svg",
            "alt": printable(block.alt),
            "width": block.width,
        }
    assert isinstance(block, Heading)
    return {"kind": "heading", "text": printable(block.text), "level": block.level}


#: Marks that turn the direction of text; shown text must not reorder its neighbours.
_DIRECTION = {*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F, 0x061C}


def printable(text: str, limit: int = 2000) -> str:
    """Text from a study as the document may show it.

    Control characters and direction marks become visible spaces, very long words get
    places to break, very long texts end in an ellipsis.

    Parameters
    ----------
    text : str
    limit : int
        Most characters.

    Returns
    -------
    str

    Examples
    --------
    >>> printable("a\\x00b")
    'a b'
    """
    kept = "".join(
        " " if ord(c) in _DIRECTION or not (c.isprintable() or c == "\u200b") else c
        for c in str(text)
    )
    if len(kept) > limit:
        kept = kept[: limit - 1] + "…"
    return " ".join(_breakable(word) for word in kept.split(" ")).strip() or "–"


def _breakable(word: str, longest: int = 40) -> str:
    if len(word) <= longest:
        return word
    pieces = (word[i : i + longest] for i in range(0, len(word), longest))
    return "\u200b".join(pieces)


def shortened(text: str, limit: int = 70) -> str:
    """One short line of printable text."""
    return printable(" ".join(str(text).split()), limit)
