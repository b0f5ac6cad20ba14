"""What the commands print: tables and lines for a terminal."""

from __future__ import annotations

import sys
import unicodedata
from typing import TYPE_CHECKING

from linestudy.results.tables import typeset

if TYPE_CHECKING:
    import pandas as pd


def text_table(table: pd.DataFrame) -> str:
    """Write a table for a terminal: columns side by side, each as wide as it needs, no index.

    Parameters
    ----------
    table : pandas.DataFrame

    Returns
    -------
    str
    """
    from linestudy.results.finding import cell_text

    rows = [[str(column) for column in table.columns]]
    for values in table.itertuples(index=False):
        rows.append([set_for_console(cell_text(value)) for value in values])
    widths = [max(_places(row[i]) for row in rows) for i in range(len(rows[0]))]
    rows.insert(1, ["-" * width for width in widths])
    return "\n".join(
        "  ".join(
            cell + " " * (width - _places(cell)) for cell, width in zip(row, widths, strict=True)
        ).rstrip()
        for row in rows
    )


def _places(text: str) -> int:
    """Count the columns a text takes on a terminal: two for an East Asian sign, none for an accent."""
    return sum(
        0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1
        for sign in text
    )


def with_something(table: pd.DataFrame) -> pd.DataFrame:
    """Leave out the columns that are blank in every row.

    Parameters
    ----------
    table : pandas.DataFrame
        Of text.

    Returns
    -------
    pandas.DataFrame
    """
    return table.loc[:, [bool((table[name] != "").any()) for name in table]]


def set_for_console(text: str) -> str:
    """Set numbers as the document does; a console that has no minus sign keeps the hyphen.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
    """
    encoding = getattr(sys.stdout, "encoding", None) or "utf-8"
    return typeset(text, space=" ", minus="−" if encoding.lower().startswith("utf") else "-")
