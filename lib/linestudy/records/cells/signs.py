"""Digits and signs in a cell, as keyboards, gauges, spreadsheets and book-keepers write them, as plain ones."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

#: Noughts of East Asia's keyboards, of Arabic, Persian, Devanagari, Bengali, Gujarati, Tamil, Thai, Lao and Burmese; nine digits follow each.
_NOUGHTS = (0xFF10, 0x0660, 0x06F0, 0x0966, 0x09E6, 0x0AE6, 0x0BE6, 0x0E50, 0x0ED0, 0x1040)
#: Digits and signs as they are typed on keyboards of other scripts, beside the plain ones.
_OTHER_SIGNS = str.maketrans(
    {start + digit: str(digit) for start in _NOUGHTS for digit in range(10)}
    | {
        0x066B: ".",
        0x066C: "",
        0xFF0E: ".",
        0xFF0C: ",",
        0xFF0B: "+",
        0xFF0D: "-",
        0x2212: "-",
        0xFF1A: ":",
        0xFF0F: "/",
        0x3000: " ",
        0x2019: "'",
        0x02BC: "'",
    }
)
_OTHER_SIGN = re.compile(
    "[\uff0b-\uff1a\u2212\u3000\u2019\u02bc\u066b\u066c"
    + "".join(f"{chr(start)}-{chr(start + 9)}" for start in _NOUGHTS)
    + "]"
)


#: A sign by which a workbook's cell was marked as text.
_AS_TEXT = re.compile(r"^'(?=[-+]?[\d.,])")
#: "0,012-" and "0,012+" as book-keeping writes them, "2.861*" as a gauge marks what lies beyond its limits.
_BEHIND = re.compile(r"^\s*(\d[\d.,]*)\s?([-+]|\*{1,3})\s*$")
#: A dash before a number, as spreadsheets make one of a minus sign.
_DASH = re.compile(r"^\s*[\u2010-\u2013\ufe63]\s?(?=[.,]?\d)")
#: A point at half height between digits, and the power of ten of a Fortran program: 2·801, 2.801D+00.
_RAISED_POINT = re.compile(r"(?<=\d)[\u00b7\u2027\u22c5](?=\d)")
_POWER = re.compile(r"(?<=\d)[dD](?=[-+]\d{1,3}\s*$)")
#: Any of these in a column of cells that are joined by line feeds: one look at the whole tells that no cell needs one of its own.
_ANY_SIGN = re.compile(
    r"(?m)\d\s?(?:[-+]|\*+)\s*$|^'|^\s*[\u2010-\u2013\ufe63]|[\u00b7\u2027\u22c5]|\d[dD][-+]\d|"
    + _OTHER_SIGN.pattern
)
#: Cells that are joined for that at most, to hold no long column in memory twice.
_MOST_JOINED = 50_000
#: Marks that nobody sees: directions of writing, blanks without width, byte-order marks in the middle of a text.
_UNSEEN = re.compile("[\u200b\u200e\u200f\u202a-\u202e\u2060\u2066-\u2069\ufeff]")
#: A number in quotes behind a sign of equality, by which a spreadsheet is made to keep it as text: ="0012".
_AS_FORMULA = re.compile(r'(?m)(^|[;,\t|])=("[^"\n]*")(?=[;,\t|]|$)')
_AS_QUOTED_FORMULA = re.compile(r'(?m)(^|[;,\t|])"=""([^"\n]*)"""(?=[;,\t|]|$)')


def _before(found: re.Match[str]) -> str:
    return f"-{found[1]}" if found[2] == "-" else found[1]


def plain_signs(text: pd.Series) -> pd.Series:
    """Write digits and signs of other keyboards, all minus signs, and starred numbers as plain ones."""
    if len(text) <= _MOST_JOINED and not _ANY_SIGN.search("\n".join(text.dropna().tolist())):
        return text
    if text.str.contains(r"\d\s?(?:[-+]|\*+)\s*$", regex=True, na=False).any():
        text = text.str.replace(_BEHIND, _before, regex=True)
    if text.str.startswith("'", na=False).any():
        text = text.str.replace(_AS_TEXT, "", regex=True)
    for rule, sign in ((_DASH, "-"), (_RAISED_POINT, "."), (_POWER, "e")):
        if text.str.contains(rule, regex=True, na=False).any():
            text = text.str.replace(rule, sign, regex=True)
    if not text.str.contains(_OTHER_SIGN, regex=True, na=False).any():
        return text
    return text.str.translate(_OTHER_SIGNS).str.strip()


def without_unseen(text: str) -> str:
    """Take out of a text the marks that nobody sees, which would make a number a word.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
    """
    return text if text.isascii() else _UNSEEN.sub("", text)


def without_formulas(text: str) -> str:
    """Take numbers and words out of the formulas by which an export keeps a spreadsheet from changing them: ="0012".

    Parameters
    ----------
    text : str
        The whole of a delimited text.

    Returns
    -------
    str
    """
    if '="' not in text:
        return text
    # Neighbours share the delimiter between them, which each match looks at and does not take.
    text = _AS_QUOTED_FORMULA.sub(r'\1"\2"', text)
    return _AS_FORMULA.sub(r"\1\2", text)
