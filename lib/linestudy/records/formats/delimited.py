"""Delimited text (csv, tsv and their kin) as cells of text: encoding, delimiter, header, quotes.

One reader for all of it, Arrow's, which makes text of every cell; numbers, times and judgements are
made of the cells afterwards (`linestudy.records.conversions`). On a day's file with all its tags (360,000
parts, clock, coil, station, stop, verdict, six readings of which one in a thousand is missing) reading and
screening take 1.24 times the processor time of the three readers there were before (one that made numbers
at once, one of text, and pandas for quotes), and give the same; pandas for all of it took 2.7 times. Lines
with fewer cells than the header, which exports write for blank rows and totals, are filled up with empty
cells; longer ones are refused unless only empty cells are beyond.
"""

from __future__ import annotations

import csv
import io
import itertools
import re
from typing import TYPE_CHECKING, Any

from linestudy.records.cells.signs import without_formulas, without_unseen
from linestudy.records.formats.lines.named_values import PAIRS, cells_of_pairs
from linestudy.records.formats.lines.plain_columns import BLANKS, cells_in_columns
from linestudy.records.formats.sheet_marks import bounds
from linestudy.records.formats.stacked_tables import blocked_cells, transposed_cells
from linestudy.records.headers import (
    DELIMITERS,
    PREAMBLE,
    block_of,
    distinct_names,
    header_names,
    header_of_lines,
    rows_of_lines,
)
from linestudy.records.written.encodings import encoding_of
from linestudy.results import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pandas as pd

    from linestudy.study.model import Data

#: Bytes taken at once. One block where it fits: a column is then one piece of memory.
_BLOCK = 1 << 26


def text_cells(raw: bytes, data: Data) -> tuple[pd.DataFrame, int]:
    """Read a delimited text as cells below its header.

    Parameters
    ----------
    raw : bytes
        The file, unpacked.
    data : linestudy.study.model.Data
        How it is written, as far as study.toml says so.

    Returns
    -------
    cells : pandas.DataFrame of str
        Its index is the line of the file in which each row begins.
    header : int
        Line of the header, counted from 1.

    Raises
    ------
    InputError
        Not text of its encoding, no header, or lines that are longer than the header.
    """
    text = decoded(raw, data)
    if data.delimiter == BLANKS:
        return cells_in_columns(text, data)
    if data.delimiter == PAIRS:
        return cells_of_pairs(text, data)
    if data.transpose:
        lines = text.split("\n")
        mark = data.delimiter or max(DELIMITERS, key=text.count)
        return transposed_cells([(at + 1, cells) for at, cells in rows_of_lines(lines, mark)], data)
    if data.blocks is not None:
        lines = text.split("\n")
        mark = data.delimiter or max(DELIMITERS, key=text.count)
        return blocked_cells([(at + 1, cells) for at, cells in rows_of_lines(lines, mark)], data)
    above = 0
    if data.cells is not None:
        above, text = _range(text, data)
        if data.header_row is not None:
            data = data.model_copy(update={"header_row": max(1, data.header_row - above)})
    elif data.block is not None:
        above, text = _block(text, data)
        if data.header_row is not None:
            data = data.model_copy(update={"header_row": max(1, data.header_row - above)})
    lines = list(itertools.islice(_lines(text), PREAMBLE + (data.header_row or 1)))
    row, mark, deep = header_of_lines(lines, data)
    begin = sum(len(line) + 1 for line in lines[:row])
    heads, taken = [], 0
    for _ in range(deep):
        head, lines_of_it = _header(text, begin, mark, data, row + taken)
        heads.append(head)
        taken += lines_of_it
        for _ in range(lines_of_it):
            begin = text.find("\n", begin) + 1 or len(text)
    if not deep:
        # Nobody named the columns: they are called by their places.
        widest = max(map(len, (cells for _, cells in rows_of_lines(lines, mark))))
        heads = [[""] * widest]
    names = distinct_names(header_names(heads), data, row + 1)
    # A file may take much of the memory there is: no more copies of it than needed.
    below = text[begin:]
    del text
    body = below.encode(errors="replace")
    del below
    return _cells(body, mark, names, data, above + row + 1 + taken), above + row + 1


def rows_of_text(raw: bytes, data: Data) -> list[tuple[int, list[str]]]:
    """Split the whole of a delimited text into rows of cells.

    Parameters
    ----------
    raw : bytes
        The file, unpacked.
    data : linestudy.study.model.Data

    Returns
    -------
    list of (int, list of str)
        Line in which each row begins, counted from 1, and its cells.
    """
    text = decoded(raw, data)
    mark = data.delimiter or max(DELIMITERS, key=text.count)
    return [(at + 1, cells) for at, cells in rows_of_lines(text.split("\n"), mark)]


def _block(text: str, data: Data) -> tuple[int, str]:
    """Return how many lines are above the block that study.toml names, and its text."""
    lines = text.split("\n")
    marks = (data.delimiter,) if data.delimiter else DELIMITERS
    mark = max(marks, key=text.count)
    rows = rows_of_lines(lines, mark)
    begin, end = block_of([cells for _, cells in rows], data)
    # Rows may run over several lines.
    first, last = ([at for at, _ in rows] + [len(lines)])[begin : end + 1 : end - begin]
    return first, "\n".join(lines[first:last]) + "\n"


def _range(text: str, data: Data) -> tuple[int, str]:
    """Count the lines above the range of cells that study.toml names, and give the text of that range."""
    top, left, bottom, right = bounds(data)
    mark = data.delimiter or max(DELIMITERS, key=text.count)
    stream = io.StringIO()
    writer = csv.writer(stream, delimiter=mark, lineterminator="\n")
    rows = rows_of_lines(text.split("\n"), mark)
    writer.writerows(cells[left : right + 1] for at, cells in rows if top <= at <= bottom)
    if not stream.getvalue().strip(f"{mark}\n "):
        raise InputError(data.file, f"has nothing in {data.cells}", "mend cells in study.toml")
    return top, stream.getvalue()


def decoded(raw: bytes, data: Data) -> str:
    """Decode bytes to text with one kind of line end.

    Parameters
    ----------
    raw : bytes
        The file, unpacked.
    data : linestudy.study.model.Data
        Its ``encoding``, where study.toml names one.

    Returns
    -------
    str
        Lines end with a newline, nothing else.

    Raises
    ------
    InputError
        The bytes are not text of the encoding.
    """
    encoding = data.encoding or encoding_of(raw)
    try:
        text = raw.decode(encoding)
    except (UnicodeError, LookupError, ValueError):
        raise InputError(
            data.file, f"is not {encoding} text", 'name its encoding in study.toml, e.g. "cp1252"'
        ) from None
    text = without_unseen(text)
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    text = text.replace("\x00", "\ufffd") if "\x00" in text else text
    text = _with_plain_marks(without_formulas(text))
    return _without_outer_quotes(text) if text.lstrip()[:1] == '"' else text


#: So many of the first lines are looked at.
_FIRST = 40


def _with_plain_marks(text: str) -> str:
    """Write the commas and semicolons of an East Asian keyboard as plain ones, where they stand between the cells."""
    if text.isascii() or ("，" not in text and "；" not in text):
        return text
    lines = [line for line in itertools.islice(_lines(text), _FIRST) if line.strip()]
    if any(mark in line for line in lines for mark in DELIMITERS):
        return text
    for wide, plain in (("，", ","), ("；", ";")):
        counts = {line.count(wide) for line in lines}
        if len(lines) > 2 and len(counts) == 1 and counts != {0}:
            return text.replace(wide, plain)
    return text


def _without_outer_quotes(text: str) -> str:
    """Remove quotes around whole lines, which a program writes that takes each line for one cell."""
    lines = [line for line in itertools.islice(_lines(text), _FIRST) if line.strip()]
    if len(lines) < 3 or not all(len(line) > 2 and line[0] == line[-1] == '"' for line in lines):
        return text
    if any('"' in line[1:-1].replace('""', "") for line in lines):
        return text
    inner = [line[1:-1].replace('""', '"') for line in lines]
    for mark in DELIMITERS:
        widths = {len(cells) for _, cells in rows_of_lines(inner, mark)}
        # "2,801" alone in its line is a number with a decimal comma.
        numbers = mark == "," and all(re.fullmatch(r"[-+]?\d+,\d+", each) for each in inner[1:])
        if len(widths) == 1 and widths.pop() > 1 and not numbers:
            return "\n".join(
                line[1:-1].replace('""', '"')
                if line[:1] == line[-1:] == '"' and len(line) > 1
                else line
                for line in text.split("\n")
            )
    return text


def _lines(text: str, begin: int = 0) -> Iterator[str]:
    """Yield line by line, because only the first few of very many are needed."""
    while (end := text.find("\n", begin)) >= 0:
        yield text[begin:end]
        begin = end + 1
    if begin < len(text) or not begin:
        yield text[begin:]


def _header(text: str, begin: int, mark: str, data: Data, row: int) -> tuple[list[str], int]:
    """Read the column names, and count their lines: a quoted name may run over several."""
    reader = csv.reader((f"{line}\n" for line in _lines(text, begin)), delimiter=mark)
    try:
        names = next(reader, [])
    except csv.Error:
        raise InputError(
            f"{data.file} line {row + 1}", "has a header that cannot be read", "check its quotes"
        ) from None
    return [name.strip() for name in names], reader.line_num


def _cells(body: bytes, mark: str, names: list[str], data: Data, line: int) -> pd.DataFrame:
    """Read the cells of the lines below the header; lines of another length are repaired in place."""
    import pandas as pd
    import pyarrow as pa
    from pyarrow import csv as arrow

    quoted = b'"' in body
    kind = pa.large_string()
    # The kind of text pandas itself reads into.
    text = pd.StringDtype("pyarrow", na_value=float("nan"))
    if not body:
        return pd.DataFrame({name: pd.array([], dtype=text) for name in names})
    uneven: dict[int, str] = {}

    def put_by(row: Any) -> str:
        uneven[row.number - 1] = row.text
        return "skip"

    try:
        table = arrow.read_csv(
            pa.BufferReader(body),
            read_options=arrow.ReadOptions(
                use_threads=False, column_names=names, block_size=_BLOCK
            ),
            parse_options=arrow.ParseOptions(
                delimiter=mark,
                quote_char='"' if quoted else False,
                newlines_in_values=quoted,
                ignore_empty_lines=False,
                invalid_row_handler=put_by,
            ),
            convert_options=arrow.ConvertOptions(
                column_types=dict.fromkeys(names, kind), strings_can_be_null=False
            ),
        )
    except pa.ArrowInvalid as error:
        what = " ".join(str(error).split())[:200]
        raise InputError(
            data.file, f"cannot be read as a table ({what})", "check its delimiter and quotes"
        ) from None
    found: pd.DataFrame = table.to_pandas(types_mapper={kind: text}.get, split_blocks=True)
    if quoted and _quotes_are_inches(body, found, mark):
        return _cells_without_quotes(body, mark, names, line)
    if uneven:
        found = _with_uneven(found, uneven, mark, data, line)
    found.index = _line_numbers(found, line) if quoted else pd.RangeIndex(line, line + len(found))
    if quoted and len(found):
        _check_last_quote(body, int(found.index[-1]) - line, mark, data)
    return found


def _quotes_are_inches(body: bytes, found: pd.DataFrame, mark: str) -> bool:
    """Check whether every line has all its cells once quotes are plain signs, and quotes took several lines for one cell.

    Between tabs alone: whoever writes commas puts quotes about cells, and one that is never closed is a fault there.
    """
    if mark != "\t" or not any(found[name].str.contains("\n", regex=False).any() for name in found):
        return False
    counts = {line.count(mark.encode()) for line in body.rstrip(b"\n").split(b"\n")}
    return counts == {found.shape[1] - 1} and found.shape[1] > 1


def _cells_without_quotes(body: bytes, mark: str, names: list[str], line: int) -> pd.DataFrame:
    """Split lines at every mark, and take quotes off the cells that stand in them wholly."""
    import pandas as pd

    rows = [each.split(mark) for each in body.decode().rstrip("\n").split("\n")]
    table = pd.DataFrame(rows, columns=names, dtype=str)
    for name in names:
        whole = table[name].str.fullmatch(r'"[^"]*"')
        table[name] = table[name].where(~whole, table[name].str.strip('"'))
    table.index = pd.RangeIndex(line, line + len(table))
    return table.astype(pd.StringDtype("pyarrow", na_value=float("nan")))


def _with_uneven(
    found: pd.DataFrame, uneven: dict[int, str], mark: str, data: Data, line: int
) -> pd.DataFrame:
    """Put lines of another length back: filled up, or cut where only empty cells are beyond."""
    import numpy as np
    import pandas as pd

    width = found.shape[1]
    filled = []
    for position, text in uneven.items():
        try:
            cells = next(csv.reader(io.StringIO(text), delimiter=mark), [])
        except csv.Error:
            # One cell of more than a hundred thousand signs: what follows an open quote.
            raise _open_quote(data) from None
        if len(cells) > width and text.lstrip().startswith("#"):
            # A comment has its commas, and is one cell.
            cells = [text.strip()]
        if any(cell.strip() for cell in cells[width:]):
            # Quoted line breaks above are not counted here; the number is a little low then.
            raise InputError(
                f"{data.file} line {line + position}",
                f"has {len(cells)} cells where the header has {width}",
                "check its delimiter and quotes; where a column was added there, give the rows from there on as a file of their own"
                if mark != "," or len(uneven) < len(found)
                else "where its numbers have decimal commas, commas cannot stand between its cells too: save it with semicolons or tabs",
            )
        filled.append((cells + [""] * width)[:width])
    places = np.array(list(uneven))
    others = np.delete(np.arange(len(found) + places.size), places)
    added = pd.DataFrame(filled, columns=found.columns, index=places).astype(found.dtypes.iloc[0])
    return pd.concat([found.set_axis(others), added]).sort_index()


def _line_numbers(cells: pd.DataFrame, line: int) -> Any:
    """Return the line in which each row begins; rows with quoted line breaks span several."""
    import numpy as np
    import pandas as pd

    breaks = np.zeros(len(cells), dtype=np.int64)
    for name in cells:
        breaks += cells[name].str.count("\n").to_numpy(dtype=np.int64)
    begins = line + np.arange(len(cells)) + np.cumsum(breaks) - breaks
    return pd.Index(begins)


def _check_last_quote(body: bytes, before: int, mark: str, data: Data) -> None:
    """Refuse a quote that is never closed: it would make one cell of all lines after the `before` first."""
    import numpy as np

    ends = np.flatnonzero(np.frombuffer(body, dtype=np.uint8) == ord("\n"))
    last = body[ends[before - 1] + 1 :] if before else body
    try:
        list(csv.reader(io.StringIO(last.decode()), delimiter=mark, strict=True))
    except csv.Error as error:
        # The other complaint is a sign after a closing quote, which does no harm.
        if "expected after" not in str(error):
            raise _open_quote(data) from None


def _open_quote(data: Data) -> InputError:
    return InputError(
        data.file, "cannot be read as a table (a quote is never closed)", "check its quotes"
    )
