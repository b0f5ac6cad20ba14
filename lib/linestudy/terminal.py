"""What the commands print: tables and lines for a terminal."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from linestudy.results.rounding import typeset

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
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    rows.insert(1, ["-" * width for width in widths])
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    )


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
