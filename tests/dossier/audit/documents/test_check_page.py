"""The page against the one written anew: every byte, and pictures of what this kit draws alone."""

from __future__ import annotations

import base64
from pathlib import Path

import pytest

from linestudy.dossier.audit.documents.check_page import (
    alike,
    check_page,
    count_pictures,
    differing_pictures,
    images_of,
    short,
    strange,
)
from linestudy.dossier.audit.documents.edges import Edges
from linestudy.dossier.content.drawing_pictures import drawn
from linestudy.dossier.content.elements import Document, Image, Section, Text
from linestudy.dossier.forms.page import write_page
from linestudy.figures.style import picture
from linestudy.results.picture import Picture


def a_line() -> Picture:
    figure, axes = picture("Does it rise?", height=1.0)
    axes.plot([0, 1], [0, 1], marker="o")
    axes.text(0.2, 0.5, "limit < 6.2 & more")
    return figure


DOCUMENT = Document(
    "Title",
    (),
    (Section("One", (Text("Ppk 1.33 of 125 parts."), Image("line", "alt"))),),
    {"line": a_line},
)


@pytest.fixture(scope="module")
def svg() -> bytes:
    return drawn(DOCUMENT)[1]["line"]


@pytest.fixture
def page(svg: bytes, tmp_path: Path) -> Path:
    write_page(DOCUMENT, {"line": svg}, tmp_path / "index.html", "foot")
    return tmp_path / "index.html"


def lines(page: Path, edges: Edges | None = None) -> tuple[str, ...]:
    return check_page(DOCUMENT, "foot", page, edges or Edges([])).lines


def test_an_untouched_page_has_nothing_to_tell(page: Path, svg: bytes) -> None:
    found = check_page(DOCUMENT, "foot", page, Edges([]))
    assert (found.lines, found.edges, found.pictures) == ((), (), {"line": svg})
    assert images_of(DOCUMENT) == ["line"]
    assert count_pictures(page) == 1
    page.unlink()
    assert lines(page) == ()
    assert count_pictures(page) == 0


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("Ppk 1.33", "Ppk 1.34", "“Ppk 1.34 of 125 parts.”"),
        ("125", "\u0661\u0662\u0665", "parts"),
        ("</main>", "<script>1</script></main>", "script"),
        ("margin: 0 auto;", "margin: 0 auto; display: none;", "display: none"),
        ("<main>", "<main >", "<main >"),
        ("</html>", "</html><!-- x -->", "<!-- x -->"),
        ("</html>", "</html>\n", ""),
    ],
)
def test_any_other_byte_is_named(page: Path, old: str, new: str, said: str) -> None:
    text = page.read_text(encoding="utf-8")
    assert old in text
    page.write_text(text.replace(old, new, 1), encoding="utf-8")
    told = lines(page)
    assert told
    assert said in "\n".join(told)


def test_a_digit_on_an_edge_accuses_nobody(page: Path) -> None:
    text = page.read_text(encoding="utf-8").replace("Ppk 1.33", "Ppk 1.34")
    page.write_text(text, encoding="utf-8")
    found = check_page(DOCUMENT, "foot", page, Edges([(1.33499999999, 1.33500000001)]))
    assert found.lines == ()
    assert "Ppk 1.34" in found.edges[0]


def test_a_picture_more_or_less_or_written_otherwise_is_named(page: Path, svg: bytes) -> None:
    text = page.read_text(encoding="utf-8")
    data = base64.b64encode(svg).decode()
    image = f'src="data:image/svg+xml;base64,{data}"'
    assert text.count(image) == 1
    page.write_text(text.replace(image, 'src="x.svg"'), encoding="utf-8")
    assert any("shows 0 pictures, written anew 1" in line for line in lines(page))
    page.write_text(text.replace(data, data[:-8]), encoding="utf-8")
    assert any("picture line is not one of this kit" in line for line in lines(page))
    page.write_bytes(b"\xff\xfe" + page.read_bytes())
    assert lines(page) == ("holds bytes that are no text",)


def test_what_this_kit_draws_is_not_strange(svg: bytes) -> None:
    assert strange(svg) is None


@pytest.mark.parametrize(
    ("put", "said"),
    [
        ("<script>1</script>", "the element script"),
        ('<rect onload="x"/>', "the attribute onload"),
        ("<rect onload=x />", "the attribute onload"),
        ('<use xlink:href="https://x.example/a.svg"/>', "an address"),
        ('<image xlink:href=" data:image/svg+xml;base64,x"/>', "an address"),
        ('<rect style="fill: url(https://x.example)"/>', "a style that fetches"),
        ("<style>*{display:none}</style>", "rules of style"),
        ("<foreignObject>x</foreignObject>", "the element foreignObject"),
        ("<![CDATA[x]]>", "the element !"),
        ("<text>&x;</text>", "a sign that stands for another"),
        ("words beside", "the words"),
        ('<g id="a>b" onload="x"/>', "the words"),
        ('<?xml-stylesheet href="x"?>', "the attribute href"),
    ],
)
def test_what_no_picture_of_this_kit_holds(svg: bytes, put: str, said: str) -> None:
    assert said in str(strange(svg.replace(b"</svg>", put.encode() + b"</svg>")))


def test_no_text_and_too_much_of_it_are_strange() -> None:
    assert strange(b"\xff") == "it is no text"
    assert strange(b" " * 30_000_001) == "it is too large"


def test_pictures_are_alike_within_a_fiftieth_of_a_point() -> None:
    base = b'<svg><use x="10.00" y="5" xlink:href="#a"/><text x="1">6.2</text></svg>'
    for new, same in (
        (b"10.02", True),
        (b"9.98", True),
        (b"10.021", False),
        (b"10.00e1", False),
    ):
        assert alike(base, base.replace(b"10.00", new)) is same
    assert alike(base, base.replace(b'href="#a"', b'href="#b"'))
    # What is read is the same to the letter, however near the number.
    assert not alike(base, base.replace(b"6.2", b"6.21"))
    assert not alike(base, base.replace(b'x="1"', b'y="1"'))
    told = differing_pictures({"a": base, "b": base}, {"a": base})
    assert told == ["picture b looks otherwise than drawn anew"]


def test_a_piece_is_shown_on_one_line() -> None:
    assert short("a\n b") == "“a b”"
    assert short("") == "nothing"
    assert short("\n") == "'\\n'"
    assert len(short("x" * 500)) == 160
