"""Pictures of a document: drawn alike whatever somebody's settings ask for, and none keeps the document back."""

from __future__ import annotations

import matplotlib as mpl
import pytest

from linestudy.dossier.content.drawing_pictures import drawn
from linestudy.dossier.content.elements import Document, Image, Section, Text
from linestudy.figures.style import picture
from linestudy.results import CannotJudge
from linestudy.results.picture import Picture


def a_line() -> Picture:
    figure, axes = picture("Does it rise?", height=1.0)
    axes.plot([0, 1], [0, 1])
    return figure


def nothing() -> None:
    return None


def unjudged() -> Picture:
    raise CannotJudge("Only one part was measured.")


def broken() -> Picture:
    raise ZeroDivisionError("division by zero")


def document(**pictures: object) -> Document:
    blocks = (Text("Words."), *(Image(name, "alt") for name in pictures))
    return Document("t", (), (Section("S", blocks),), pictures)  # type: ignore[arg-type]


def test_what_draws_nothing_is_left_out_of_the_document() -> None:
    found, pictures, others = drawn(
        document(line=a_line, none=nothing, few=unjudged), lambda: "beside"
    )
    assert list(pictures) == ["line"]
    assert pictures["line"].startswith(b"<?xml")
    assert others == ["beside"]
    left = [block.name for block in found.sections[0].blocks if isinstance(block, Image)]
    assert left == ["line"]
    assert found.sections[0].blocks[0] == Text("Words.")


def test_a_picture_that_cannot_be_drawn_says_so_in_its_place(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("LINESTUDY_STRICT", "0")
    _, pictures, _ = drawn(document(line=broken))
    assert b"This picture could not be drawn" in pictures["line"]
    assert b"Reason: " in pictures["line"]
    monkeypatch.setenv("LINESTUDY_STRICT", "1")
    with pytest.raises(ZeroDivisionError):
        drawn(document(line=broken))


def test_somebodys_own_style_of_drawing_changes_no_picture() -> None:
    """A settings file of Matplotlib in the user's folder is read by every process that draws."""
    plain = drawn(document(line=a_line))[1]
    wild = {"font.size": 20, "axes.facecolor": "red", "lines.linewidth": 6, "text.usetex": True}
    with mpl.rc_context(wild):
        assert drawn(document(line=a_line))[1] == plain
