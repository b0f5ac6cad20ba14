"""Single changes of the PDF."""

from __future__ import annotations

import dataclasses
import io
from random import Random
from typing import Any

from tampers import PDF, Change, Files, change


def _writer(files: Files) -> Any:
    from pypdf import PdfReader, PdfWriter

    return PdfWriter(clone_from=PdfReader(io.BytesIO(files[PDF])))


def _save(files: Files, writer: Any) -> None:
    stream = io.BytesIO()
    writer.write(stream)
    files[PDF] = stream.getvalue()


@change("pdf")
def written_again_without_a_change(files: Files, rng: Random) -> str:
    writer = _writer(files)
    if rng.random() < 0.5:
        writer.pages[0].compress_content_streams(level=rng.randrange(1, 10))
    _save(files, writer)
    return "by another program"


@change("pdf")
def an_annotation(files: Files, rng: Random) -> str:
    from pypdf import annotations
    from pypdf.generic import (
        ArrayObject,
        DictionaryObject,
        FloatObject,
        NameObject,
        TextStringObject,
    )

    writer = _writer(files)
    number = rng.randrange(len(writer.pages))
    x, y = rng.randrange(40, 400), rng.randrange(40, 700)
    rect = (x, y, x + 90, y + 20)
    how = rng.randrange(7)
    if how == 0:
        writer.add_annotation(number, annotations.FreeText(text="meets", rect=rect))
    elif how == 1:
        writer.add_annotation(number, annotations.Rectangle(rect=rect, interior_color="ffffff"))
    elif how == 2:
        writer.add_annotation(number, annotations.Link(rect=rect, url="http://x.example"))
    elif how == 3:
        writer.add_annotation(number, annotations.Text(text="meets", rect=rect))
    elif how == 4:
        writer.add_annotation(
            number, annotations.Line(p1=(x, y), p2=(x + 9, y), rect=rect, text="")
        )
    else:
        kind = "/Stamp" if how == 5 else "/Widget"
        mark = DictionaryObject(
            {
                NameObject("/Type"): NameObject("/Annot"),
                NameObject("/Subtype"): NameObject(kind),
                NameObject("/Rect"): ArrayObject([FloatObject(v) for v in rect]),
                NameObject("/F"): FloatObject(4),
                NameObject("/T"): TextStringObject("a"),
                NameObject("/V"): TextStringObject("Ppk 2.99 meets"),
            }
        )
        writer.add_annotation(number, mark)
    _save(files, writer)
    return f"kind {how} on page {number + 1}"


@change("pdf")
def a_form_an_action_an_attachment(files: Files, rng: Random) -> str:
    from pypdf.generic import ArrayObject, DictionaryObject, NameObject, TextStringObject

    writer = _writer(files)
    how = rng.randrange(8)
    action = DictionaryObject(
        {
            NameObject("/S"): NameObject("/JavaScript"),
            NameObject("/JS"): TextStringObject("app.alert(1)"),
        }
    )
    page = writer.pages[rng.randrange(len(writer.pages))]
    if how == 0:
        named = ArrayObject([TextStringObject("a"), action])
        tree = DictionaryObject({NameObject("/Names"): named})
        writer.root_object[NameObject("/Names")] = DictionaryObject(
            {NameObject("/JavaScript"): tree}
        )
    elif how == 1:
        writer.add_attachment(f"{rng.randrange(99)}.txt", b"meets")
    elif how == 2:
        writer.root_object[NameObject("/OpenAction")] = action
    elif how == 3:
        writer.root_object[NameObject("/AA")] = DictionaryObject({NameObject("/WC"): action})
    elif how == 4:
        page[NameObject("/AA")] = DictionaryObject({NameObject("/O"): action})
    elif how == 5:
        writer.root_object[NameObject("/AcroForm")] = DictionaryObject(
            {NameObject("/Fields"): ArrayObject()}
        )
    elif how == 6:
        writer.root_object[NameObject("/AF")] = ArrayObject()
    else:
        writer.root_object[NameObject("/OCProperties")] = DictionaryObject()
    _save(files, writer)
    return f"kind {how}"


@change("pdf")
def pages_moved_turned_cut(files: Files, rng: Random) -> str:
    from pypdf import PdfReader, PdfWriter
    from pypdf.generic import FloatObject, NameObject, RectangleObject

    how = rng.randrange(7)
    reader = PdfReader(io.BytesIO(files[PDF]))
    order = list(range(len(reader.pages)))
    at = rng.randrange(len(order))
    if how < 3:
        if how == 0:
            order.pop(at)
        elif how == 1:
            order.insert(rng.randrange(len(order)), at)
        else:
            a, b = rng.sample(order, 2)
            order[a], order[b] = order[b], order[a]
        writer = PdfWriter()
        for number in order:
            writer.add_page(reader.pages[number])
    else:
        writer = _writer(files)
        page = writer.pages[at]
        if how == 3:
            page.rotate(rng.choice([90, 180, 270]))
        elif how == 4:
            page.cropbox = RectangleObject((0, 0, 400, rng.randrange(200, 700)))
        elif how == 5:
            page.mediabox = RectangleObject((0, 0, 595, rng.randrange(300, 800)))
        else:
            page[NameObject("/UserUnit")] = FloatObject(2)
    _save(files, writer)
    return f"kind {how} at page {at + 1}"


@change("pdf")
def facts_of_the_file(files: Files, rng: Random) -> str:
    writer = _writer(files)
    key = rng.choice(["/Title", "/Author", "/Subject", "/Keywords", "/Producer", "/CreationDate"])
    writer.add_metadata({key: f"x{rng.random()}"})
    _save(files, writer)
    return key


@change("pdf")
def words_painted_over(files: Files, rng: Random) -> str:
    from pypdf.generic import DecodedStreamObject, NameObject

    writer = _writer(files)
    number = rng.randrange(len(writer.pages))
    page = writer.pages[number]
    x, y = rng.randrange(60, 350), rng.randrange(80, 700)
    fill = rng.choice(["1 1 1 rg", "0 0 0 rg", "1 0 0 rg"])
    stream = DecodedStreamObject()
    stream.set_data(page.get_contents().get_data() + f"\nq {fill} {x} {y} 160 60 re f Q\n".encode())
    page[NameObject("/Contents")] = writer._add_object(stream)
    _save(files, writer)
    return f"{fill} on page {number + 1}"


@change("pdf")
def written_on_after_its_end(files: Files, rng: Random) -> str:
    files[PDF] += rng.choice(
        [b"\n%x\n", b"\n1 0 obj\n<<>>\nendobj\n", b"PK\x05\x06" + b"\0" * 18, b" "]
    )
    return "appended"


@change("pdf")
def any_byte_of_it(files: Files, rng: Random) -> str:
    data = files[PDF]
    at = rng.randrange(len(data))
    files[PDF] = data[:at] + bytes([data[at] ^ rng.choice([1, 16, 64])]) + data[at + 1 :]
    return f"byte {at}"


def set_again(document: Any, pictures: dict[str, bytes], foot: str) -> Change:
    """A change that sets the PDF again with other words, cells or order."""

    def set_anew_with_a_change(files: Files, rng: Random) -> str:
        import tempfile
        from pathlib import Path

        from linestudy.dossier.forms.pdf import write_pdf

        changed, what = _otherwise(document, rng)
        last = foot
        if what == "foot":
            last = foot.replace("revision", "issue")
        with tempfile.TemporaryDirectory() as folder:
            out = Path(folder) / "x.pdf"
            write_pdf(changed, pictures, out, last)
            files[PDF] = out.read_bytes()
        return what

    return set_anew_with_a_change


def _otherwise(document: Any, rng: Random) -> tuple[Any, str]:
    from linestudy.dossier.content.elements import Bullets, Heading, Table, Text

    how = rng.randrange(9)
    if how == 0:
        return dataclasses.replace(document, title=document.title + " All meet."), "title"
    if how == 1:
        facts = [
            (name, value + "1") if name == "Revision" else (name, value)
            for name, value in document.facts
        ]
        return dataclasses.replace(document, facts=tuple(facts)), "fact of the cover"
    if how == 2:
        return document, "foot"
    if how == 3:
        facts = [*document.facts, ("Released", "checked")]
        return dataclasses.replace(document, facts=tuple(facts)), "one more fact of the cover"
    sections = list(document.sections)
    s = rng.randrange(len(sections))
    blocks = list(sections[s].blocks)
    kinds = {4: Text, 5: Bullets, 6: Heading, 7: Table, 8: Table}
    fitting = [
        (i, j)
        for i, section in enumerate(sections)
        for j, block in enumerate(section.blocks)
        if isinstance(block, kinds[how])
    ]
    s, b = rng.choice(fitting)
    blocks = list(sections[s].blocks)
    block = blocks[b]
    if how == 4:
        words = block.text.split(" ")
        words[rng.randrange(len(words))] = "never"
        blocks[b], what = dataclasses.replace(block, text=" ".join(words)), "word of a text"
    elif how == 5:
        items = list(block.items)
        if len(items) > 1:
            items.pop(rng.randrange(len(items)))
        else:
            items.append("It meets.")
        blocks[b], what = dataclasses.replace(block, items=tuple(items)), "item of a list"
    elif how == 6:
        blocks[b], what = dataclasses.replace(block, text=block.text + " (met)"), "heading"
    elif how == 7:
        rows = [list(row) for row in block.rows]
        r = rng.randrange(len(rows))
        c = rng.randrange(len(rows[r]))
        rows[r][c] = (rows[r][c] + "0") if rows[r][c] else "x"
        blocks[b], what = (
            dataclasses.replace(block, rows=tuple(map(tuple, rows))),
            "cell of a table",
        )
    else:
        rows = list(block.rows)
        r = rng.randrange(len(rows))
        rows.insert(r, rows[r])
        blocks[b], what = dataclasses.replace(block, rows=tuple(rows)), "row twice"
    sections[s] = dataclasses.replace(sections[s], blocks=tuple(blocks))
    return dataclasses.replace(document, sections=tuple(sections)), what
