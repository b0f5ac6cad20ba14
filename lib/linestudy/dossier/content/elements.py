"""What a document is made of, whatever it is printed on."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from linestudy.results.finding import cell_text
from linestudy.results.tables import listed

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
    """A table of text cells; `numeric` columns are set flush right.

    Attributes
    ----------
    caption : str
    head : tuple of str
    rows : tuple of tuple of str
    numeric : tuple of bool
    below : tuple of str
        For each row a line across the table under it; empty where there is none.
    small : bool
        Set in the smallest size, where many columns must fit side by side.
    wide : tuple of int
        Columns that share the width left over, one named twice with a double share; the others take what they need.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: tuple[bool, ...]
    below: tuple[str, ...] = ()
    small: bool = False
    wide: tuple[int, ...] = ()


@dataclass(frozen=True)
class Image:
    """A picture by name, drawn at its final size: its question, its answer, its alternative text.

    Attributes
    ----------
    name : str
    alt : str
    width : int
        100 across the text, 50 for one of two side by side.
    question, answer : str
        Its title and what is beneath; a picture that carries its own title has neither.
    """

    name: str
    alt: str
    width: int = 100
    question: str = ""
    answer: str = ""


@dataclass(frozen=True)
class Heading:
    """A heading inside a section."""

    text: str
    level: int


@dataclass(frozen=True)
class Fields:
    """Facts with their names side by side; where nothing is known, a blank line to write on."""

    items: tuple[tuple[str, str], ...]
    columns: int = 3


@dataclass(frozen=True)
class Signatures:
    """Who signs, each with a blank line."""

    names: tuple[str, ...]


@dataclass(frozen=True)
class Contents:
    """The list of sections."""


Block = Text | Bullets | Table | Image | Heading | Fields | Signatures | Contents


@dataclass(frozen=True)
class Section:
    """A part of the document with a heading of its own.

    Attributes
    ----------
    heading : str
    blocks : tuple of Block
    fresh : bool
        Whether it begins a page.
    annex : bool
        Whether it belongs to the annex.
    """

    heading: str
    blocks: tuple[Block, ...]
    fresh: bool = True
    annex: bool = False


@dataclass(frozen=True)
class Document:
    """The whole submission.

    Attributes
    ----------
    title : str
    facts : tuple of (str, str)
        What is studied: part, revision, supplier, customer, date, as far as known.
    sections : tuple of Section
    pictures : dict of str to callable
        What draws each picture, by name; it returns a figure, or None.
    names : frozenset of str
        What people gave and the document shows as given.
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...]
    pictures: dict[str, Callable[[], Any]]
    names: frozenset[str] = frozenset()

    def without(self, names: set[str]) -> Document:
        """Return the same document without pictures that turned out to draw nothing."""
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

    def take(
        self,
        name: str,
        draw: Callable[[], Any],
        alt: str,
        width: int = 100,
        *,
        question: str = "",
        answer: str = "",
    ) -> list[Block]:
        """Keep what draws a picture; where it turns out to draw nothing its block is left out."""
        plain = "".join(c if c.isascii() and c.isalnum() else "_" for c in name[:60])
        key = f"{len(self.pictures) + 1:02d}_{plain}"
        self.pictures[key] = draw
        return [Image(key, alt or question, width, question, answer)]


def from_frame(caption: str, frame: pd.DataFrame) -> Table:
    """Turn a finding's table into text cells.

    Parameters
    ----------
    caption : str
    frame : pandas.DataFrame

    Returns
    -------
    Table
    """
    import pandas as pd

    cells = {
        str(name): [_cell(str(name), value) for value in frame.iloc[:, at]]
        for at, name in enumerate(frame.columns)
    }
    for name, texts in [*cells.items()][1:]:
        # What is not given of any row is said once.
        if texts and len(set(texts)) == 1 and texts[0].startswith("not given: "):
            caption += f" ({name} {texts[0]})"
            frame, cells = frame.drop(columns=name), {k: v for k, v in cells.items() if k != name}
    head: list[str] = []
    columns: list[list[str]] = []
    numeric: list[bool] = []
    for at, (name, texts) in enumerate(cells.items()):
        numbers = pd.api.types.is_numeric_dtype(frame.iloc[:, at]) or _are_numbers(texts)
        split = [_INTERVAL.fullmatch(text) for text in texts]
        if (
            at
            and any(split)
            and all(m or not t or _are_numbers([t]) for m, t in zip(split, texts, strict=True))
        ):
            head += [name, "interval"]
            columns.append([m[1] if m else t for m, t in zip(split, texts, strict=True)])
            columns.append([m[2] if m else "" for m in split])
            numeric += [True, False]
        else:
            head.append(name)
            columns.append(texts)
            numeric.append(bool(numbers) and at > 0)
    rows = tuple(zip(*columns, strict=True))
    return Table(caption, tuple(head), rows, tuple(numeric), small=len(head) > _MANY_COLUMNS)


def in_parts(caption: str, frame: pd.DataFrame) -> list[Table]:
    """Lay out a finding's table as one, or as two where rows of two kinds share no filled column.

    Parameters
    ----------
    caption : str
    frame : pandas.DataFrame
        The first column says what a row is about.

    Returns
    -------
    list of Table
        The caption of the second names its columns.
    """
    filled = (frame.notna() & (frame.astype(str) != "")).to_numpy()
    kinds: list[tuple[set[int], list[int]]] = []
    for at, row in enumerate(filled):
        own = {column for column in range(1, len(row)) if row[column]}
        like = [kind for kind in kinds if kind[0] & own]
        if len(like) > 1 or not own:
            return [from_frame(caption, frame)]
        if like:
            like[0][0].update(own)
            like[0][1].append(at)
        else:
            kinds.append((own, [at]))
    if len(kinds) != 2:
        return [from_frame(caption, frame)]
    (own, rows), (different, others) = kinds
    named = listed(re.sub(r" \([^()]*\)$", "", str(frame.columns[at])) for at in sorted(different))
    return [
        from_frame(caption, frame.iloc[rows, [0, *sorted(own)]]),
        from_frame(f"{caption} ({named})", frame.iloc[others, [0, *sorted(different)]]),
    ]


def _cell(name: str, value: Any) -> str:
    """Write a cell of a finding's table; percentages get one decimal, small ones two digits."""
    if isinstance(value, float) and math.isfinite(value) and name.endswith("(%)"):
        return f"{value:.1f}" if abs(value) >= 1 or value == 0 else f"{value:.2g}"
    return cell_text(value).replace("less than ", "< ")


def with_something(frame: pd.DataFrame) -> pd.DataFrame:
    """Drop the columns of a table that are blank in every row.

    Parameters
    ----------
    frame : pandas.DataFrame
        Of text and numbers.

    Returns
    -------
    pandas.DataFrame
    """
    return frame.loc[:, [bool((frame[name].astype(str) != "").any()) for name in frame]]


#: A table with more columns is set in the smallest size.
_MANY_COLUMNS = 7
#: A number with its interval in brackets, as cells show it.
_INTERVAL = re.compile(r"([-−<]?\s?[\d.,]+) \(([^()]*)\)")
_BARE = re.compile(r"[-−+<>]?\s?[\d.,]+(?: ?%)?|–")


def _are_numbers(texts: list[str]) -> bool:
    """Check whether a column of text holds only numbers and blanks."""
    filled = [text for text in texts if text]
    return bool(filled) and all(_BARE.fullmatch(text) for text in filled)
