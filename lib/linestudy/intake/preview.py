"""What a file holds, as a person sees it: its columns, their first cells, and what each column might be."""

from __future__ import annotations

import ast
import functools
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.records.infer.column_kinds import ColumnKind, kinds

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
    "transpose",
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
    keys = tuple((key, value) for key, value, _ in table.said.keys if key in _WRITTEN)
    stamp = table.path.stat() if table.path.is_file() else None
    when = None if stamp is None else (stamp.st_mtime_ns, stamp.st_size)
    return _seen(table.path, when, rows, repr(keys))


@functools.lru_cache(maxsize=32)
def _seen(path: Path, _when: tuple[int, int] | None, rows: int, written: str) -> Preview:
    """Read a file once, however often the form shows it; the time of its last change tells whether it is still the same."""
    from linestudy.records.text_table import read_text_table
    from linestudy.study.model import Data

    data = Data(role="run", file=path.name, columns={"x": "x"}, **dict(ast.literal_eval(written)))
    text = read_text_table(path, data.model_copy(update={"columns": {}}))
    head = text.cells.head(rows).astype("string").fillna("")
    shown = tuple(tuple(str(cell) for cell in row) for row in head.to_numpy().tolist())
    return Preview(tuple(kinds(text)), shown)
