"""What a document is made of, whatever it is printed on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from linestudy.results.finding import cell_text

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Text:
    """A paragraph."""

    text: str
    strong: bool = False


@dataclass(frozen=True)
class Bullets:
    """A list, with the words that introduce it."""

    lead: str
    items: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """A table of text cells; `numeric` columns are set flush right."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: tuple[bool, ...]


@dataclass(frozen=True)
class Image:
    """A picture by name, with its alternative text; `width` in percent of the text width."""

    name: str
    alt: str
    width: int = 100


@dataclass(frozen=True)
class Heading:
    """A heading inside a section."""

    text: str
    level: int


Block = Text | Bullets | Table | Image | Heading


@dataclass(frozen=True)
class Section:
    """A part of the document with a heading of its own; `fresh` begins a page."""

    heading: str
    blocks: tuple[Block, ...]
    fresh: bool = True


@dataclass(frozen=True)
class Document:
    """The whole submission.

    Attributes
    ----------
    title : str
    facts : tuple of (str, str)
        Cover lines.
    claim : str
        What is claimed, in one paragraph.
    release : tuple of str
        Who signs; left blank.
    sections : tuple of Section
    pictures : dict of str to callable
        What draws each picture, by name; it returns a figure, or None.
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    claim: str
    release: tuple[str, ...]
    sections: tuple[Section, ...]
    pictures: dict[str, Callable[[], Any]]

    def without(self, names: set[str]) -> Document:
        """The same document without pictures that turned out to draw nothing."""
        sections = tuple(
            replace(
                section,
                blocks=tuple(
                    b for b in section.blocks if not (isinstance(b, Image) and b.name in names)
                ),
            )
            for section in self.sections
        )
        return replace(self, sections=sections)


class Album:
    """Gathers pictures under names while the text is written; they are drawn later, side by side."""

    def __init__(self) -> None:
        self.pictures: dict[str, Callable[[], Any]] = {}

    def take(self, name: str, draw: Callable[[], Any], alt: str, width: int = 100) -> list[Block]:
        """Keep what draws a picture; where it turns out to draw nothing its block is left out."""
        key = f"{len(self.pictures) + 1:02d}_{''.join(c if c.isalnum() else '_' for c in name)}"
        self.pictures[key] = draw
        return [Image(key, alt, width)]


def from_frame(caption: str, frame: pd.DataFrame) -> Table:
    """A finding's table as text cells.

    Parameters
    ----------
    caption : str
    frame : pandas.DataFrame

    Returns
    -------
    Table
    """
    import pandas as pd

    numeric = tuple(pd.api.types.is_numeric_dtype(frame[name]) for name in frame)
    rows = tuple(
        tuple(cell_text(value) for value in row) for row in frame.itertuples(index=False, name=None)
    )
    return Table(caption, tuple(str(name) for name in frame), rows, numeric)
