"""The page: self-contained, the same bytes for the same content, and no word of a file becomes markup."""

from __future__ import annotations

import base64
import re
from html.parser import HTMLParser
from pathlib import Path

from linestudy.dossier.content.elements import (
    Bullets,
    Document,
    Heading,
    Image,
    Section,
    Table,
    Text,
)
from linestudy.dossier.forms.page import _in_css, write_page

HOSTILE = "</p><script>alert(1)</script><img src=x onerror=y> & \" ' <!-- --> {{ 7*7 }}"


def page(words: str, folder: Path, svg: bytes = b"<svg/>") -> str:
    blocks = (
        Text(words),
        Heading(words, 1),
        Bullets(words, (words, words)),
        Table(words, (words,), ((words,),), (False,)),
        Image("one", words, question=words, answer=words),
    )
    document = Document(words, (), (Section(words, blocks),), {"one": lambda: None})
    out = folder / "index.html"
    write_page(document, {"one": svg}, out, words)
    return out.read_text(encoding="utf-8")


class Seen(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.words = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data: str) -> None:
        self.words += data


def seen(text: str) -> Seen:
    found = Seen()
    found.feed(text)
    return found


def test_words_stay_words(tmp_path: Path) -> None:
    hostile, plain = seen(page(HOSTILE, tmp_path)), seen(page("x", tmp_path))
    assert hostile.tags == plain.tags
    assert [name for name, _ in hostile.attributes] == [name for name, _ in plain.attributes]
    assert "<script>alert(1)</script>" in hostile.words
    assert "{{ 7*7 }}" in hostile.words
    assert "script" not in hostile.tags


def test_nothing_is_fetched_and_pictures_are_inside(tmp_path: Path) -> None:
    text = page("x", tmp_path, b"<svg>of this page</svg>")
    links = [value or "" for name, value in seen(text).attributes if name in ("src", "href")]
    assert all(link.startswith(("#", "data:image/svg+xml;base64,")) for link in links)
    (data,) = (link.partition(",")[2] for link in links if link.startswith("data:"))
    assert base64.b64decode(data) == b"<svg>of this page</svg>"
    assert not re.search(r"@import|url\(|<link|<script", text)


def test_the_same_content_is_the_same_bytes(tmp_path: Path) -> None:
    assert page("x", tmp_path) == page("x", tmp_path) != page("y", tmp_path)


def test_a_style_shows_signs_by_their_numbers() -> None:
    assert _in_css("Part 7-A, rev. B") == "Part 7\\00002dA, rev. B"
    for text in (HOSTILE, 'x"; } body { display: none', "\\\n</style>", "é端"):
        left = _in_css(text)
        assert re.fullmatch(r"(?:[A-Za-z0-9 .,:()/]|\\[0-9a-f]{6})*", left)
        back = re.sub(r"\\([0-9a-f]{6})", lambda m: chr(int(m[1], 16)), left)
        assert back == text
