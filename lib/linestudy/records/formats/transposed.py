"""A table whose records lie across: each column of the file is a row of the table, and its first column holds the names."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linestudy.records.headers import distinct_names
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data


def transposed_cells(rows: list[tuple[int, list[str]]], data: Data) -> tuple[pd.DataFrame, int]:
    """Turn the rows of a file about, and give the cells below the header that its first column is.

    Parameters
    ----------
    rows : list of (int, list of str)
        Line of the file, and its cells.
    data : linestudy.study.model.Data
        Its ``header_row`` is the line of the first name.

    Returns
    -------
    cells : pandas.DataFrame of str
        Its index is the column of the file that each record stands in, counted from 1.
    header : int
        Line of the first name.

    Raises
    ------
    InputError
        There is no table of at least two names.
    """
    import pandas as pd

    first = data.header_row or 1
    filled = [(line, [cell.strip() for cell in cells]) for line, cells in rows if line >= first]
    widths = [sum(1 for cell in cells if cell) for _, cells in filled]
    # A title or a remark fills a cell or two, and is no row of the table.
    least = max(2, max(widths, default=0) / 2)
    kept = [each for each, width in zip(filled, widths, strict=True) if width >= least]
    if len(kept) < 2:
        raise InputError(data.file, "has no table to be turned about", "take transpose out")
    names = distinct_names([cells[0] for _, cells in kept], data, kept[0][0])
    most = max(len(cells) for _, cells in kept)
    body = [[cells[at] if at < len(cells) else "" for _, cells in kept] for at in range(1, most)]
    table = pd.DataFrame(body, columns=names, dtype=str)
    table.index = pd.RangeIndex(2, 2 + len(table))
    return table, kept[0][0]
