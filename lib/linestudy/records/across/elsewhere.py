"""Readings of a file outside the part of it that is read: other sheets, other blocks, rows beyond a range of cells.

Whoever names a sheet, a range of cells, a block or the row of the header chooses what is read. What the file holds besides is
looked through for the columns that study.toml names. Two grounds are kept separate because they weigh differently.

- *Rows of the same table*: the rows that follow the last row read, or come before the first, and have readings in the same
  columns. A person left them out, as by a choice of rows.
- *Another table with the same columns*: another sheet, another block, rows further down, with numbers that lie where the
  readings lie. It may be another lane, another day or a first attempt, and what is not read there is not judged. Where the
  numbers only lie near, or the sheet read bears the name of the characteristic or of the part and the other does not, it may as
  well be another dimension or another part: reported, and nothing is asked for. A table that holds the very numbers that are read is none.

Silent where the other table names its columns otherwise, of a table that is turned about, and where a study reads it by another
[[data]] table. It misleads where another dimension of the same size and spread stands in a sheet of the same columns.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from linestudy.records.across.unread import UNREAD_NUMBERS, UNREAD_STREAM, Noticed, beside
from linestudy.records.conversions import to_numbers
from linestudy.records.exclusions import CHOSEN
from linestudy.records.headers import (
    columns_of_values,
    named_columns,
    names_within,
    one_line,
    stacked,
)
from linestudy.records.stream_names import differ_by_stream_only
from linestudy.results import InputError, counted

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from linestudy.study.load import Study
    from linestudy.study.model import Data

#: A sheet, or the text itself, by its name: number of each line and its cells.
Page = tuple[str, list[tuple[int, list[str]]]]
#: Fewest readings of another table that are reported, and share of equal numbers from which it is the same one.
_FEW = 20


@dataclass(frozen=True)
class Elsewhere:
    """Rows with readings that are not read.

    Attributes
    ----------
    sheet, title : str
        Sheet that contains them (empty in a text), and the title of their block.
    cells : pandas.DataFrame of str
        Of the columns that study.toml names; its index is the line in the file.
    own : bool
        Whether the sheet is the one that is read.
    same_table : bool
        Whether they follow on, or come before, the rows that are read.
    """

    sheet: str
    title: str
    cells: pd.DataFrame
    own: bool
    same_table: bool

    @property
    def where(self) -> str:
        """What they are called in a sentence, with its verb."""
        if self.title:
            return f'block "{self.title}" holds'
        if self.own:
            return f"rows {self.cells.index[0]:,} to {self.cells.index[-1]:,} hold"
        return f'sheet "{self.sheet}" holds'


def chosen_part(data: Data) -> bool:
    """Check whether study.toml chooses a part of the file.

    Parameters
    ----------
    data : linestudy.study.model.Data

    Returns
    -------
    bool
        False of what is turned about, and where all blocks are read.
    """
    if data.transpose or data.blocks is not None:
        return False
    return any(one is not None for one in (data.sheet, data.cells, data.block, data.header_row))


def rows_elsewhere(pages: list[Page], data: Data, sheet: str, read: range) -> list[Elsewhere]:
    """Find rows with readings outside the part of a file that is read.

    Parameters
    ----------
    pages : list of Page
        The whole file.
    data : linestudy.study.model.Data
    sheet : str
        Name of the page that is read.
    read : range
        Its lines that are read, from the header on.

    Returns
    -------
    list of Elsewhere
    """
    found = []
    for name, rows in pages:
        for title, names, head, body in _tables(rows, data):
            own = name == sheet
            left = [row for row in body if not (own and row[0] in read)]
            cells = _with_readings(left, names, data)
            lines = cells.index.to_numpy()
            near = _adjoining(lines, read) if own else np.zeros(lines.size, dtype=bool)
            title = "" if own and head in read else title
            for same, mine in ((True, near), (False, ~near)):
                if mine.any():
                    found.append(Elsewhere(name, "" if same else title, cells[mine], own, same))
    return found


def columns_beyond(page: Page, cells: pd.DataFrame, header: int, data: Data) -> pd.DataFrame:
    """Add the columns that a range of cells leaves out beside the rows it takes.

    Parameters
    ----------
    page : Page
        The sheet that is read.
    cells : pandas.DataFrame of str
        What is read.
    header : int
        Line of the header.
    data : linestudy.study.model.Data
        Its ``cells`` is the range.

    Returns
    -------
    pandas.DataFrame of str
        `cells`, and beside them the columns with a name in the header's line.
    """
    import pandas as pd

    if data.cells is None or data.header_rows == 0:
        return cells
    by_line = dict(page[1])
    names = [cell.strip() for cell in by_line.get(header, [])]
    more = {
        name: [
            row[at].strip() if at < len(row) else "" for row in (by_line[k] for k in cells.index)
        ]
        for at, name in enumerate(names)
        if name and name not in cells and names.count(name) == 1
    }
    return pd.concat([cells, pd.DataFrame(more, index=cells.index, dtype=str)], axis=1)


def _tables(
    rows: list[tuple[int, list[str]]], data: Data
) -> list[tuple[str, list[str], int, list[tuple[int, list[str]]]]]:
    """Find all tables with the columns of study.toml: title, column names, header line and rows of each."""
    if data.header_rows == 0:
        width = max((len(cells) for _, cells in rows), default=0)
        return [("", [f"column {at + 1}" for at in range(width)], 0, rows)]
    wanted = {one_line(name) for name in named_columns(data)}
    heads = []
    for at, (_, cells) in enumerate(rows):
        one = [one_line(cell) for cell in cells]
        if wanted <= set(one):
            heads.append((at, at + 1, one))
        elif at + 1 < len(rows) and wanted <= set(two := stacked(one, rows[at + 1][1])):
            heads.append((at, at + 2, two))
    found = []
    for k, (head, below, names) in enumerate(heads):
        end = heads[k + 1][0] if k + 1 < len(heads) else len(rows)
        title = _title(rows[max(head - 3, 0) : head])
        body = rows[below : _until_other_names(rows, below, end, [names.index(n) for n in wanted])]
        found.append((title, names, rows[head][0], body))
    return found


def _until_other_names(
    rows: list[tuple[int, list[str]]], below: int, end: int, places: list[int]
) -> int:
    """Find the row at which the columns get other names: words without digits in each."""
    for at in range(below, end):
        cells = rows[at][1]
        words = [cells[place].strip() if place < len(cells) else "" for place in places]
        if all(word and not any(sign.isdigit() for sign in word) for word in words):
            return at
    return end


def _title(above: list[tuple[int, list[str]]]) -> str:
    """Return the text that is alone in its row above a header."""
    for _, cells in reversed(above):
        filled = [cell.strip() for cell in cells if cell.strip()]
        if filled:
            return filled[0] if len(filled) == 1 else ""
    return ""


def _with_readings(rows: list[tuple[int, list[str]]], names: list[str], data: Data) -> pd.DataFrame:
    """Select rows with a reading, and with a number where rows are numbered, which averages lack."""
    import pandas as pd

    places = {name: names.index(one_line(name)) for name in named_columns(data)}
    cells = pd.DataFrame(
        [[row[at] if at < len(row) else "" for at in places.values()] for _, row in rows],
        index=[line for line, _ in rows],
        columns=list(places),
        dtype=str,
    )
    judged = names_within(data.judgement or [])
    values = columns_of_values(data) + ([data.long.value] if data.long else [])
    there = np.zeros(len(cells), dtype=bool)
    for name in values:
        there |= np.isfinite(_numbers(cells[name], data))
    marks = {mark.strip() for mark in data.missing} | {""}
    for name in judged:
        there |= ~cells[name].str.strip().isin(list(marks)).to_numpy(dtype=bool)
    if isinstance(data.order, str):
        there &= np.isfinite(_numbers(cells[data.order], data))
    tags = [name for name in (data.part, data.time) if isinstance(name, str)]
    for name in tags if data.order is None else ():
        there &= (cells[name].str.strip() != "").to_numpy(dtype=bool)
    return cells[there]


def _numbers(cells: pd.Series, data: Data) -> NDArray[np.float64]:
    """Convert a column to numbers; cell by cell where what is below a table spoils it."""
    import pandas as pd

    try:
        values: NDArray[np.float64] = to_numbers(cells, data).values
    except InputError:
        text = cells.str.strip().str.replace(data.decimal, ".", regex=False)
        values = pd.to_numeric(text, errors="coerce").to_numpy(dtype=float)
    return values


def _adjoining(lines: NDArray[np.int64], read: range) -> NDArray[np.bool_]:
    """Find lines that follow the ones read, or end right before them, without a gap."""
    near = np.zeros(lines.size, dtype=bool)
    below, above = lines[lines >= read.stop], lines[lines < read.start]
    near[lines >= read.stop] = below == read.stop + np.arange(below.size)
    near[lines < read.start] = above == read.start - np.arange(above.size, 0, -1)
    return near


def unread_tables(
    study: Study, data: Data, cells: pd.DataFrame, found: list[Elsewhere], sheet: str
) -> tuple[list[Noticed], dict[str, int]]:
    """Notice tables of a file that no one reads although they hold what looks like readings; count rows left out of the one read.

    Parameters
    ----------
    study : Study
        Its [[data]] tables say what else is read of the file.
    data : linestudy.study.model.Data
        Of this table.
    cells : pandas.DataFrame of str
        What is read.
    found : list of Elsewhere
    sheet : str
        Name of the sheet that is read.

    Returns
    -------
    noticed : list of (str, str, int, int, str)
        What, the characteristic, how many readings, in which line, and a sentence.
    left_out : dict of str to int
        Rows of the same table, by the reason of the record.
    """
    others = [one for one in study.data if one.file == data.file and one != data]
    noticed: list[Noticed] = []
    left_out = 0
    for place in found:
        rows = place.cells[
            [not any(_reads(o, place, line) for o in others) for line in place.cells.index]
        ]
        if place.same_table:
            left_out += len(rows)
            continue
        for key, source in data.columns.items():
            read, there = (
                np.concatenate([_numbers(table[name], data) for name in names_within(source)])
                for table in (cells, rows)
            )
            n = int(np.isfinite(there).sum())
            if n < _FEW or _same(read, there):
                continue
            near, close = beside(there, read)
            if not near and not close:
                continue
            names = (data.block or "", place.title) if place.title else (sheet, place.sheet)
            stream = all(names) and differ_by_stream_only(*names)
            kind = UNREAD_STREAM if (close or stream) and data.role == "run" else UNREAD_NUMBERS
            item = study.characteristic(key)
            if _of_another(names, (study.head.part, item.id, item.name)):
                kind = UNREAD_NUMBERS
            said = (
                f"The {place.where} {counted(n, 'reading')} in the same columns that are not read, from "
                f"{np.nanmin(there):g} to {np.nanmax(there):g}, where those that are read lie"
            )
            noticed.append((kind, key, n, int(rows.index[0]), said))
    keys = {key: getattr(data, key) for key in ("cells", "block", "header_row", "sheet")}
    part = next((f"{key} = {value}" for key, value in keys.items() if value is not None), "")
    return noticed, {f"{CHOSEN}: outside of {part}": left_out} if left_out else {}


def _of_another(names: tuple[str, str], words: tuple[str, ...]) -> bool:
    """Check whether the table read bears the part's or characteristic's name and the other does not."""
    mine, theirs = (name.casefold() for name in names)
    called = (word.strip().casefold() for word in words)
    return any(len(word) > 1 and word in mine and word not in theirs for word in called)


def _same(read: NDArray[np.float64], there: NDArray[np.float64]) -> bool:
    """Check whether another table has the same numbers as the one read, in order or sorted."""
    read, there = read[np.isfinite(read)], there[np.isfinite(there)]
    if read.size != there.size:
        return False
    return bool((read == there).all() or (np.sort(read) == np.sort(there)).all())


def _reads(other: Data, place: Elsewhere, line: int) -> bool:
    """Check whether another [[data]] table reads this line of this place."""
    if other.sheet is not None and other.sheet != place.sheet:
        return False
    if other.block is not None:
        return bool(place.title) and other.block.strip().casefold() == place.title.casefold()
    if other.cells is not None:
        corners = other.cells.replace("$", "").split(":")
        rows = [int("".join(filter(str.isdigit, corner)) or 0) for corner in corners]
        return min(rows) <= line <= max(rows)
    return other.header_row is None or line > other.header_row
