"""Bytes as tables of text: encodings, separators, headers wherever they stand, totals below.

Nothing is converted here. What is found by itself (encoding, delimiter, header row, a row
of units, blank rows, totals at the end) is decided by evidence in the file, counted, and
reported; whatever study.toml states wins. The header row is the first row that holds every
column name study.toml asks for, so a preamble of machine settings above it does no harm.
It misleads where a preamble repeats all these names: then state ``header_row``.
"""

from __future__ import annotations

import csv
import io
import itertools
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.records.containers import parquet_cells, workbook_rows
from linestudy.records.files import content
from linestudy.records.plain_rows import (
    may_be_plain,
    plain_bytes,
    rows_of_a_run,
    rows_of_text,
)
from linestudy.results import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    import pandas as pd

    from linestudy.study.model import Data

DELIMITERS = (",", ";", "\t", "|")
BLANK = "blank row"
TOTALS = "row of totals at the end of the file"
UNITS_ROW = "row of units below the header"
SKIPPED = "row below the header (skip_rows_after_header, study.toml)"

#: Words that begin a row of totals, in the languages exports come in.
_TOTAL_WORDS = frozenset([
    "total", "totals", "sum", "mean", "average", "avg", "min", "max",
    "minimum", "maximum", "count", "n", "sd", "std", "stdev", "sigma",
    "summe", "mittelwert", "anzahl", "gesamt", "somme", "moyenne",
    "total:", "totale", "media", "suma", "promedio",
])  # fmt: skip
#: How far down a header is looked for, in lines and in bytes.
_PREAMBLE = 60
#: A camera measures tens of things; thousands of columns come of a wrong delimiter.
_MOST_COLUMNS = 5_000
_HEAD = 1 << 16


@dataclass
class TextTable:
    """A file's cells as text.

    Attributes
    ----------
    cells : pandas.DataFrame of str
        Data rows; the index is the line of the file each stands in. Columns of a run that hold nothing but
        numbers and marks of no reading may be numbers already, NaN where there is no reading, and its clock
        may be times.
    set_aside : dict of str to int
        Rows that are no data, by reason.
    units : dict of str to str
        Column → unit, where the file has a row of units.
    notes : list of str
        What was found out by itself.
    """

    cells: pd.DataFrame
    set_aside: dict[str, int] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)

    @property
    def rows_read(self) -> int:
        """Rows below the header, data or not."""
        return len(self.cells) + sum(self.set_aside.values())


def columns_of_values(data: Data) -> list[str]:
    """Columns of the file that hold values, two of them for a position or a pair of gauges."""
    return [
        name
        for source in data.columns.values()
        for name in ([source] if isinstance(source, str) else source)
    ]


def named_columns(data: Data) -> list[str]:
    """Every column of the file that a [[data]] table names."""
    keys = (
        "order time coil station stop verdict image part appraiser trial factor reference "
        "reference_uncertainty judgement measured period accepted rejected purged"
    )
    names = [getattr(data, key) for key in keys.split()]
    names += [data.long.characteristic, data.long.value] if data.long else []
    names += list(data.levels or ())
    names += columns_of_values(data)
    return list(dict.fromkeys(name for name in names if isinstance(name, str)))


def read_text_table(path: Path, data: Data) -> TextTable:
    """A file's cells as text, one column per header, nothing converted.

    Parameters
    ----------
    path : pathlib.Path
        csv, tsv or text (also as gz or zip), parquet, xlsx, or QIF.
    data : linestudy.study.model.Data
        How the file is written.

    Returns
    -------
    TextTable

    Raises
    ------
    InputError
        Not readable as a table.
    """
    raw, suffix = content(path, data)
    if suffix == ".parquet":
        numbers, clock = _no_text(data)
        return TextTable(parquet_cells(raw, data, numbers, clock))
    if suffix in (".qif", ".xml"):
        from linestudy.records.qif import read_qif

        return TextTable(read_qif(raw, data))
    if suffix in (".xlsx", ".xlsm"):
        first, rows = workbook_rows(raw, data)
        return _from_rows(rows, first, data)
    if suffix == ".xls":
        raise InputError(data.file, "is a workbook of the old kind", "save it as xlsx or csv")
    table = _from_plain_bytes(raw, data) if may_be_plain(data) else None
    return _from_text(decoded(raw, data), data) if table is None else table


def decoded(raw: bytes, data: Data) -> str:
    """Bytes as text with one kind of line end.

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
    text = text.removeprefix("\ufeff")
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    return text.replace("\x00", "\ufffd") if "\x00" in text else text


def encoding_of(raw: bytes) -> str:
    """Encoding by byte-order mark, by zero bytes (UTF-16 without mark), else UTF-8 or cp1252."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    sample = raw[:4000]
    if len(sample) >= 8 and len(sample) % 2 == 0:
        even, odd = sample[0::2].count(0), sample[1::2].count(0)
        if odd > 0.4 * len(sample) / 2 and even == 0:
            return "utf-16-le"
        if even > 0.4 * len(sample) / 2 and odd == 0:
            return "utf-16-be"
    try:
        if not raw.isascii():
            raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        # Windows-1252 leaves five bytes undefined; Latin-1 has all.
        return "cp1252" if not set(raw) & {0x81, 0x8D, 0x8F, 0x90, 0x9D} else "latin-1"
    return "utf-8-sig"


def _split(line: str, delimiter: str) -> list[str]:
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter), [])]
    except csv.Error:
        return [cell.strip() for cell in line.split(delimiter)]


def find_header(lines: list[str], data: Data) -> tuple[int, str]:
    """Row (from 0) of the header and the delimiter.

    The first line that holds every column name study.toml asks for; failing that the
    first line that is not blank, with the delimiter it holds most of.
    """
    wanted = set(named_columns(data))
    marks = (data.delimiter,) if data.delimiter else DELIMITERS
    candidates: Iterable[int] = range(min(len(lines), _PREAMBLE))
    if data.header_row is not None:
        candidates = [data.header_row - 1] if data.header_row <= len(lines) else []
    for row, mark in itertools.product(candidates, marks):
        if wanted and wanted <= set(_split(lines[row], mark)):
            return row, mark
    if data.header_row is not None:
        row = data.header_row - 1
    else:
        row = next((i for i, line in enumerate(lines) if line.strip()), 0)
    if row >= len(lines) or not lines[row].strip():
        raise InputError(data.file, "has no header row", "name the columns in its first row")
    return row, data.delimiter or max(DELIMITERS, key=lines[row].count)


def _from_text(text: str, data: Data) -> TextTable:
    lines = list(itertools.islice(_lines(text), _PREAMBLE + (data.header_row or 1)))
    row, mark = find_header(lines, data)
    body = text[sum(len(line) + 1 for line in lines[:row]) :] if row else text
    names = _header(body, mark, data, row)
    table = rows_of_text(body, mark, names)
    if table is None:
        table = _any_rows(body, mark, names, data)
    table.index = _line_numbers(body, mark, row, len(table))
    table.attrs["header_line"] = row + 1
    return _without_extras(table, data, row)


def _from_plain_bytes(raw: bytes, data: Data) -> TextTable | None:
    """A camera's plain file without making text of it all; None where it is not that plain."""
    import pandas as pd

    whole = plain_bytes(raw, data)
    if whole is None:
        return None
    # The last of these lines is seldom whole.
    lines = whole[:_HEAD].split(b"\n")[: _PREAMBLE + (data.header_row or 1)][:-1]
    try:
        row, mark = find_header([line.decode() for line in lines], data)
        names = _header(lines[row].decode(), mark, data, row)
    except (InputError, UnicodeDecodeError):
        return None
    body = whole[sum(len(line) + 1 for line in lines[:row]) :] if row else whole
    numbers, _ = _no_text(data)
    table = rows_of_a_run(body, mark, names, numbers, data)
    if table is None:
        return None
    table.index = pd.RangeIndex(row + 2, row + 2 + len(table))
    table.attrs["header_line"] = row + 1
    # Every row has its order number: none is blank or holds units.
    return _without_totals(table, {}, {}, _where_the_header_is(data, row))


def _no_text(data: Data) -> tuple[frozenset[str], str | None]:
    """Columns of a run that hold nothing but numbers, and the one that holds its clock."""
    if data.role != "run" or data.long is not None:
        return frozenset(), None
    # A column that is a tag as well stays text.
    tags = {data.coil, data.station, data.stop, data.verdict, data.image, data.subgroup}
    numbers = {data.order, *columns_of_values(data)} - tags - {data.time, None}
    return frozenset(map(str, numbers)), None if data.time in tags | {data.order} else data.time


def _lines(text: str) -> Iterator[str]:
    """Line by line, for the first few of very many."""
    begin = 0
    while (end := text.find("\n", begin)) >= 0:
        yield text[begin:end]
        begin = end + 1
    if begin < len(text) or not begin:
        yield text[begin:]


def _any_rows(body: str, mark: str, names: list[str], data: Data) -> pd.DataFrame:
    """Cells below the header, whatever quotes and lines of unequal length there are."""
    import pandas as pd

    try:
        return pd.read_csv(
            io.StringIO(body),
            sep=mark,
            dtype=str,
            header=None,
            names=names,
            keep_default_na=False,
            skip_blank_lines=False,
            index_col=False,
            na_filter=False,
        ).iloc[1:]
    except (pd.errors.ParserError, pd.errors.EmptyDataError, ValueError, OverflowError) as error:
        what = " ".join(str(error).split())
        raise InputError(
            data.file, f"cannot be read as a table ({what})", "check its delimiter and quotes"
        ) from None


def _header(body: str, mark: str, data: Data, row: int) -> list[str]:
    """Names of the columns; nameless and repeated ones are made different."""
    # A quoted name may run over several lines; a text without quotes has its names in the first.
    head = body if '"' in body else body[: body.find("\n") % (len(body) + 1)]
    try:
        names = next(csv.reader(io.StringIO(head), delimiter=mark), [])
    except csv.Error:
        raise InputError(
            f"{data.file} line {row + 1}", "has a header that cannot be read", "check its quotes"
        ) from None
    return _distinct([name.strip() for name in names], data, row)


def _distinct(names: list[str], data: Data, row: int) -> list[str]:
    if len(names) > _MOST_COLUMNS:
        raise InputError(
            f"{data.file} line {row + 1}",
            f"has {len(names):,} columns, more than the {_MOST_COLUMNS:,} that are read",
            "name its delimiter, or leave columns out",
        )
    wanted, seen, result = set(named_columns(data)), set(), []
    for number, name in enumerate(names, start=1):
        if name in seen and name in wanted:
            raise InputError(
                f"{data.file} line {row + 1}", f'has the column "{name}" twice', "rename one"
            )
        label = name or f"column {number}"
        while label in seen:
            label = f"{label} again"
        seen.add(label)
        result.append(label)
    return result


def _line_numbers(body: str, mark: str, row: int, n: int) -> Any:
    """Line of the file each row begins in; rows with quoted line breaks span several."""
    import pandas as pd

    if '"' not in body or body.count("\n") - body.endswith("\n") == n:
        return pd.RangeIndex(row + 2, row + 2 + n)
    try:
        reader = csv.reader(io.StringIO(body), delimiter=mark)
        ends = [reader.line_num for _ in reader]
    except csv.Error:
        ends = []
    if len(ends) != n + 1:
        return pd.RangeIndex(row + 2, row + 2 + n)
    return pd.Index([row + 1 + end for end in ends[:-1]])


def _from_rows(rows: list[list[str]], first: int, data: Data) -> TextTable:
    """A sheet's rows as a table: header found like in a text file."""
    import pandas as pd

    wanted = set(named_columns(data))
    if data.header_row is not None:
        header = data.header_row - first
    else:
        head = rows[:_PREAMBLE]
        hits = [i for i, row in enumerate(head) if wanted and wanted <= {c.strip() for c in row}]
        widths = [sum(1 for cell in row if cell.strip()) for row in head]
        # Without names to look for, the header is the first of the fullest rows.
        least = max(widths, default=0) if not wanted else 1
        filled = [i for i, width in enumerate(widths) if width >= max(least, 1)]
        header = (hits or filled or [0])[0]
    if not 0 <= header < len(rows) or not any(cell.strip() for cell in rows[header]):
        raise InputError(data.file, "has no header row", "name the columns in its first row")
    width = max(i for i, cell in enumerate(rows[header]) if cell.strip()) + 1
    names = _distinct([c.strip() for c in rows[header][:width]], data, first + header - 1)
    body = [(row + [""] * width)[:width] for row in rows[header + 1 :]]
    table = pd.DataFrame(body, columns=names, dtype=str)
    table.index = pd.RangeIndex(first + header + 1, first + header + 1 + len(table))
    table.attrs["header_line"] = first + header
    return _without_extras(table, data, first + header - 1)


def _without_extras(table: pd.DataFrame, data: Data, header: int) -> TextTable:
    """Take out rows that are no data; each is counted."""
    attrs = dict(table.attrs)
    # A short row leaves cells without text.
    table = table.fillna("")
    counts: dict[str, int] = {}
    if data.skip_rows_after_header:
        skipped = min(data.skip_rows_after_header, len(table))
        if skipped:
            counts[SKIPPED] = skipped
        table = table.iloc[skipped:]
    # Blank lines at the end of a text are no rows; blank rows between rows are counted.
    if not (table.iloc[-1:] != "").to_numpy().any():
        filled = (table != "").any(axis=1).to_numpy().nonzero()[0]
        table = table.iloc[: filled[-1] + 1] if filled.size else table.iloc[:0]
    units: dict[str, str] = {}
    if len(table):
        units = _units_row(table.iloc[0])
        if units:
            counts[UNITS_ROW] = 1
            table = table.iloc[1:]
    if len(table):
        first = table.iloc[:, 0].to_numpy()
        if (first == "").any():
            blank = (table.apply(lambda cells: cells.str.strip()) == "").all(axis=1).to_numpy()
            if blank.any():
                counts[BLANK] = int(blank.sum())
                table = table[~blank]
    table.attrs = attrs
    return _without_totals(table, counts, units, _where_the_header_is(data, header))


def _where_the_header_is(data: Data, header: int) -> list[str]:
    if header and data.header_row is None:
        return [f"The header was found in line {header + 1}."]
    return []


def _without_totals(
    table: pd.DataFrame, counts: dict[str, int], units: dict[str, str], notes: list[str]
) -> TextTable:
    totals = _totals(table)
    if totals:
        attrs = dict(table.attrs)
        counts[TOTALS] = totals
        table = table.iloc[: len(table) - totals]
        table.attrs = attrs
    return TextTable(table, counts, units, notes)


def _units_row(row: pd.Series) -> dict[str, str]:
    """Column → unit, when every filled cell of the row is a unit or a dash and one is a unit."""
    from linestudy.records.units import is_unit

    found: dict[str, str] = {}
    for name, cell in row.items():
        text = str(cell).strip()
        bare = text[1:-1].strip() if text[:1] + text[-1:] in ("[]", "()") else text
        if bare in ("", "-", "–"):
            continue
        if len(bare) > 12 or not is_unit(bare):
            return {}
        found[str(name)] = bare
    return found


def _totals(table: pd.DataFrame) -> int:
    """How many rows at the end begin with a word for a total."""
    count = 0
    end = table.tail(20).astype(object)
    for cells in reversed(end.where(end.notna(), "").to_numpy().tolist()):
        first = next((str(cell).strip() for cell in cells if str(cell).strip()), "")
        if first.lower().rstrip(": ") not in _TOTAL_WORDS:
            break
        count += 1
    return count if count < len(table) else 0
