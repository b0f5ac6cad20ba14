"""What one file of a line log answered, and how it is kept beside the log.

Its tables (subgroups, quarter hours, …) stay in their files once they are kept and are read by the column, so that
a log of years is summed in the memory of a day. A file that is kept is named by the content of the log's
file and the questions asked, and believed only while its own hash is right.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.results import InputError

if TYPE_CHECKING:
    import pyarrow as pa

#: What is kept: the short answers behind their own sum, so that damaged ones are not believed.
_KEPT = re.compile(r'\{"sha256": "([0-9a-f]{64})", "summary": (.*)\}', re.DOTALL)


@dataclass(frozen=True)
class FileSums:
    """The answers of one file of a log.

    Attributes
    ----------
    short : dict
        ``rows``, ``origin`` (first order number, or None), ``lagged`` and ``counts``.
    tables : mapping of str to pyarrow.Table or pathlib.Path
        ``subgroups``, ``quarter_hours`` and ``histogram``, or where they are kept.
    """

    short: dict[str, Any]
    tables: Mapping[str, pa.Table | Path]

    def names(self, table: str) -> list[str]:
        """List the columns of one of the tables."""
        held = self.tables[table]
        if isinstance(held, Path):
            return [str(name) for name in _opened(held, None).schema.names]
        return list(held.column_names)

    def columns(self, table: str, names: Sequence[str]) -> pa.Table:
        """Read columns of one of the tables, in this order.

        Raises
        ------
        InputError
            They were kept beside the log and are there no more.
        """
        held = self.tables[table]
        if isinstance(held, Path):
            return _opened(held, list(names)).read_all().select(list(names))
        return held.select(list(names))


def _opened(path: Path, names: list[str] | None) -> Any:
    import pyarrow as pa

    try:
        source = pa.memory_map(str(path))
        file = pa.ipc.open_file(source)
        if names is None:
            return file
        options = pa.ipc.IpcReadOptions(
            included_fields=[file.schema.get_field_index(n) for n in names]
        )
        return pa.ipc.open_file(source, options=options)
    except (OSError, pa.ArrowInvalid):
        raise InputError(
            path.parent.name, "does not hold what was summed any more", "sum the log again"
        ) from None


def keep(store: Path, key: str, part: FileSums) -> FileSums:
    """Keep the answers of one file in the store, under its key; what is kept of them needs no memory.

    Parameters
    ----------
    store : pathlib.Path
    key : str
    part : FileSums

    Returns
    -------
    FileSums
        Its tables are those in the store.
    """
    import pyarrow as pa

    store.mkdir(parents=True, exist_ok=True)
    hashes, places = {}, {}
    for name, table in part.tables.items():
        assert not isinstance(table, Path)
        sink = pa.BufferOutputStream()
        with pa.ipc.new_file(sink, table.schema) as writer:
            writer.write_table(table.combine_chunks())
        content = sink.getvalue()
        hashes[name] = hashlib.sha256(content).hexdigest()
        places[name] = _write(store, f"{key}.{name}.arrow", content)
    # The short answers come last: whoever finds them finds the tables too.
    text = json.dumps({**part.short, "tables": hashes}, sort_keys=True)
    digest = hashlib.sha256(text.encode()).hexdigest()
    _write(store, f"{key}.json", f'{{"sha256": "{digest}", "summary": {text}}}'.encode())
    return FileSums(part.short, places)


def _write(store: Path, name: str, content: Any) -> Path:
    rough = store / f".{name}.{os.getpid()}"
    rough.write_bytes(content)
    return rough.replace(store / name)


def recall(store: Path | None, key: str) -> FileSums | None:
    """Recall the answers kept under a key; None where there are none, or none that are valid.

    Parameters
    ----------
    store : pathlib.Path or None
    key : str

    Returns
    -------
    FileSums or None
    """
    if store is None:
        return None
    try:
        kept = _KEPT.fullmatch((store / f"{key}.json").read_text(encoding="utf-8"))
        if kept is None or kept[1] != hashlib.sha256(kept[2].encode()).hexdigest():
            return None
        short = json.loads(kept[2])
        tables = {}
        for name, digest in short.pop("tables").items():
            tables[name] = store / f"{key}.{name}.arrow"
            if digest != hashlib.sha256(tables[name].read_bytes()).hexdigest():
                return None
        return FileSums(short, tables)
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None
