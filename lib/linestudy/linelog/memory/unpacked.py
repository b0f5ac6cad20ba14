"""One file of a line log in memory, unpacked once for all that is asked of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from linestudy.results import InputError

if TYPE_CHECKING:
    from pathlib import Path

    import pyarrow as pa


@dataclass(frozen=True)
class LogColumns:
    """The columns of one file of a line log.

    Attributes
    ----------
    table : pyarrow.Table
        ``order``, tags and a column for each characteristic; one piece of memory each.
    """

    table: pa.Table

    @property
    def names(self) -> list[str]:
        """Names of the columns."""
        return list(self.table.column_names)

    @cached_property
    def order(self) -> NDArray[np.float64]:
        """Order numbers, shape (parts,)."""
        return self.values("order")

    def values(self, name: str) -> NDArray[np.float64]:
        """Return a column of numbers, NaN where there is none; it must not be written to."""
        return np.asarray(self.table.column(name).to_numpy(), dtype=float)

    def numbers(self, name: str) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
        """Return a column of numbers as it lies in memory, and the rows that have none, where anything may stand."""
        column = self.table.column(name)
        if column.num_chunks != 1 or str(column.type) != "double":
            values = self.values(name)
            return values, np.flatnonzero(np.isnan(values))
        piece = column.chunk(0)
        values = np.frombuffer(piece.buffers()[1], dtype=float)
        values = values[piece.offset : piece.offset + len(piece)]
        if not piece.null_count:
            return values, np.empty(0, dtype=np.int64)
        return values, np.flatnonzero(piece.is_null().to_numpy(zero_copy_only=False))

    def whole(self, name: str) -> bool:
        """Check whether every part has an entry."""
        return int(self.table.column(name).null_count) == 0

    def coded(self, name: str) -> tuple[list[str | None], NDArray[np.int32]]:
        """List the different entries of a text column in order, with each part's entry as a number.

        Parts without an entry come last, as one that is None.
        """
        if name not in self._known:
            self._known[name] = self._codes_of(name)
        return self._known[name]

    @cached_property
    def _known(self) -> dict[str, tuple[list[str | None], NDArray[np.int32]]]:
        return {}

    def _codes_of(self, name: str) -> tuple[list[str | None], NDArray[np.int32]]:
        column = self.table.column(name).combine_chunks().dictionary_encode()
        found = column.dictionary.to_pylist()
        codes = column.indices.fill_null(len(found)).to_numpy()
        ranked = sorted(range(len(found)), key=lambda at: found[at])
        rank = np.empty(len(found) + 1, dtype=np.int32)
        rank[ranked] = np.arange(len(found), dtype=np.int32)
        rank[-1] = len(found)
        rest: list[str | None] = [None] if column.null_count else []
        return [*(found[at] for at in ranked), *rest], rank[codes]

    def taken(self, size: int, every: int) -> LogColumns:
        """Keep the rows of subgroups: the first `size` of every `every` order numbers, as `queries.taken` does."""
        if not self.order.size:
            return self
        place = self.order - self.order.min()
        whole = place.astype(np.int64)
        # Whole numbers are divided in a third of the time.
        inside = whole % every < size if (whole == place).all() else np.fmod(place, every) < size
        return LogColumns(self.table.take(np.flatnonzero(inside)).combine_chunks())

    def with_codes(self) -> tuple[pa.Table, dict[str, pa.Array]]:
        """Return the table with whole numbers for texts of a few kinds, which an engine groups by faster, and the texts in order.

        A number is the place of a text among those of its column; without an entry there is none.
        """
        import pyarrow as pa
        import pyarrow.compute as pc

        table, texts = self.table, {}
        for at, name in enumerate(self.names):
            if name not in _KINDS:
                continue
            column = table.column(name).combine_chunks().dictionary_encode()
            place = pc.sort_indices(column.dictionary)
            rank = np.empty(len(place), dtype=np.min_scalar_type(len(place)))
            rank[place.to_numpy()] = np.arange(len(place))
            texts[name] = column.dictionary.take(place)
            table = table.set_column(at, name, pa.array(rank).take(column.indices))
        return table, texts


def in_words(answer: pa.Table, texts: dict[str, pa.Array]) -> pa.Table:
    """Put texts back for their numbers in an answer about a table with codes."""
    for at, name in enumerate(answer.column_names):
        if name in texts:
            answer = answer.set_column(
                at, name, texts[name].take(answer.column(name).combine_chunks())
            )
    return answer


#: Columns of text of which many rows hold the same.
_KINDS = ["coil", "stop", "station", "verdict", "reason"]


def read_columns(path: Path) -> LogColumns:
    """Read a file of a line log, on one core: another one is at work on the file before.

    Parameters
    ----------
    path : pathlib.Path

    Returns
    -------
    LogColumns

    Raises
    ------
    InputError
        It is damaged.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        # Texts of a few kinds stay numbers of kinds, which takes a quarter of the time to read and less to group by.
        there = [name for name in pq.read_schema(path).names if name in _KINDS]
        with pq.ParquetFile(path, page_checksum_verification=True, read_dictionary=there) as file:
            return LogColumns(file.read(use_threads=False).combine_chunks())
    except (pa.ArrowException, OSError) as error:
        raise InputError(
            f"{path.parent.name}/{path.name}",
            f"is damaged ({type(error).__name__})",
            "delete it and write the log again; only that day is read",
        ) from None
