"""Tables on paper stay within the page, whatever people call their parts."""

from __future__ import annotations

from linestudy.dossier.content.blocks import Table
from linestudy.dossier.forms.pdf import as_data

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
