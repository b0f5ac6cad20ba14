"""Text of a study as document, page and workbook may show it: in one direction, with places to break, of bounded length."""

from __future__ import annotations

from linestudy.results.tables import typeset

#: Marks that turn the direction of text; shown text must not reorder its neighbours.
_DIRECTION = {*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F, 0x061C}


def printable(text: str, limit: int = 2000) -> str:
    """Make text from a study safe to show in the document.

    Control characters and direction marks become visible spaces, very long words get
    places to break, very long texts end in an ellipsis.

    Parameters
    ----------
    text : str
    limit : int
        Most characters.

    Returns
    -------
    str

    Examples
    --------
    >>> printable("a\\x00b")
    'a b'
    """
    kept = "".join(
        " " if ord(c) in _DIRECTION or not (c.isprintable() or c == "\u200b") else c
        for c in str(text)
    )
    if len(kept) > limit:
        kept = kept[: limit - 1] + "…"
    kept = typeset(kept)
    return " ".join(_breakable(word) for word in kept.split(" ")).strip() or "–"


def _breakable(word: str, longest: int = 40) -> str:
    if len(word) <= longest:
        return word
    pieces = (word[i : i + longest] for i in range(0, len(word), longest))
    return "\u200b".join(pieces)


def shortened(text: str, limit: int = 70) -> str:
    """Shorten text to one line of printable text."""
    return printable(" ".join(str(text).split()), limit)
