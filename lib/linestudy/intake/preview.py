"""What a file holds, as a person sees it: its columns, their first cells, and what each column might be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from linestudy.records.infer.columns import ColumnKind, kinds

if TYPE_CHECKING:
    from linestudy.intake.draft import Table

#: Keys of a description that say how the file is written and not what is in it.
_WRITTEN = (
    "sheet",
    "block",
    "blocks",
    "cells",
    "header_row",
    "header_rows",
    "delimiter",
    "encoding",
)


@dataclass(frozen=True)
class Preview:
    """The columns of a table and its first rows.

    Attributes
    ----------
    kinds : tuple of ColumnKind
        In the order of the file.
    rows : tuple of tuple of str
        Its first rows, as written.
    """

    kinds: tuple[ColumnKind, ...]
    rows: tuple[tuple[str, ...], ...]

    def cells(self, column: str) -> list[str]:
        """Give the first cells of a column."""
        at = next(i for i, kind in enumerate(self.kinds) if kind.name == column)
        return [row[at] for row in self.rows]


def preview(table: Table, rows: int = 4) -> Preview:
    """Show what a table of a file holds.

    Parameters
    ----------
    table : Table
    rows : int
        How many of its first rows.

    Returns
    -------
    Preview

    Raises
    ------
    InputError
        The file cannot be read.
    """
    from linestudy.records.text_table import read_text_table
    from linestudy.study.model import Data

    keys = {key: value for key, value, _ in table.said.keys if key in _WRITTEN}
    data = Data(role="run", file=table.path.name, columns={"x": "x"}, **keys)
    text = read_text_table(table.path, data.model_copy(update={"columns": {}}))
    head = text.cells.head(rows).astype("string").fillna("")
    shown = tuple(tuple(str(cell) for cell in row) for row in head.to_numpy().tolist())
    return Preview(tuple(kinds(text)), shown)
