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

from linestudy.records.formats.blocks import blocked_cells
from linestudy.records.formats.plain_columns import BLANKS, cells_in_columns
from linestudy.records.formats.transposed import transposed_cells
from linestudy.records.headers import (
    DELIMITERS,
    PREAMBLE,
    block_of,
    distinct_names,
    header_of_lines,
    rows_of_lines,
    stacked,
)
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
    if data.transpose:
        lines = text.split("\n")
        mark = data.delimiter or max(DELIMITERS, key=text.count)
        return transposed_cells([(at + 1, cells) for at, cells in rows_of_lines(lines, mark)], data)
    if data.blocks is not None:
        lines = text.split("\n")
        mark = data.delimiter or max(DELIMITERS, key=text.count)
        return blocked_cells([(at + 1, cells) for at, cells in rows_of_lines(lines, mark)], data)
    above = 0
    if data.block is not None:
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
    names = distinct_names(stacked(*heads) if deep == 2 else heads[0], data, row + 1)
    # A file may take much of the memory there is: no more copies of it than needed.
    below = text[begin:]
    del text
    body = below.encode(errors="replace")
    del below
    return _cells(body, mark, names, data, above + row + 1 + taken), above + row + 1


def _block(text: str, data: Data) -> tuple[int, str]:
    """How many lines stand above the block that study.toml names, and its text."""
    lines = text.split("\n")
    marks = (data.delimiter,) if data.delimiter else DELIMITERS
    mark = max(marks, key=text.count)
    rows = rows_of_lines(lines, mark)
    begin, end = block_of([cells for _, cells in rows], data)
    # Rows may run over several lines.
    first, last = ([at for at, _ in rows] + [len(lines)])[begin : end + 1 : end - begin]
    return first, "\n".join(lines[first:last]) + "\n"


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
    text = text.removeprefix("\ufeff")
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    return text.replace("\x00", "\ufffd") if "\x00" in text else text


def encoding_of(raw: bytes) -> str:
    """Tell the encoding by byte-order mark, by zero bytes (UTF-16 without mark), else UTF-8, East Asian, cp1250, cp1251, cp1254 or cp1252."""
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
        other = _eastern(raw) or _of_middle_and_east(raw)
        if other is not None:
            return other
        # Windows-1252 leaves five bytes undefined; Latin-1 has all.
        return "cp1252" if not set(raw) & {0x81, 0x8D, 0x8F, 0x90, 0x9D} else "latin-1"
    return "utf-8-sig"


#: Kana and the ideographs of Unicode's first block, with the marks and full-width signs used beside them.
_KANA = re.compile("[\u3041-\u30fc]")
_IDEOGRAPH = re.compile("[\u4e00-\u9fff]")
_BESIDE = re.compile(
    "[\u3000-\u303f\uff01-\uff5e\u2103\u00d7\u00b1\u2460-\u2473\u03a6\u03c6\u03bc\u25a0-\u25cf]"
)
#: Korean words of exports.
_KOREAN = re.compile(
    "순번|번호|시간|일시|일자|날짜|측정|판정|합격|불량|양호|높이|길이|두께|시료|작업자|검사|평균|결과|품번|부품|설비|금형|공정|치수"
)
#: Letters of Central Europe among those of the West, where Windows-1252 would read a sign that no word there has: ³ or ¿
#: before a letter, ì or ù within a word, õ beside ö or ü, č or ř beside š or ž.
_CENTRAL = re.compile(
    rb"[A-Za-z\x9c\xea\xe6][\xb3\xb9\xbf\x9f][a-z\xea\xe6]|\x9c\xe6|[a-z][\xec\xf9][a-z]|[\x9a\x9e\x8a\x8e][^\n;,\t]*[\xe8\xec\xf8\xf9]"
    rb"|[\xe8\xec\xf8\xf9\xc8\xd8][^\n;,\t]*[\x9a\x9e]"
)
#: Letters of Turkish, Ğ, İ, Ş, ğ, ş and ı beside ç, ö or ü, where Windows-1252 would read those of Iceland; and vowels with an
#: accent, and letters of Central Europe, which no Turkish word has.
_TURKISH = re.compile(
    rb"[A-Za-z\xe7\xf6\xfc\xfd][\xf0\xfe]|[\xf0\xfe][a-z\xfc\xfd]|[\xdd\xde][a-z]|\xfd[^\n]*[\xe7\xf6\xfc\xc7\xd6\xdc]"
    rb"|[\xe7\xf6\xfc\xc7\xd6\xdc][^\n]*\xfd"
)
_NOT_TURKISH = re.compile(rb"[\xe0\xe1\xe6\xe8\xe9\xec\xed\xf2\xf3\xf8-\xfa\x8a\x8e\x9a\x9e]")


def _of_middle_and_east(raw: bytes) -> str | None:
    """Windows-1251 where letters above ASCII stand in rows, Windows-1250 and 1254 by their own letters; else None."""
    sample = raw[:200_000]
    high = [at for at, byte in enumerate(sample[:20_000]) if byte >= 0xC0]
    beside = sum(b - a == 1 for a, b in itertools.pairwise(high))
    if len(high) >= 6 and beside >= 0.6 * len(high):
        try:
            sample.decode("cp1251")
        except UnicodeDecodeError:
            return None
        return "cp1251"
    if _TURKISH.search(sample) and not _NOT_TURKISH.search(sample):
        return "cp1254"
    hungarian = re.search(rb"[\xf5\xfb]", sample) and re.search(rb"[\xf6\xfc]", sample)
    if _CENTRAL.search(sample) or (hungarian and re.search(rb"[\xe1\xe9]", sample)):
        try:
            sample.decode("cp1250")
        except UnicodeDecodeError:
            return None
        return "cp1250"
    return None


#: Bytes that begin a character of everyday use: of Shift JIS (also half of Windows-1252's rare signs), of
#: GB 2312's first level, of Big5's frequent ones.
_LEADS = {"cp932": range(0x81, 0xA0), "gb18030": range(0xB0, 0xD8), "big5": range(0xA4, 0xC7)}


def _eastern(raw: bytes) -> str | None:
    """Shift JIS, EUC-JP, GB 18030 or Big5, where the bytes are its everyday characters; else None.

    Letters of Western Europe above ASCII stand alone, with plain letters behind them, so pairs whose second byte is
    above ASCII too are asked for; two everyday characters, nine of ten of all there are, are taken for it.
    """
    sample = raw[:200_000]
    sample = sample[: sample.rfind(b"\n") + 1] or sample
    for name in ("cp932", "euc_jp", "cp949", "gb18030", "big5"):
        try:
            text = sample.decode(name)
        except UnicodeDecodeError:
            continue
        foreign = [sign for sign in text if ord(sign) > 127]
        if name == "cp949":
            # Half of the Chinese everyday characters have the bytes of Korean syllables.
            hangul = sum("\uac00" <= sign <= "\ud7a3" for sign in foreign)
            if hangul >= 0.95 * len(foreign) and _KOREAN.search(text):
                return name
            continue
        words = [sign for sign in foreign if _IDEOGRAPH.match(sign) or _KANA.match(sign)]
        known = len(words) + sum(_BESIDE.match(sign) is not None for sign in foreign)
        if len(words) < 2 or known < 0.9 * len(foreign):
            continue
        if name == "euc_jp":
            kana = sum(_KANA.match(sign) is not None for sign in words)
            if kana >= max(1, 0.1 * len(words)):
                return name
            continue
        pairs = [sign.encode(name) for sign in words]
        firsts = sum(pair[0] in _LEADS[name] for pair in pairs)
        high = sum(pair[1] >= 0xA1 for pair in pairs)
        if firsts >= 0.6 * len(pairs) and high >= _HIGH[name] * len(pairs):
            return name
    return None


#: Least share of characters whose second byte is above ASCII, where the first may be a Western capital.
_HIGH = {"cp932": 0.0, "gb18030": 0.9, "big5": 0.3}


def _lines(text: str, begin: int = 0) -> Iterator[str]:
    """Line by line, for the first few of very many."""
    while (end := text.find("\n", begin)) >= 0:
        yield text[begin:end]
        begin = end + 1
    if begin < len(text) or not begin:
        yield text[begin:]


def _header(text: str, begin: int, mark: str, data: Data, row: int) -> tuple[list[str], int]:
    """Names of the columns, and how many lines they take: a quoted name may run over several."""
    reader = csv.reader((f"{line}\n" for line in _lines(text, begin)), delimiter=mark)
    try:
        names = next(reader, [])
    except csv.Error:
        raise InputError(
            f"{data.file} line {row + 1}", "has a header that cannot be read", "check its quotes"
        ) from None
    return [name.strip() for name in names], reader.line_num


def _cells(body: bytes, mark: str, names: list[str], data: Data, line: int) -> pd.DataFrame:
    """Cells of the lines below the header; lines of another length are mended in their places."""
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
    if uneven:
        found = _with_uneven(found, uneven, mark, data, line)
    found.index = _line_numbers(found, line) if quoted else pd.RangeIndex(line, line + len(found))
    if quoted and len(found):
        _check_last_quote(body, int(found.index[-1]) - line, mark, data)
    return found


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
                "check its delimiter and quotes",
            )
        filled.append((cells + [""] * width)[:width])
    places = np.array(list(uneven))
    others = np.delete(np.arange(len(found) + places.size), places)
    added = pd.DataFrame(filled, columns=found.columns, index=places).astype(found.dtypes.iloc[0])
    return pd.concat([found.set_axis(others), added]).sort_index()


def _line_numbers(cells: pd.DataFrame, line: int) -> Any:
    """Line of the file each row begins in; rows with quoted line breaks span several."""
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
