"""Tables on paper stay within the page, whatever people call their parts."""

from __future__ import annotations

from linestudy.dossier.content.elements import Document as Whole
from linestudy.dossier.content.elements import Heading, Section, Table, Text
from linestudy.dossier.forms.pdf import _cut, _lettered, as_data, sections_as_data

LONG = "Breite der Verriegelungsnase an der Einführöffnung, gemessen in der Schnittebene B-B"
HEAD = ("characteristic", "gauge", "sample", "frequency", "chart and limits", "reaction")


def _wide(name: str, gauge: str) -> list[int]:
    row = (name, gauge, "8 parts", "every 94 min", "X̄ and S, n = 5: 17.971 to 18.028 mm", "")
    return as_data(Table("", HEAD, (row,), (False,) * 6, wide=(5,)))["wide"]


def test_short_names_take_what_they_need() -> None:
    assert _wide("Blade width", "In-die camera") == [5]


def test_long_names_share_the_width_with_the_others() -> None:
    shares = _wide(LONG, "Koordinatenmessgerät mit Drehtisch im klimatisierten Messraum")
    assert {0, 1, 4, 5} == set(shares)
    # The column that is empty still holds its own head; no other takes more than a third of all.
    assert shares.count(5) >= 2
    assert max(shares.count(at) for at in set(shares)) <= len(shares) / 3 + 1


def test_a_sign_that_is_named_by_its_number_takes_its_room() -> None:
    # Sixteen signs, each of which the document writes as [U+7AEF].
    assert _wide("端" * 16, "Kamera") != [5]
    assert _wide("a" * 16, "Kamera") == [5]


def test_in_pictures_such_a_sign_is_a_box() -> None:
    assert _lettered("<text>端子 Höhe</text>") == "<text>□□ Höhe</text>"


def test_headings_fit_on_a_line_of_the_contents() -> None:
    assert _cut("3 Blade width") == "3 Blade width"
    assert _cut("x" * 60) == "x" * 34 + "…"
    assert _cut("端" * 16) == "端端端端…"


def test_what_introduces_a_heading_stays_with_it() -> None:
    section = Section("Sources", (Text("What varies."), Heading("Width", 2), Text("Nothing.")))
    (shown,) = sections_as_data(Whole("t", (), (section,), {}), {})
    assert [block.get("sticky", False) for block in shown["blocks"]] == [True, False, False]
