"""A picture is the same bytes for the same content, and carries its text as text."""

from __future__ import annotations

import matplotlib as mpl
import pytest

from linestudy.results.picture import Picture, as_printed

SIZE = {"figsize": (2, 1.5), "layout": "constrained"}


def drawn(value: float = 1.0) -> Picture:
    picture = Picture(**SIZE)  # type: ignore[arg-type]
    axes = picture.add_subplot()
    axes.plot([0, 1], [0, value])
    axes.set_title("Width of the blade")
    picture.alt_text = 'Ppk "1.2" <at least>'
    return picture


def test_the_same_content_is_the_same_bytes_and_another_is_not() -> None:
    assert drawn().svg() == drawn().svg()
    assert drawn().png(50) == drawn().png(50)
    assert drawn(2.0).svg() != drawn().svg()
    # Written twice, also after another format, it does not move.
    picture = drawn()
    first = picture.svg()
    picture.png(50)
    assert picture.svg() == first


def test_lettering_stays_text_in_the_family_of_the_document_and_no_date_is_inside() -> None:
    svg = drawn().svg()
    assert b"Width of the blade" in svg
    assert b"Libertinus Serif" in svg
    assert b"STIXGeneral" not in svg
    assert b"<dc:date>" not in svg
    assert b"tEXtSoftware" not in drawn().png(50)


def test_alternative_text_cannot_leave_its_place() -> None:
    shown = drawn()._repr_html_()
    assert 'alt="Ppk &quot;1.2&quot; &lt;at least&gt;"' in shown
    assert shown.count("<") == 1


@pytest.mark.parametrize("key", ["lines.linewidth", "font.size"])
def test_a_reader_s_own_settings_do_not_reach_what_is_printed(key: str) -> None:
    usual = mpl.rcParamsDefault[key]
    with mpl.rc_context({key: 3 * usual}):
        with as_printed():
            assert mpl.rcParams[key] == usual
        assert mpl.rcParams[key] == 3 * usual
