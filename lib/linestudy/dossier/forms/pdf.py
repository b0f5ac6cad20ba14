"""The submission as a tagged PDF, by typst; text goes in as data, never as markup."""

from __future__ import annotations

import datetime
import itertools
import json
import re
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.dossier.content.elements import (
    Bullets,
    Contents,
    Document,
    Fields,
    Heading,
    Image,
    Signatures,
    Table,
    Text,
)
from linestudy.dossier.forms.printable_text import printable, shortened
from linestudy.results.tables import names_as_given

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
    with names_as_given(document.names):
        content: dict[str, Any] = {
            "title": printable(document.title),
            "date": _date(dict(document.facts).get("Date", "")),
            "running": shortened(document.title),
            "part": shortened(dict(document.facts).get("Part", "")),
            "foot": foot,
            "sections": sections_as_data(document, pictures),
        }
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        shutil.copy(_TEMPLATE, root / "main.typ")
        for name, data in pictures.items():
            (root / f"{name}.svg").write_text(_lettered(data.decode()), encoding="utf-8")
        _compile(root, content, out)
        if not _sheet_runs_over(document):
            return
        # What follows goes on there, so that no page of the report is nearly empty.
        if _little_on_its_last_page(root, "sheet-end", after=1):
            content["sections"][1]["fresh"] = False
            _compile(root, content, out)
        elif len(content["sections"]) > 2 and _little_on_its_last_page(root, "front-end", after=2):
            content["sections"][2]["fresh"] = False
            _compile(root, content, out)


#: Rows of the table of results that fit on the decision sheet with all else on it, whatever their names.
_ROWS_THAT_FIT = 5


def _sheet_runs_over(document: Document) -> bool:
    """Check whether the decision sheet may be longer than a page, so that it has to be measured."""
    tables = [block for block in document.sections[0].blocks if isinstance(block, Table)]
    return len(document.sections) > 1 and any(len(one.rows) > _ROWS_THAT_FIT for one in tables)


def _little_on_its_last_page(root: Path, end: str, *, after: int) -> bool:
    """Check whether a part of the report ends in the upper half of a page after the one it should end on."""
    import typst

    found = json.loads(
        typst.query(
            root / "main.typ",
            f"<{end}>",
            field="value",
            one=True,
            root=root,
            ignore_system_fonts=True,
        )
    )
    return bool(found["page"] > after and found["y"] < 0.5)


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
                for file in root.glob("*.svg"):
                    drawn = file.read_text(encoding="utf-8").replace(sign, f"[U+{ord(sign):04X}]")
                    file.write_text(drawn, encoding="utf-8")
        else:
            return
    raise RuntimeError("the document could not be set")


#: Replaces in a picture a sign that the document's font lacks.
_BOX = "□"
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
    (0x25C6, 0x25C6),
)


def _with_shapes(value: Any) -> Any:
    """Replace signs of other scripts by their number throughout the content."""
    if isinstance(value, str):
        return "".join(c if _has_shape(c) else f"[U+{ord(c):04X}]" for c in value)
    if isinstance(value, list):
        return [_with_shapes(item) for item in value]
    if isinstance(value, dict):
        return {key: _with_shapes(item) for key, item in value.items()}
    return value


def _has_shape(sign: str) -> bool:
    return any(low <= ord(sign) <= high for low, high in _SHAPED)


def _lettered(svg: str) -> str:
    """Replace signs of other scripts in a picture by a box; the text gives their numbers."""
    odd = {sign for sign in set(svg) if sign not in "\n\t" and not _has_shape(sign)}
    return svg.translate(dict.fromkeys(map(ord, odd), _BOX)) if odd else svg


def foot_of(study: Study) -> str:
    """Write the last line of every page: part and revision.

    Parameters
    ----------
    study : Study

    Returns
    -------
    str
    """
    with names_as_given([study.head.part, study.head.revision]):
        return shortened(study.head.part_and_revision, 90)


def _date(text: str) -> list[int]:
    """Read the study's own date, or a fixed one, so that a second run gives the same bytes."""
    try:
        day = datetime.date.fromisoformat(text.strip())
    except ValueError:
        day = datetime.date(2000, 1, 1)
    return [day.year, day.month, day.day]


def sections_as_data(document: Document, pictures: dict[str, bytes]) -> list[dict[str, Any]]:
    """Turn sections into plain data: figures and tables numbered, half-width pictures side by side.

    Parameters
    ----------
    document : Document
    pictures : dict of str to bytes
        SVG by name, for their size.

    Returns
    -------
    list of dict
    """
    numbers = {"figure": 0, "table": 0}
    found, annex = [], False
    for number, section in enumerate(document.sections, start=1):
        blocks = [_numbered(as_data(block), numbers, pictures) for block in section.blocks]
        found.append(
            {
                "heading": f"{number} {shortened(section.heading, 120)}",
                "fresh": section.fresh and number > 1,
                "sheet": number == 1,
                "front": number == 2,
                "short": f"{number} {_cut(shortened(section.heading, 120))}",
                "opens": "Annex" if section.annex and not annex else "",
                "blocks": _kept_together(_side_by_side(blocks)),
            }
        )
        annex = annex or section.annex
    return found


#: Letters of a heading in the list of sections, which has three columns.
_IN_CONTENTS = 34


def _cut(heading: str) -> str:
    """Shorten a heading to a line of the list of sections."""
    left = _IN_CONTENTS
    for at, sign in enumerate(heading):
        left -= _as_set(sign)
        if left < 0:
            return f"{heading[:at]}…"
    return heading


def _numbered(
    block: dict[str, Any], numbers: dict[str, int], pictures: dict[str, bytes]
) -> dict[str, Any]:
    if block["kind"] == "image":
        block["points"] = _points_wide(pictures.get(block["file"].removesuffix(".svg"), b""))
        if block["question"]:
            numbers["figure"] += 1
            block["question"] = f"Figure {numbers['figure']}. {block['question']}"
            block["anchor"] = f"figure-{numbers['figure']}"
    if block["kind"] == "table" and block["caption"]:
        numbers["table"] += 1
        block["caption"] = f"Table {numbers['table']}. {block['caption']}"
        block["anchor"] = f"table-{numbers['table']}"
    return block


#: Width of the text on paper, in points.
_TEXT_WIDTH = 493.0
_WIDTH = re.compile(rb'<svg[^>]*? width="([\d.]+)pt"')


def _points_wide(svg: bytes) -> float:
    """Return the width of a picture as drawn [pt], at most that of the text."""
    found = _WIDTH.search(svg[:2000])
    return min(float(found.group(1)), _TEXT_WIDTH) if found else _TEXT_WIDTH


def _side_by_side(blocks: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Put two half-width pictures in a row, or one beside the list that follows it."""
    found: list[dict[str, Any]] = []
    for block in blocks:
        last = found[-1] if found else None
        if _is_half(block):
            if last is not None and last["kind"] == "side" and last["open"]:
                last["blocks"].append(block)
                last["open"] = False
            else:
                found.append({"kind": "side", "blocks": [block], "open": True})
        elif (
            last is not None
            and last["kind"] == "side"
            and last["open"]
            and block["kind"] in ("bullets", "table")
        ):
            last["blocks"].append(block)
            last["open"] = False
        else:
            found.append(block)
    return found


def _kept_together(blocks: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Mark what introduces the block after it, so that no page ends with it."""
    for block, after in itertools.pairwise(blocks):
        if block["kind"] == "fields" or (
            block["kind"] == "text"
            and after["kind"] in ("table", "image", "side", "fields", "heading", "text")
        ):
            block["sticky"] = True
    return blocks


def _is_half(block: dict[str, Any]) -> bool:
    return bool(block["kind"] == "image" and block["width"] <= 50)


def as_data(block: Any) -> dict[str, Any]:
    """Turn a block into plain data with printable text, for paper and page alike."""
    if isinstance(block, Text):
        return {"kind": "text", "text": printable(block.text), "strong": block.strong}
    if isinstance(block, Bullets):
        return {
            "kind": "bullets",
            "lead": _or_empty(block.lead),
            "items": [printable(item) for item in block.items],
        }
    if isinstance(block, Table):
        return {
            "kind": "table",
            "anchor": "",
            "caption": _or_empty(block.caption),
            "head": [_or_empty(cell) for cell in block.head],
            "rows": _rows(block),
            "numeric": list(block.numeric),
            "below": [_or_empty(line) for line in block.below],
            "small": block.small,
            "wide": list(_shares(block)),
        }
    if isinstance(block, Image):
        return {
            "kind": "image",
            "file": f"{block.name}.svg",
            "alt": printable(block.alt),
            "width": block.width,
            "anchor": "",
            "question": _or_empty(block.question),
            "answer": _or_empty(block.answer),
        }
    if isinstance(block, Fields):
        return {
            "kind": "fields",
            "items": [[printable(name), _or_empty(value)] for name, value in block.items],
            "columns": block.columns,
        }
    if isinstance(block, Signatures):
        return {"kind": "signatures", "names": list(block.names)}
    if isinstance(block, Contents):
        return {"kind": "contents"}
    assert isinstance(block, Heading)
    return {"kind": "heading", "text": printable(block.text), "level": block.level}


#: Letters across the page, those that a column which breaks lines asks for at least, and those of a share of the width.
_ROOM, _LEAST_ROOM, _A_SHARE = 135, 24, 6


def _shares(table: Table) -> tuple[int, ...]:
    """Choose the columns that share the width; with long names all longer ones do, to stay on the page."""
    longest = [
        max(map(_as_set, (head, *(row[at] for row in table.rows))))
        for at, head in enumerate(table.head)
    ]
    needed = sum(
        2 + (min(size, _LEAST_ROOM) if at in table.wide else size)
        for at, size in enumerate(longest)
    )
    if not table.wide or needed <= _ROOM:
        return table.wide
    return tuple(
        at
        for at, size in enumerate(longest)
        for _ in range(-(-min(size + 5, 48) // _A_SHARE))
        if at in table.wide or size > 2 * _A_SHARE
    )


def _rows(table: Table) -> list[list[str]]:
    """Return the cells; intervals do not break where heads that do break leave enough width."""
    needed = sum(
        2 + max(map(_as_set, (*head.split(), *(row[at] for row in table.rows))))
        for at, head in enumerate(table.head)
    )
    whole = {"interval"} if needed <= _ROOM else set()
    return [
        [
            _or_empty(cell).replace(" ", "\u00a0") if head in whole else _or_empty(cell)
            for head, cell in zip(table.head, row, strict=True)
        ]
        for row in table.rows
    ]


def _as_set(text: str) -> int:
    """Count the letters a text takes on paper, where a sign of another script shows its number."""
    return sum(1 if _has_shape(sign) else len("[U+0000]") for sign in text)


def _or_empty(text: str) -> str:
    return printable(text) if text.strip() else ""
