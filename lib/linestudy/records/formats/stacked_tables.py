"""Blocks below each other: a title, the same columns under it, again and again, each of another appraiser, station or trial.

A title is alone in its row, or beside a word that says what it is ("Appraiser:", "Anna"). The names of the columns stand
under each title, or once above all of them.
"""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linestudy.records.cells.limit_words import said_of_limits
from linestudy.records.headers import distinct_names, header_names, named_columns, one_line
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

_NUMBER = re.compile(r"[-+]?[\d.,' \u00a0]*\d[\d.,]*(?:[eEdD][-+]\d{1,3})?\s*[A-Za-zµμ%°\"]{0,4}")
#: Between a word and what it is of: "Appraiser: Anna".
_SAYS = re.compile(r"([^:=]{1,60}?)\s*[:=]\s*(.+)", re.DOTALL)
#: A page break of a printed report.
PAGE = re.compile(
    r"\W*(?:(?:page|seite|blatt|página|pagina|ページ)\W*\d|第?\s*\d+\s*[页頁])", re.IGNORECASE
)
_PARTS = re.compile(r"\s*[,;/|]\s*|\s+[-–]\s+")


@dataclass(frozen=True)
class Block:
    """One block; positions count within the rows.

    Attributes
    ----------
    title : str
    head : int
        Row of the names of its columns.
    begin, end : int
        First row below them, and the row after the last.
    top : int
        Row below its title.
    """

    title: str
    head: int
    begin: int
    end: int
    top: int


def is_number(cell: str) -> bool:
    """Check whether a cell holds a number, with or without unit."""
    return _NUMBER.fullmatch(cell.strip()) is not None


def width(row: list[str]) -> int:
    """Count the filled cells of a row."""
    return sum(1 for cell in row if cell.strip())


def title_of(row: list[str]) -> str:
    """Return the title that a row is; empty where it is none."""
    cells = [cell.strip() for cell in row if cell.strip()]
    if cells and PAGE.match(cells[0]):
        return ""
    if len(cells) == 1 and not is_number(cells[0]):
        return cells[0]
    if len(cells) == 2 and cells[0].endswith((":", "=")):
        return f"{cells[0].rstrip(':= ')}: {cells[1]}"
    return ""


def separate_tables(rows: list[list[str]], at: int) -> list[tuple[int, int, int, int]]:
    """Find tables of one sheet without titles: side by side with a blank column between, or below each other under other names.

    Parameters
    ----------
    rows : list of list of str
    at : int
        Row of the first header.

    Returns
    -------
    list of (int, int, int, int)
        Top, left, bottom and right of each, counted from nought, all inclusive; empty where it is one table.

    Examples
    --------
    >>> rows = [["No", "Width", "", "No", "Gap"], ["1", "2.80", "", "1", "1.00"]]
    >>> separate_tables(rows, 0)
    [(0, 0, 1, 1), (0, 3, 1, 4)]
    """
    head = [cell.strip() for cell in rows[at]]
    right = max(map(len, rows)) - 1
    first = next((cell for cell in head if cell), "")
    heads = [
        (i, [cell.strip() for cell in row if cell.strip()])
        for i, row in enumerate(rows)
        if next(iter(row), "").strip() == first and width(row) > 1 and not any(map(is_number, row))
    ]
    other = [i for (_, before), (i, names) in itertools.pairwise(heads) if names != before]
    if other:
        return [(a, 0, b - 1, right) for a, b in itertools.pairwise([0, *other, len(rows)])]
    below = _tables_below_blanks(rows)
    if below:
        return [(a, 0, b, right) for a, b in below]
    body = rows[at:]
    blank = [
        left
        for left in range(right + 1)
        if not any(left < len(row) and row[left].strip() for row in body)
    ]
    edges = [-1, *blank, right + 1]
    found = [(a + 1, b - 1) for a, b in itertools.pairwise(edges) if b - a > 2]
    # Only a counter that occurs again begins another table; other blank columns are gaps in one.
    if len(found) < 2 or any(a >= len(head) or head[a] != first for a, _ in found):
        return []
    return [(0, a, len(rows) - 1, b) for a, b in found]


#: Fewest rows of numbers of a table among several in one file: a head of settings has fewer.
_TABLE = 5


def _tables_below_blanks(rows: list[list[str]]) -> list[tuple[int, int]]:
    """Find tables with blank rows between that have other names each: results, and below them the curve of a pull.

    Returns the first and last row of each; nothing where fewer than two are tables, or a stretch of numbers has no names.
    """
    found: list[tuple[int, int]] = []
    heads: list[list[str]] = []
    for filled, group in itertools.groupby(range(len(rows)), key=lambda i: width(rows[i]) > 0):
        stretch = list(group)
        if not filled:
            continue
        numbers = [i for i in stretch if any(map(is_number, rows[i]))]
        head = next((i for i in stretch if width(rows[i]) > 1), None)
        if len(numbers) < _TABLE:
            continue
        if head is None or any(map(is_number, rows[head])):
            return []
        names = [cell.strip() for cell in rows[head] if cell.strip()]
        pairs = len(names) == 2 and not any(is_number(rows[i][0]) for i in numbers)
        if pairs or names in heads:
            return []
        heads.append(names)
        found.append((stretch[0], stretch[-1]))
    return found if len(found) > 1 else []


def blocks_of(rows: list[list[str]]) -> list[Block]:
    """Find the blocks of a file or sheet.

    Parameters
    ----------
    rows : list of list of str

    Returns
    -------
    list of Block
        Those whose titles differ; empty where there are none.
    """
    found = _with_names_each(rows) or _with_names_once(rows)
    titles = [block.title for block in found]
    return [block for block in found if titles.count(block.title) == 1]


def _with_names_each(rows: list[list[str]]) -> list[Block]:
    """Find blocks that each have a title, a header below it and rows of numbers below that."""
    found: list[Block] = []
    i = 0
    while i < len(rows):
        title = title_of(rows[i])
        top = head = i + 1
        if not title:
            # A stray cell in the last row of a sheet leaves a million blank ones above it.
            i += 1
            continue
        while head < len(rows) and not width(rows[head]):
            head += 1
        names = head < len(rows) and _names(rows[head]) and not title_of(rows[head])
        if names and not _is_limit(rows[head]):
            end = _end(rows, head)
            # What follows is nothing, or the next block.
            whole = end == len(rows) or not width(rows[end]) or bool(found and title_of(rows[end]))
            whole = whole or (bool(title_of(rows[end])) and rows[end + 1 : end + 2] == [rows[head]])
            if whole and sum(any(map(is_number, row)) for row in rows[head + 1 : end]) >= 2:
                found.append(Block(title, head, head + 1, end, top))
                i = end
                continue
        i += 1
    return found


def _is_limit(row: list[str]) -> bool:
    """Check whether a row is a limit and its number, as a legend below readings has them, and names no columns."""
    first = next((cell for cell in row if cell.strip()), "")
    return bool(said_of_limits(first)) and any(map(is_number, row))


def _with_names_once(rows: list[list[str]]) -> list[Block]:
    """Find blocks of titles with rows of numbers, all below one header."""
    head = next((i for i, row in enumerate(rows[:60]) if width(row) >= 3 and _names(row)), None)
    if head is None:
        return []
    found: list[Block] = []
    i = head + 1
    while i < len(rows):
        title = title_of(rows[i])
        end = _end(rows, i)
        if title and sum(any(map(is_number, row)) for row in rows[i + 1 : end]) >= 2:
            found.append(Block(title, head, i + 1, end, i + 1))
            i = end
        elif not width(rows[i]) or title:
            i += 1
        else:
            # Rows above the first title belong to none.
            return found if found else []
    return found if len(found) > 1 else []


def _names(row: list[str]) -> bool:
    cells = [cell.strip() for cell in row if cell.strip()]
    counted = [str(number) for number in range(1, len(cells))]
    # Part, 1, 2, 3: trials are counted, and are names.
    return len(cells) >= 2 and (
        sum(map(is_number, cells)) <= len(cells) / 2 or cells[1:] == counted
    )


def _end(rows: list[list[str]], head: int) -> int:
    """Return the row after the last filled one below a header or title."""
    end = head + 1
    while end < len(rows) and width(rows[end]) >= 2 and not title_of(rows[end]):
        end += 1
    return end


def labels_of(titles: list[str]) -> tuple[str, list[str]]:
    """Split titles into what they have in common and what distinguishes them.

    Parameters
    ----------
    titles : list of str

    Returns
    -------
    common : str
        The word before the labels, empty where there is none.
    labels : list of str

    Examples
    --------
    >>> labels_of(["Appraiser: Anna", "Appraiser: Bela"])
    ('Appraiser', ['Anna', 'Bela'])
    >>> labels_of(["Trial 1", "Trial 2"])
    ('Trial', ['1', '2'])
    """
    said = [_SAYS.fullmatch(title) for title in titles]
    heads = {match[1].strip().casefold() for match in said if match}
    if all(said) and len(heads) == 1:
        return next(m[1] for m in said if m).strip(), [m[2].strip() for m in said if m]
    words = [title.split() for title in titles]
    same = 0
    while all(len(each) > same + 1 for each in words) and len({each[same] for each in words}) == 1:
        same += 1
    return " ".join(words[0][:same]), [" ".join(each[same:]) for each in words]


def blocked_cells(rows: list[tuple[int, list[str]]], data: Data) -> tuple[pd.DataFrame, int]:
    """Read the blocks of a file as one table, with the title of each in a column of its own.

    Parameters
    ----------
    rows : list of (int, list of str)
        Line of the file, counted from 1, and its cells.
    data : linestudy.study.model.Data
        Its ``blocks`` says what the titles are.

    Returns
    -------
    cells : pandas.DataFrame of str
        Its index is the line of the file; the column of the titles is called as ``blocks`` says.
    header : int
        Line of the first header.

    Raises
    ------
    InputError
        No such blocks.
    """
    import pandas as pd

    tags = levels_of(data)
    wanted = set(named_columns(data)) - set(tags)
    cells = [row for _, row in rows]
    found, names = [], []
    for block in blocks_of(cells):
        head = [cell.strip() for cell in cells[block.head]]
        begin = block.begin
        if data.header_rows in (2, 3):
            more = data.header_rows - 1
            head, begin = header_names([head, *cells[begin : begin + more]]), begin + more
        if wanted <= {*head, *map(one_line, head)}:
            found.append((block, begin))
            names.append(head)
    if not found:
        raise InputError(
            data.file,
            f'has no blocks below each other with the columns that study.toml names, as blocks = "{tags[0]}" says',
            "give each a title alone in its row, and the same names of columns below it",
        )
    _, labels = labels_of([block.title for block, _ in found])
    tables = []
    for (block, begin), head, label in zip(found, names, labels, strict=True):
        size = max(i for i, cell in enumerate(head, start=1) if cell)
        body = [(row + [""] * size)[:size] for row in cells[begin : block.end]]
        table = pd.DataFrame(
            body, columns=distinct_names(head[:size], data, rows[block.head][0]), dtype=str
        )
        table.index = pd.Index([line for line, _ in rows[begin : block.end]])
        parts = _PARTS.split(label, maxsplit=len(tags) - 1) if len(tags) > 1 else [label]
        if len(parts) != len(tags):
            raise InputError(
                f"{data.file} line {rows[block.top - 1][0]}",
                f'the title "{block.title[:40]}" does not name {" and ".join(tags)}',
                "write them with a comma between",
            )
        for tag, part in zip(tags, parts, strict=True):
            if tag in table:
                raise InputError(
                    data.file, f'has a column "{tag}" beside titles that name it', "rename it"
                )
            table.insert(0 if tag == "part" else table.shape[1], tag, part.strip())
        tables.append(table)
    whole = pd.concat(tables).fillna("")
    return whole, rows[found[0][0].head][0]


def levels_of(data: Data) -> tuple[str, ...]:
    """List what the titles of blocks name, outermost first; empty where study.toml names no blocks."""
    return (data.blocks,) if isinstance(data.blocks, str) else data.blocks or ()


def named_by_blocks(data: Data) -> Data:
    """Name the tags that titles of blocks give like other columns."""
    tags = {tag: tag for tag in levels_of(data) if tag not in (data.levels or ())}
    return data.model_copy(update=tags) if tags else data


def transposed_cells(rows: list[tuple[int, list[str]]], data: Data) -> tuple[pd.DataFrame, int]:
    """Transpose the rows of a file: its first column becomes the header of its cells.

    Parameters
    ----------
    rows : list of (int, list of str)
        Line of the file, and its cells.
    data : linestudy.study.model.Data
        Its ``header_row`` is the line of the first name.

    Returns
    -------
    cells : pandas.DataFrame of str
        Its index is the column of the file that holds each record, counted from 1.
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
