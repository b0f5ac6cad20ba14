"""Single changes of a dossier, as somebody would make them who renews the sums afterwards.

Each function changes the files of a dossier (name → bytes) in one place, chosen by the generator it is given, and
returns what it did. All of them change what a reader sees, what a program reads, or what may be hidden there.
"""

from __future__ import annotations

import base64
import dataclasses
import hashlib
import io
import json
import re
import zipfile
from collections.abc import Callable
from random import Random
from typing import Any

Files = dict[str, bytes]
Change = Callable[[Files, Random], str]

PAGE, PDF, BOOK = "data/index.html", "data/dossier.pdf", "data/workbook.xlsx"
RESULTS, VERSIONS, TOML = "data/results.json", "data/versions.txt", "data/study/study.toml"
INFO = "bag-info.txt"
_PICTURE = re.compile(r'(src="data:image/svg\+xml;base64,)([^"]+)"')

#: Every change by its class; several classes to a kind of file.
CHANGES: dict[str, Change] = {}


def change(kind: str) -> Callable[[Change], Change]:
    def keep(function: Change) -> Change:
        CHANGES[f"{kind}: {function.__name__.replace('_', ' ')}"] = function
        return function

    return keep


def renew(files: Files) -> None:
    """Make all sums anew."""
    payload = {name: data for name, data in files.items() if name.startswith("data/")}
    if INFO in files:
        oxum = f"{sum(map(len, payload.values()))}.{len(payload)}"
        files[INFO] = re.sub(
            rb"(?m)^Payload-Oxum: .*$", f"Payload-Oxum: {oxum}".encode(), files[INFO]
        )
    for kind in ("sha256", "sha512"):
        lines = [f"{hashlib.new(kind, d).hexdigest()}  {n}\n" for n, d in sorted(payload.items())]
        files[f"manifest-{kind}.txt"] = "".join(lines).encode()
    tags = [n for n in files if "/" not in n and not n.startswith("tagmanifest")]
    for kind in ("sha256", "sha512"):
        lines = [f"{hashlib.new(kind, files[n]).hexdigest()} {n}\n" for n in sorted(tags)]
        files[f"tagmanifest-{kind}.txt"] = "".join(lines).encode()


# The page ------------------------------------------------------------------------------------------


def _page(files: Files) -> tuple[str, str]:
    """The page before and after the place where its body begins to speak."""
    return files[PAGE].decode(), "<main>"


def _insert(files: Files, at: int, text: str) -> None:
    page = files[PAGE].decode()
    files[PAGE] = (page[:at] + text + page[at:]).encode()


def _tags(
    files: Files, pattern: str = r"<(?:p|h1|h2|h3|td|th|tr|table|section|figure|img|dd|body|li)\b"
) -> list[re.Match]:
    return list(re.finditer(pattern, files[PAGE].decode()))


def _texts(files: Files) -> list[re.Match]:
    page = files[PAGE].decode()
    start = page.index("<body>")
    return [m for m in re.finditer(r">([^<>]*\w[^<>]*)<", page) if m.start() > start]


@change("page")
def a_rule_of_style(files: Files, rng: Random) -> str:
    rule = rng.choice(
        [
            "td{display:none}",
            "strong{color:transparent}",
            "p::after{content:' meets'}",
            "ul{display:none}",
            "@import url(//x.example/a.css);",
            "h2{position:absolute;left:-999px}",
            "@media print{table{display:none}}",
            "td:nth-child(4)::before{content:'1.9'}",
        ]
    )
    _insert(files, files[PAGE].decode().index("</style>"), rule + " " * rng.randrange(3))
    return rule


@change("page")
def a_style_of_one_element(files: Files, rng: Random) -> str:
    tag = rng.choice(_tags(files))
    how = rng.choice(
        ["display:none", "opacity:0", "font-size:0", "visibility:hidden", "color:#fff"]
    )
    _insert(files, tag.end(), f' style="{how}"')
    return how


@change("page")
def an_attribute_that_runs(files: Files, rng: Random) -> str:
    tag = rng.choice(_tags(files))
    name = rng.choice(["onload", "onclick", "onmouseover", "onerror", "onfocus"])
    _insert(files, tag.end(), f" {name}=\"document.title='meets'\"")
    return name


@change("page")
def an_element_that_runs_or_fetches(files: Files, rng: Random) -> str:
    text = rng.choice(
        [
            "<script>document.body.innerHTML='meets'</script>",
            "<iframe srcdoc='meets'></iframe>",
            "<object data='x.svg'></object>",
            "<embed src='x'>",
            "<link rel=stylesheet href=x.css>",
            "<meta http-equiv=refresh content='0;url=x.html'>",
            "<base href='//x.example/'>",
            "<template>x</template>",
            "<svg><script>1</script></svg>",
        ]
    )
    _insert(files, rng.choice(_tags(files)).start(), text)
    return text


@change("page")
def a_thing_laid_over(files: Files, rng: Random) -> str:
    text = f"<div style='position:fixed;top:{rng.randrange(900)}px;background:#fff'>meets</div>"
    _insert(files, rng.choice(_tags(files)).start(), text)
    return text


@change("page")
def a_form(files: Files, rng: Random) -> str:
    text = rng.choice(
        ["<input value='2.99'>", "<textarea>meets</textarea>", "<select><option>meets</select>"]
    )
    _insert(files, rng.choice(_tags(files)).start(), text)
    return text


@change("page")
def a_comment(files: Files, rng: Random) -> str:
    _insert(files, rng.choice(_tags(files)).start(), f"<!-- {rng.random()} -->")
    return "comment"


@change("page")
def a_value_of_an_attribute(files: Files, rng: Random) -> str:
    page = re.sub(r"base64,[A-Za-z0-9+/=]*", lambda m: " " * len(m.group()), files[PAGE].decode())
    found = [m for m in re.finditer(r'="([^"]+)"', page) if m[1].strip()]
    spot = rng.choice(found)
    at = rng.randrange(spot.start(1), spot.end(1))
    whole = files[PAGE].decode()
    sign = "x" if whole[at] != "x" else "y"
    if page[at] == " ":
        at = spot.start(1)
        sign = "q"
    files[PAGE] = (whole[:at] + sign + whole[at + 1 :]).encode()
    return f"{spot[0][:40]} {sign}"


@change("page")
def a_letter(files: Files, rng: Random) -> str:
    spot = rng.choice(_texts(files))
    page = files[PAGE].decode()
    places = [i for i in range(spot.start(1), spot.end(1)) if page[i].isalpha()]
    if not places:
        return a_digit(files, rng)
    at = rng.choice(places)
    sign = "e" if page[at] != "e" else "a"
    files[PAGE] = (page[:at] + sign + page[at + 1 :]).encode()
    return f"{spot[1][:40]!r} at {at}"


@change("page")
def a_digit(files: Files, rng: Random) -> str:
    page = files[PAGE].decode()
    spots = [m for m in _texts(files) if re.search(r"\d", m[1])]
    spot = rng.choice(spots)
    at = rng.choice([i for i in range(spot.start(1), spot.end(1)) if page[i].isdigit()])
    digit = str((int(page[at]) + rng.choice([1, 9, 5])) % 10)
    files[PAGE] = (page[:at] + digit + page[at + 1 :]).encode()
    return f"{spot[1][:40]!r}: {page[at]} becomes {digit}"


@change("page")
def cells_that_changed_places(files: Files, rng: Random) -> str:
    page = files[PAGE].decode()
    cells = list(re.finditer(r"<td[^>]*>([^<]*)</td>", page))
    while True:
        a, b = sorted(rng.sample(cells, 2), key=lambda m: m.start())
        if a[1] != b[1]:
            break
    files[PAGE] = (
        page[: a.start(1)] + b[1] + page[a.end(1) : b.start(1)] + a[1] + page[b.end(1) :]
    ).encode()
    return f"{a[1]!r} and {b[1]!r}"


@change("page")
def a_piece_left_out_or_twice(files: Files, rng: Random) -> str:
    page = files[PAGE].decode()
    pattern = rng.choice(
        [r"<tr>.*?</tr>", r"<p>.*?</p>", r"<section.*?</section>", r"<li>.*?</li>", r"<h2.*?</h2>"]
    )
    spot = rng.choice(list(re.finditer(pattern, page, re.S)))
    twice = rng.random() < 0.4
    files[PAGE] = (page[: spot.start()] + spot[0] * (2 * twice) + page[spot.end() :]).encode()
    return f"{pattern} {'twice' if twice else 'left out'}"


@change("page")
def signs_nobody_sees(files: Files, rng: Random) -> str:
    spot = rng.choice(_texts(files))
    sign = rng.choice(["\u200b", "\u202e", "\u2066", "\xa0", "&#8203;", " ", "\n"])
    _insert(files, rng.randrange(spot.start(1), spot.end(1) + 1), sign)
    return repr(sign)


@change("page")
def a_sign_written_otherwise(files: Files, rng: Random) -> str:
    spot = rng.choice(_texts(files))
    page = files[PAGE].decode()
    at = next(i for i in range(spot.start(1), spot.end(1)) if page[i].isalnum())
    files[PAGE] = (page[:at] + f"&#{ord(page[at])};" + page[at + 1 :]).encode()
    return page[at]


@change("page")
def any_byte(files: Files, rng: Random) -> str:
    data = files[PAGE]
    # Outside the data of pictures, of which a thousandth of a point is nothing.
    bare = re.sub(rb"(?<=base64,)[A-Za-z0-9+/=]*", lambda m: b"\0" * len(m.group()), data)
    at = rng.choice([i for i, byte in enumerate(bare) if byte])
    files[PAGE] = data[:at] + bytes([data[at] ^ rng.choice([1, 2, 32, 128])]) + data[at + 1 :]
    return f"byte {at}"


@change("page")
def its_ends(files: Files, rng: Random) -> str:
    how = rng.randrange(4)
    data = files[PAGE]
    files[PAGE] = [
        data + b"<p>x</p>",
        data[: -rng.randrange(2, 400)],
        b"\xef\xbb\xbf" + data,
        data + b"\n",
    ][how]
    return str(how)


def _with_picture(files: Files, number: int, svg: str) -> None:
    page = files[PAGE].decode()
    spot = list(_PICTURE.finditer(page))[number]
    data = base64.b64encode(svg.encode()).decode()
    files[PAGE] = (page[: spot.start(2)] + data + page[spot.end(2) :]).encode()


def _pictures(files: Files) -> list[str]:
    return [base64.b64decode(m[2]).decode() for m in _PICTURE.finditer(files[PAGE].decode())]


@change("picture")
def what_no_picture_holds(files: Files, rng: Random) -> str:
    shown = _pictures(files)
    number = rng.randrange(len(shown))
    text = rng.choice(
        [
            "<script>1</script>",
            "<text x='9' y='9'>meets</text>",
            "<foreignObject><p>meets</p></foreignObject>",
            "<a xlink:href='//x.example'><rect/></a>",
            "<animate attributeName='x' to='9'/>",
            "<image xlink:href='//x.example/a.png'/>",
            "<use xlink:href='x.svg#a'/>",
            "<set attributeName='opacity' to='0'/>",
            "<style>*{opacity:0}</style>",
            "<rect onload='x()'/>",
            "<filter id='f'/>",
            "<g style='fill:url(//x.example/a)'/>",
            "meets &lt;",
        ]
    )
    at = shown[number].rindex("</svg>")
    _with_picture(files, number, shown[number][:at] + text + shown[number][at:])
    return text


@change("picture")
def dots_and_lines_moved(files: Files, rng: Random) -> str:
    shown = _pictures(files)
    number = rng.randrange(len(shown))
    spots = list(re.finditer(r'<use [^>]*?x="(-?[\d.]+)"', shown[number]))
    spot = rng.choice(spots)
    by = rng.choice([0.5, 3.0, -2.0, 40.0])
    svg = shown[number]
    moved = f"{float(spot[1]) + by:.6f}"
    _with_picture(files, number, svg[: spot.start(1)] + moved + svg[spot.end(1) :])
    return f"picture {number} by {by}"


@change("picture")
def a_colour_or_a_stroke(files: Files, rng: Random) -> str:
    shown = _pictures(files)
    number = rng.randrange(len(shown))
    svg = shown[number]
    spot = rng.choice(list(re.finditer(r"#[0-9a-f]{6}", svg)))
    other = "#ffffff" if spot[0] != "#ffffff" else "#000000"
    _with_picture(files, number, svg[: spot.start()] + other + svg[spot.end() :])
    return f"picture {number}: {spot[0]}"


@change("picture")
def changed_places_or_gone(files: Files, rng: Random) -> str:
    page = files[PAGE].decode()
    spots = list(_PICTURE.finditer(page))
    how = rng.randrange(4)
    a, b = sorted(rng.sample(spots, 2), key=lambda m: m.start())
    if how == 0:
        page = page[: a.start(2)] + b[2] + page[a.end(2) : b.start(2)] + a[2] + page[b.end(2) :]
    elif how == 1:
        page = re.sub(
            r"<figure>(?:(?!</figure>).)*" + re.escape(a[2][:200]) + ".*?</figure>",
            "",
            page,
            flags=re.S,
        )
    elif how == 2:
        page = page[: a.start(2)] + a[2][:60] + "\n" + a[2][60:] + page[a.end(2) :]
    else:
        page = (
            page[: a.start(1)]
            + page[a.start(1) : a.end(1)].replace("svg+xml", "png")
            + page[a.end(1) :]
        )
    files[PAGE] = page.encode()
    return ("swapped", "gone", "broken over lines", "of another kind")[how]


# The PDF -------------------------------------------------------------------------------------------


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
        writer.add_js(f"app.alert({rng.random()})")
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

        from linestudy.dossier.pdf import write_pdf

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
    from linestudy.dossier.blocks import Bullets, Heading, Table, Text

    how = rng.randrange(9)
    if how == 0:
        return dataclasses.replace(document, claim=document.claim + " All meet."), "claim"
    if how == 1:
        facts = [
            (name, value + "1") if name == "Revision" else (name, value)
            for name, value in document.facts
        ]
        return dataclasses.replace(document, facts=tuple(facts)), "fact of the cover"
    if how == 2:
        return document, "foot"
    if how == 3:
        return dataclasses.replace(document, release=(*document.release, "Checked")), "signature"
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


# The workbook --------------------------------------------------------------------------------------


def _parts(files: Files) -> list[tuple[zipfile.ZipInfo, bytes]]:
    with zipfile.ZipFile(io.BytesIO(files[BOOK])) as book:
        return [(item, book.read(item)) for item in book.infolist()]


def _pack(files: Files, parts: list[tuple[zipfile.ZipInfo | str, bytes]]) -> None:
    import warnings

    stream = io.BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as book:
        warnings.simplefilter("ignore")
        for item, data in parts:
            name = item if isinstance(item, str) else item.filename
            info = zipfile.ZipInfo(name, (1980, 1, 31, 0, 0, 0))
            info.compress_type, info.external_attr = zipfile.ZIP_DEFLATED, 2172649472
            book.writestr(info, data)
    files[BOOK] = stream.getvalue()


def _sheet(
    files: Files, rng: Random, pattern: bytes, replace: Callable[[re.Match[bytes]], bytes]
) -> str:
    parts = _parts(files)
    fitting = [
        (i, m)
        for i, (item, data) in enumerate(parts)
        if item.filename.startswith("xl/worksheets/sheet")
        for m in re.finditer(pattern, data)
    ]
    i, spot = rng.choice(fitting)
    item, data = parts[i]
    parts[i] = (item, data[: spot.start()] + replace(spot) + data[spot.end() :])
    _pack(files, parts)
    return f"{item.filename}: {spot[0][:60]!r}"


@change("workbook")
def a_value(files: Files, rng: Random) -> str:
    return _sheet(
        files,
        rng,
        rb"<v>([^<]+)</v>",
        lambda m: (
            b"<v>%s</v>" % (m[1] + b"1" if b"." in m[1] else m[1] + b"9")
            if len(m[1]) < 12
            else b"<v>%.17g</v>" % (float(m[1]) * 1.001)
        ),
    )


@change("workbook")
def a_formula(files: Files, rng: Random) -> str:
    how = rng.randrange(4)

    def other(match: re.Match[bytes]) -> bytes:
        inside = match[1]
        return [
            b"<f>%s+1</f>" % inside,
            b"<f>%s*1</f>" % inside,
            b"<f>%s</f>" % re.sub(rb"\d+(?=[^\d]*$)", lambda m: b"%d" % (int(m[0]) + 1), inside),
            b"",
        ][how]

    return _sheet(files, rng, rb"<f>([^<]*\d[^<]*)</f>", other)


@change("workbook")
def looks_of_a_sheet(files: Files, rng: Random) -> str:
    how = rng.randrange(5)
    if how == 0:
        return _sheet(files, rng, rb"<cols>", lambda m: b'<cols><col min="1" max="9" hidden="1"/>')
    if how == 1:
        return _sheet(files, rng, rb'<row r="\d+"', lambda m: m[0] + b' hidden="1"')
    if how == 2:
        return _sheet(
            files,
            rng,
            rb"</sheetData>",
            lambda m: m[0] + b'<mergeCells count="1"><mergeCell ref="A1:B2"/></mergeCells>',
        )
    if how == 3:
        return _sheet(files, rng, rb'(<c r="[A-Z]+\d+")', lambda m: m[0] + b' s="2"')
    return _sheet(
        files, rng, rb'<c r="([A-Z]+)(\d+)"', lambda m: b'<c r="%s%d"' % (m[1], int(m[2]) + 1)
    )


@change("workbook")
def words(files: Files, rng: Random) -> str:
    parts = _parts(files)
    at = next(i for i, (item, _) in enumerate(parts) if item.filename == "xl/sharedStrings.xml")
    item, data = parts[at]
    spot = rng.choice(list(re.finditer(rb">([^<>]+)</t>", data)))
    parts[at] = (item, data[: spot.start(1)] + spot[1] + b"." + data[spot.end(1) :])
    _pack(files, parts)
    return repr(spot[1][:40])


@change("workbook")
def a_part_more_or_less(files: Files, rng: Random) -> str:
    parts: list[Any] = _parts(files)
    how = rng.randrange(4)
    at = rng.randrange(len(parts))
    if how == 0:
        parts.pop(at)
    elif how == 1:
        name = rng.choice(
            [
                "xl/vbaProject.bin",
                "xl/comments1.xml",
                "customXml/item1.xml",
                "x.txt",
                "xl/externalLinks/externalLink1.xml",
            ]
        )
        parts.insert(at, (name, b"<x/>"))
    elif how == 2:
        # The false one first or last: programs differ in which they read.
        item, data = parts[at]
        parts.insert(rng.choice([0, len(parts)]), (item.filename, data.replace(b"1", b"2")))
    else:
        a, b = rng.sample(range(len(parts)), 2)
        parts[a], parts[b] = parts[b], parts[a]
    _pack(files, parts)
    return f"kind {how}, part {at}"


@change("workbook")
def any_byte_of_a_part(files: Files, rng: Random) -> str:
    parts = _parts(files)
    at = rng.randrange(len(parts))
    item, data = parts[at]
    here = rng.randrange(len(data))
    parts[at] = (item, data[:here] + bytes([data[here] ^ 2]) + data[here + 1 :])
    # A last digit of the seventeen that a double is written with is none that a program can tell.
    _pack(files, parts)
    number = re.search(rb"\d+\.\d{10,}$", data[:here])
    if number:
        return any_byte_of_a_part(files, rng)
    return f"{item.filename} byte {here}"


@change("workbook")
def what_a_zip_carries_beside(files: Files, rng: Random) -> str:
    how = rng.randrange(4)
    data = files[BOOK]
    if how == 0:
        stream = io.BytesIO(data)
        with zipfile.ZipFile(stream, "a") as book:
            book.comment = b"meets"
        files[BOOK] = stream.getvalue()
    elif how == 1:
        files[BOOK] = b"meets" + data
    elif how == 2:
        files[BOOK] = data + b"meets"
    else:
        files[BOOK] = data[: -rng.randrange(1, 200)]
    return str(how)


# Results -------------------------------------------------------------------------------------------


def _leaves(tree: Any, path: tuple = ()) -> list[tuple]:
    if isinstance(tree, dict):
        return [leaf for key, value in tree.items() for leaf in _leaves(value, (*path, key))]
    if isinstance(tree, list):
        return [leaf for i, value in enumerate(tree) for leaf in _leaves(value, (*path, i))]
    return [path]


def _dump(files: Files, tree: Any) -> None:
    text = json.dumps(tree, sort_keys=True, indent=1, ensure_ascii=False) + "\n"
    files[RESULTS] = text.encode()


def _inner(files: Files, rng: Random) -> tuple[Any, Any, Any]:
    """The whole tree, a table in it and one of its keys."""
    tree = json.loads(files[RESULTS])
    place = rng.choice(list(_leaves(tree)))
    branch = tree
    for key in place[:-1]:
        branch = branch[key]
    return tree, branch, place[-1]


@change("results")
def a_number(files: Files, rng: Random) -> str:
    while True:
        tree, branch, key = _inner(files, rng)
        value = branch[key]
        if isinstance(value, int | float) and not isinstance(value, bool):
            break
    by = rng.choice([1e-5, 1e-3, 0.02, -0.5])
    branch[key] = value + 1 if isinstance(value, int) else (value * (1 + by) if value else 0.001)
    _dump(files, tree)
    return f"{key}: {value!r} becomes {branch[key]!r}"


@change("results")
def a_word(files: Files, rng: Random) -> str:
    while True:
        tree, branch, key = _inner(files, rng)
        if isinstance(branch[key], str | bool | None.__class__):
            break
    value = branch[key]
    branch[key] = (not value) if isinstance(value, bool) else f"{value or ''}."
    _dump(files, tree)
    return f"{key}: {str(value)[:40]!r}"


@change("results")
def a_digit_in_words(files: Files, rng: Random) -> str:
    while True:
        tree, branch, key = _inner(files, rng)
        if isinstance(branch[key], str) and re.search(r"\d", branch[key]):
            break
    text = branch[key]
    at = rng.choice([m.start() for m in re.finditer(r"\d", text)])
    branch[key] = text[:at] + str((int(text[at]) + 1) % 10) + text[at + 1 :]
    _dump(files, tree)
    return f"{key}: {text[:60]!r}"


@change("results")
def a_key_more_less_other(files: Files, rng: Random) -> str:
    tree, branch, key = _inner(files, rng)
    how = rng.randrange(3)
    if isinstance(branch, list):
        if how == 0:
            branch.append(branch[key])
        elif how == 1:
            branch.pop(key)
        else:
            branch[key] = [branch[key]]
    elif how == 0:
        branch["approved"] = rng.choice([True, "by the customer", 1.0])
    elif how == 1:
        del branch[key]
    else:
        branch[f"{key}_"] = branch.pop(key)
    _dump(files, tree)
    return f"kind {how} at {key}"


@change("results")
def a_key_twice(files: Files, rng: Random) -> str:
    lines = files[RESULTS].decode().split("\n")
    spots = [i for i, line in enumerate(lines) if re.fullmatch(r' +"[^"]+": [^\[{]+,', line)]
    at = rng.choice(spots)
    false = re.sub(r": .*,", ": 9.99,", lines[at])
    lines.insert(at + rng.randrange(2), false)
    files[RESULTS] = "\n".join(lines).encode()
    return false.strip()


@change("results")
def the_same_written_otherwise(files: Files, rng: Random) -> str:
    tree = json.loads(files[RESULTS])
    how = rng.randrange(6)
    text = files[RESULTS].decode()
    if how == 0:
        text = json.dumps(tree)
    elif how == 1:
        text = json.dumps(dict(reversed(tree.items())), indent=1, ensure_ascii=False) + "\n"
    elif how == 2:
        spot = rng.choice(list(re.finditer(r": (\d+\.\d+)", text)))
        text = text[: spot.end()] + "0" + text[spot.end() :]
    elif how == 3:
        text = "\ufeff" + text
    elif how == 4:
        text = text + " " * rng.randrange(1, 9)
    else:
        spot = rng.choice(list(re.finditer(r'"[a-z]{3,}"', text)))
        text = (
            text[: spot.start() + 1]
            + f"\\u{ord(text[spot.start() + 1]):04x}"
            + text[spot.start() + 2 :]
        )
    files[RESULTS] = text.encode()
    return str(how)


@change("results")
def another_kind_of_value(files: Files, rng: Random) -> str:
    tree, branch, key = _inner(files, rng)
    value = branch[key]
    branch[key] = {
        int: lambda: float(value),
        float: lambda: str(value),
        str: lambda: None,
        bool: lambda: int(value),
        type(None): lambda: False,
    }[type(value)]()
    _dump(files, tree)
    return f"{key}: {value!r} becomes {branch[key]!r}"[:120]


@change("results")
def tolerances_widened(files: Files, rng: Random) -> str:
    tree = json.loads(files[RESULTS])
    tree["tolerances"]["searched"]["relative"] = 0.5
    capability = tree["characteristics"]["width"]["capability"]
    by = 1 + rng.uniform(0.001, 0.2)
    capability["Ppk"]["estimate"] *= by
    _dump(files, tree)
    return f"and Ppk times {by:.3f}"


# Files ---------------------------------------------------------------------------------------------

_ADDED = [
    "approval.html",
    "APPROVED.pdf",
    "results.json",
    "dossier.pdf",
    "index.htm",
    "README.txt",
    "results_final.json",
    "working_papers/readme.txt",
    "working_papers/a/b.html",
    "study/notebooks/1_plan.ipynb",
    "study/linestudy.py",
    "study/data/run2.csv",
    "study/data/.run.csv",
    "study/study.toml.bak",
    "study/STUDY.TOML",
    "desktop.ini",
    ".DS_Store",
    "autorun.inf",
    "dossier.PDF",
    "dossier.pdf.exe",
    "a b.txt",
    "ä.txt",
    "study/data/run.csv.gz",
    "run.csv",
    "INDEX.HTML",
    "workbook.xlsm",
    "style.css",
    "x/y/z.txt",
]


@change("files")
def one_more(files: Files, rng: Random) -> str:
    where = rng.choice(["data/", "data/", ""])
    name = where + rng.choice(_ADDED)
    if name in files:
        name += "2"
    files[name] = rng.choice([files[PAGE][:500], files[RESULTS], b"meets", b""])
    return name


@change("files")
def one_less(files: Files, rng: Random) -> str:
    name = rng.choice([n for n in files if n.startswith("data/") and "/study/" not in n] + [INFO])
    del files[name]
    return name


@change("files")
def one_for_another(files: Files, rng: Random) -> str:
    names = [PAGE, PDF, BOOK, RESULTS, VERSIONS]
    a, b = rng.sample(names, 2)
    files[a] = files[b]
    return f"{b} as {a}"


# Inputs --------------------------------------------------------------------------------------------


@change("inputs")
def settings(files: Files, rng: Random) -> str:
    text = files[TOML].decode()
    how, (old, new) = rng.choice(
        list(
            enumerate(
                [
                    ("upper = 6.35", f"upper = {rng.uniform(6.31, 6.4):.3f}"),
                    ("lower = 6.25", f"lower = {rng.uniform(6.2, 6.29):.3f}"),
                    ("nominal = 6.30", "nominal = 6.31"),
                    ("seed = 20260101", f"seed = {rng.randrange(10**6)}"),
                    ("confidence = 0.95", f"confidence = 0.{rng.randrange(50, 94)}"),
                    ("special = true", "special = false"),
                    ("resolution = 0.001", "resolution = 0.002"),
                    ('revision = "A"', f'revision = "{rng.randrange(99)}"'),
                    ("# or a named distribution", f"# {rng.random()}"),
                    ("line_rate = 200", f"line_rate = {rng.randrange(100, 199)}"),
                    ("size = 5, every = 5", "size = 5, every = 10"),
                    ("# [criteria]", f"[criteria]\ncapability_accept = {rng.uniform(1, 1.6):.2f}"),
                ]
            )
        )
    )
    assert old in text
    files[TOML] = text.replace(old, new, 1).encode()
    return f"kind {how}: {new}"


@change("inputs")
def readings(files: Files, rng: Random) -> str:
    name = rng.choice(["data/study/data/run.csv", "data/study/data/crossed.csv"])
    lines = files[name].decode().splitlines()
    how = rng.randrange(4)
    at = rng.randrange(1, len(lines))
    if how == 0:
        lines[at] = lines[at][:-1] + str((int(lines[at][-1]) + 1) % 10)
    elif how == 1:
        lines.pop(at)
    elif how == 2:
        other = 1 + at % (len(lines) - 1)
        lines[at], lines[other] = lines[other], lines[at]
    else:
        lines.append("")
    files[name] = ("\n".join(lines) + "\n").encode()
    return f"{name} kind {how} at {at}"


# The bag's own words -------------------------------------------------------------------------------


@change("bag")
def the_lock_of_versions(files: Files, rng: Random) -> str:
    lines = files[VERSIONS].decode().splitlines()
    at = rng.randrange(1, len(lines))
    how = rng.randrange(8)
    if how == 0:
        lines[at] = lines[at].split("==")[0] + "==0.0.1"
    elif how == 1:
        lines.pop(at)
    elif how == 2:
        lines.insert(at, lines[at])
    elif how == 3:
        lines.insert(at, "approved by the customer")
    elif how == 4:
        lines[0] = "# Python 2.7.18"
    elif how == 5:
        a, b = rng.sample(range(1, len(lines)), 2)
        lines[a], lines[b] = lines[b], lines[a]
    elif how == 6:
        lines[at] += " # meets"
    else:
        lines.append("zzz==1.0")
    files[VERSIONS] = ("\n".join(lines) + "\n").encode()
    return f"kind {how} at {at}"


@change("bag")
def its_facts(files: Files, rng: Random) -> str:
    lines = files[INFO].decode().splitlines()
    at = rng.choice([i for i, line in enumerate(lines) if not line.startswith("Payload-Oxum")])
    how = rng.randrange(5)
    if how == 0:
        lines[at] += " approved"
    elif how == 1:
        lines.insert(at, f"Contact-Name: {rng.random()}")
    elif how == 2:
        lines.pop(at)
    elif how == 3:
        lines.insert(at, lines[at])
    else:
        lines.reverse()
    files[INFO] = ("\n".join(lines) + "\n").encode()
    return f"kind {how} at {at}"


@change("bag")
def what_a_bag_is(files: Files, rng: Random) -> str:
    text = files["bagit.txt"]
    files["bagit.txt"] = rng.choice(
        [
            text + b"Approved: yes\n",
            text.replace(b"0.97", b"0.96"),
            text + b"\n",
            text.replace(b"UTF-8", b"utf-8"),
        ]
    )
    return repr(files["bagit.txt"][-40:])
