"""Digits and signs in a cell, as keyboards, gauges and book-keepers write them, as plain ones."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

#: Digits and signs as they are typed on keyboards of East Asia, beside the plain ones.
_FULL_WIDTH = str.maketrans(
    {0xFF10 + digit: str(digit) for digit in range(10)}
    | {
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
_WIDE_SIGN = re.compile("[\uff0b-\uff1a\u2212\u3000\u2019\u02bc]")


#: A sign by which a workbook's cell was marked as text.
_AS_TEXT = re.compile(r"^'(?=[-+]?[\d.,])")
#: "0,012-" as book-keeping writes it, "2.861*" as a gauge marks what lies beyond its limits.
_BEHIND = re.compile(r"^\s*(\d[\d.,]*)\s?(-|\*{1,3})\s*$")


def _before(found: re.Match[str]) -> str:
    return f"-{found[1]}" if found[2] == "-" else found[1]


def plain_signs(text: pd.Series) -> pd.Series:
    """Replace full-width digits, typographic or trailing minus signs and starred numbers by plain ones."""
    if text.str.contains(r"\d\s?(?:-|\*+)\s*$", regex=True, na=False).any():
        text = text.str.replace(_BEHIND, _before, regex=True)
    if text.str.startswith("'", na=False).any():
        text = text.str.replace(_AS_TEXT, "", regex=True)
    if not text.str.contains(_WIDE_SIGN, regex=True, na=False).any():
        return text
    return text.str.translate(_FULL_WIDTH).str.strip()
