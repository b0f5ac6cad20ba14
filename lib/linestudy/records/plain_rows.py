"""Rows of a text without quotes, by Arrow's reader: several times as quick as reading cell by cell.

A text without quotes whose lines all hold as many cells as the header reads the same in every
way there is to read it. A camera's file goes further: its order numbers only rise and its readings are
numbers or marks of none, so they are numbers at once and never text. Whatever is not that simple
is left to the slower way, which gives the same where both can read.
"""

from __future__ import annotations

import codecs
from typing import TYPE_CHECKING

from linestudy.records.numbers import as_number

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

#: Bytes taken at once. One block where it fits: a column is then one piece of memory.
_BLOCK = 1 << 26


def plain_bytes(raw: bytes, data: Data) -> bytes | None:
    """UTF-8 with newlines and without quotes, if that is what the bytes can be taken for.

    Whether all of it is UTF-8 is not looked at here: the columns of text are checked as they are read, and
    what stands in a column of numbers is ASCII or no number.
    """
    if data.encoding is not None and not (raw.isascii() and _writes_ascii(data.encoding)):
        return None
    raw = raw.removeprefix(codecs.BOM_UTF8)
    if b"\r" in raw:
        raw = raw.replace(b"\r\n", b"\n")
    return None if any(sign in raw for sign in (b"\r", b"\x00", b'"')) else raw


def _writes_ascii(encoding: str) -> bool:
    """Whether the encoding writes the signs of ASCII as ASCII does."""
    signs = "".join(map(chr, range(128)))
    try:
        return signs.encode(encoding).removeprefix(codecs.BOM_UTF8) == signs.encode()
    except (LookupError, UnicodeError):
        return False


def may_be_plain(data: Data) -> bool:
    """Whether study.toml describes a run whose numbers may be read at once."""
    if data.role != "run" or data.order is None or data.long is not None:
        return False
    return not data.thousands and not data.skip_rows_after_header and data.decimal == "."


def rows_of_a_run(
    body: bytes, mark: str, names: list[str], numbers: frozenset[str], data: Data
) -> pd.DataFrame | None:
    """Cells of a run with order numbers and readings as numbers (NaN for a mark of none); else None.

    Parameters
    ----------
    body : bytes
        From the header's line on, as :func:`plain_bytes` gives them.
    mark : str
        Delimiter.
    names : list of str
        Of all columns.
    numbers : frozenset of str
        Columns that hold order numbers or readings and nothing else.
    data : linestudy.study.model.Data

    Returns
    -------
    pandas.DataFrame of str and float, or None
        Order numbers are present in every row and rise strictly, so no row is blank or repeated.
    """
    import numpy as np

    if not numbers <= set(names) or data.order not in numbers:
        return None
    # Where a mark of no reading is a number (9999), an order number may look like it: none is sought there.
    numeric = any(as_number(mark, data) is not None for mark in data.missing)
    apart = data.order if numeric else None
    table = _read(body, mark, names, tuple(numbers - {apart}), data.missing, apart)
    if table is None or not len(table):
        return None
    order = table[data.order].to_numpy()
    rising = bool((order[1:] > order[:-1]).all()) and np.isfinite(order[0])
    return table if rising else None


def rows_of_text(body: str, mark: str, names: list[str]) -> pd.DataFrame | None:
    """Cells below the first line as text; None where the text is not that simple.

    Parameters
    ----------
    body : str
        From the header's line on, line ends as newlines.
    mark, names
        As for :func:`rows_of_a_run`.

    Returns
    -------
    pandas.DataFrame of str or None
    """
    if '"' in body:
        return None
    try:
        return _read(body.encode(), mark, names, (), (), None)
    except UnicodeEncodeError:
        return None


def _read(
    body: bytes,
    mark: str,
    names: list[str],
    numbers: tuple[str, ...],
    missing: tuple[str, ...],
    order: str | None,
) -> pd.DataFrame | None:
    import pandas as pd
    import pyarrow as pa
    import pyarrow.compute as pc
    from pyarrow import csv as arrow

    if b"\n" not in body:
        return None
    kind = pa.large_string()
    kinds = {name: pa.float64() if name in numbers else kind for name in names}
    try:
        table = arrow.read_csv(
            pa.BufferReader(body),
            read_options=arrow.ReadOptions(
                use_threads=False, column_names=names, skip_rows=1, block_size=_BLOCK
            ),
            parse_options=arrow.ParseOptions(
                delimiter=mark, quote_char=False, ignore_empty_lines=False
            ),
            convert_options=arrow.ConvertOptions(
                column_types=kinds, null_values=list(missing), strings_can_be_null=False
            ),
        )
        if order is not None:
            numbers = (*numbers, order)
            table = table.set_column(names.index(order), order, pc.cast(table[order], pa.float64()))
    except pa.ArrowInvalid:
        return None
    # A number that is none ("nan", "inf") is for the slower way to refuse, with its line.
    if any(pc.all(pc.is_finite(table[name])).as_py() is False for name in numbers):
        return None
    # The kind of text pandas itself reads into.
    text = pd.StringDtype("pyarrow", na_value=float("nan"))
    found: pd.DataFrame = table.to_pandas(types_mapper={kind: text}.get, split_blocks=True)
    return found
