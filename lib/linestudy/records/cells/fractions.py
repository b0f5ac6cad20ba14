"""Inches in fractions, 7/64 and 1-3/32, as decimal numbers.

A fraction is one of an inch where its cell bears the sign of inches, the column says inches, or sixteenths and finer parts
are among them: "1/2" in a column of its own may be the first of two trials. Common practice, no source.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

_FRACTION = re.compile(
    r"([-+]?)(?:(\d{1,3})(?:\s+|\s?-\s?))?(\d{1,3})\s?[/\u2044]\s?(2|4|8|16|32|64|128)\s*(\"|\u2033|''|in\.?|inch|)"
)
_FINE = 16


def inches_as_decimals(text: pd.Series, inches: bool = False) -> pd.Series:
    """Write fractions of an inch as decimal numbers, with their unit behind where they bear one.

    Parameters
    ----------
    text : pandas.Series of str
        A column.
    inches : bool
        Whether its name says so.

    Returns
    -------
    pandas.Series of str
        As it was where its fractions are none of an inch.
    """
    there = text.str.contains(r"\d\s?[/⁄]\s?\d", regex=True, na=False)
    if not there.any():
        return text
    found = {cell: _FRACTION.fullmatch(cell) for cell in text[there].unique().tolist()}
    if any(match is None or int(match[3]) >= int(match[4]) for match in found.values()):
        return text
    known = [match for match in found.values() if match is not None]
    signed = all(match[5] for match in known)
    if not (inches or signed or max(int(match[4]) for match in known) >= _FINE):
        return text
    return text.replace({match[0]: _decimal(match) for match in known})


def _decimal(match: re.Match[str]) -> str:
    # Parts of a power of two end: no digit is lost.
    number = int(match[2] or 0) + int(match[3]) / int(match[4])
    return f"{match[1]}{number!r}" + (' "' if match[5] else "")
