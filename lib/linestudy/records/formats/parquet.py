"""Parquet and Feather files as cells of text; numbers and clocks that the file holds as such stay what they are."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.records.conversions import cell_as_text
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd
    import pyarrow as pa

    from linestudy.study.model import Data


def parquet_cells(
    raw: bytes, data: Data, numbers: frozenset[str] = frozenset(), clock: str | None = None
) -> pd.DataFrame:
    """Read the cells of a parquet file, indexed by row counted from 1.

    Parameters
    ----------
    raw : bytes
        The file.
    data : linestudy.study.model.Data
        Its name, ``largest_mb`` and the marks its numbers are written with.
    numbers : frozenset of str
        Columns that stay numbers (NaN where there is none) if the file holds them as such.
    clock : str, optional
        Column that stays times if the file holds them as such. Everything else becomes text.

    Returns
    -------
    pandas.DataFrame
        One column for each of the file, in its order.

    Raises
    ------
    InputError
        Damaged, or unpacks to more than ``largest_mb``.
    """
    import pandas as pd
    import pyarrow as pa

    # A damaged file fails in as many ways as it has bytes; all mean the same to the reader.
    try:
        arrow = _flat(_table(raw, data), data)
        cells = {
            str(name): _numbers(arrow.column(i), data)
            if name in numbers
            else _cells(arrow.column(i), data, name == clock)
            for i, name in enumerate(arrow.column_names)
        }
    except InputError:
        raise
    except (pa.ArrowException, OSError, ValueError, OverflowError, KeyError, TypeError) as error:
        what = type(error).__name__
        kind = "parquet" if raw.startswith(b"PAR1") else "Feather"
        raise InputError(data.file, f"is not sound {kind} ({what})", "write it again") from None
    return pd.DataFrame(cells, index=pd.RangeIndex(1, arrow.num_rows + 1), copy=False)


def _table(raw: bytes, data: Data) -> pa.Table:
    """Read the table of a parquet or Feather file, once it is known what it unpacks to."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    if not raw.startswith((b"ARROW1", b"FEA1")):
        file = pq.ParquetFile(pa.BufferReader(raw))
        groups = range(file.metadata.num_row_groups)
        _refuse_beyond(sum(file.metadata.row_group(i).total_byte_size for i in groups), data)
        return file.read(use_threads=False)
    from pyarrow import feather

    table = feather.read_table(pa.BufferReader(raw))
    _refuse_beyond(table.nbytes, data)
    return table


def _refuse_beyond(size: int, data: Data) -> None:
    if size > data.largest_mb * 1e6:
        raise InputError(
            data.file,
            f"unpacks to more than {data.largest_mb:g} MB",
            "raise largest_mb in its [[data]] table, or make a line log of it",
        )


#: Records within records are few deep.
_DEEPEST = 8


def _flat(table: pa.Table, data: Data) -> pa.Table:
    """Turn columns of records, {width, gap}, into columns of their own, "m.width" and "m.gap"."""
    import pyarrow as pa

    for _ in range(_DEEPEST):
        if not any(pa.types.is_struct(kind) for kind in table.schema.types):
            break
        table = table.flatten()
    for name, kind in zip(table.column_names, table.schema.types, strict=True):
        if pa.types.is_list(kind) or pa.types.is_large_list(kind):
            raise InputError(
                data.file,
                f'has several values in each cell of "{name}"',
                "write one value in each cell: one row for each reading, or one column for each place",
            )
    return table


def _numbers(column: pa.ChunkedArray, data: Data) -> Any:
    """Read a column as numbers if it has any, else as text."""
    import pyarrow as pa

    kind = column.type
    if pa.types.is_integer(kind) or kind in (pa.float32(), pa.float64()):
        found = np.asarray(column.cast(pa.float64(), safe=False).to_numpy(), dtype=float)
        # What is neither a number nor counts as none is for the reader of text to refuse, with its line.
        empty = "" in (mark.strip() for mark in data.missing)
        if not np.isinf(found).any() and (empty or not np.isnan(found).any()):
            return found
    return _cells(column, data, clock=False)


def _cells(column: pa.ChunkedArray, data: Data, clock: bool) -> Any:
    """Read a column as text, or as times if it is the clock and has them."""
    import pandas as pd
    import pyarrow as pa
    import pyarrow.compute as pc

    kind = column.type
    # A clock of a zone is read as text with its offset, of which the record has to tell; in UTC it counts already.
    if clock and pa.types.is_timestamp(kind) and kind.tz in (None, "UTC", "Etc/UTC"):
        return column.cast(pa.timestamp(kind.unit)).to_numpy()
    text = pd.StringDtype("pyarrow", na_value=float("nan"))
    if pa.types.is_string(kind) or pa.types.is_large_string(kind):
        filled = pc.fill_null(column, "").cast(pa.large_string())
        return filled.to_pandas(types_mapper={pa.large_string(): text}.get).array
    return pd.array([cell_as_text(value, data) for value in column.to_pylist()], dtype=text)
