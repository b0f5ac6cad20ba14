"""Files of a study folder as tables of text, before anything is believed about them."""

from __future__ import annotations

import difflib
import gzip
import hashlib
from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.core import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

#: A study's file is somebody else's data; more than this is not read into memory.
LARGEST_BYTES = 400_000_000

_DELIMITERS = (",", ";", "\t", "|")
_UNPACKED_LIMIT = 2_000_000_000


def locate(folder: Path, name: str) -> Path:
    """The file's path, once it is certain that it lies inside the folder.

    Parameters
    ----------
    folder : pathlib.Path
        The study folder.
    name : str
        Path from study.toml, relative to the folder.

    Returns
    -------
    pathlib.Path

    Raises
    ------
    InputError
        Absent, a folder, too large, or reached through a link that leads outside.
    """
    path = folder / name.replace("\\", "/")
    if not path.is_file():
        close = difflib.get_close_matches(name, _files_of(folder), n=1, cutoff=0.4)
        hint = f'did you mean "{close[0]}"?' if close else "put it there or mend study.toml"
        raise InputError(name, "is not in the study folder", hint)
    if not path.resolve().is_relative_to(folder.resolve()):
        raise InputError(name, "is a link that leads out of the study folder", "copy the file in")
    size = path.stat().st_size
    if size == 0:
        raise InputError(name, "is empty", "put the data into it or take it out of study.toml")
    if size > LARGEST_BYTES:
        raise InputError(
            name,
            f"has {size / 1e6:.0f} MB, more than the {LARGEST_BYTES / 1e6:.0f} MB read at once",
            "make a line log of it first",
        )
    return path


def _files_of(folder: Path) -> list[str]:
    return [str(p.relative_to(folder)) for p in sorted(folder.rglob("*"))[:2000] if p.is_file()]


def sha256(path: Path) -> str:
    """SHA-256 of a file's bytes, in hexadecimal."""
    digest = hashlib.sha256()
    with path.open("rb") as stream:
        while block := stream.read(1 << 20):
            digest.update(block)
    return digest.hexdigest()


def read_text_table(path: Path, data: Data) -> pd.DataFrame:
    """A file's cells as text, one column per header, nothing converted.

    Parameters
    ----------
    path : pathlib.Path
        csv, csv.gz, tsv or parquet.
    data : linestudy.study.model.Data
        How the file is written.

    Returns
    -------
    pandas.DataFrame
        Text in every cell; the index counts data rows from 0.

    Raises
    ------
    InputError
        Not readable as a table.
    """
    import pandas as pd

    if path.suffix == ".parquet":
        try:
            table = pd.read_parquet(path)
        except Exception as error:
            raise InputError(
                data.file, f"is not parquet ({type(error).__name__})", "write it again"
            ) from None
        return table.astype(object).where(table.notna(), "").map(_as_text)
    text = _decoded(path, data)
    header = (data.header_row or 1) - 1
    lines = text.split("\n", header + 1)
    if len(lines) <= header or not lines[header].strip():
        raise InputError(data.file, "has no header row", "name the columns in its first row")
    delimiter = data.delimiter or _delimiter(lines[header])
    import io

    try:
        table = pd.read_csv(
            io.StringIO(text),
            sep=delimiter,
            dtype=str,
            keep_default_na=False,
            skiprows=header,
            skip_blank_lines=False,
            index_col=False,
        )
    except (pd.errors.ParserError, pd.errors.EmptyDataError, ValueError) as error:
        what = " ".join(str(error).split())
        raise InputError(
            data.file, f"cannot be read as a table ({what})", "check its delimiter"
        ) from None
    if data.skip_rows_after_header:
        table = table.iloc[data.skip_rows_after_header :]
    table.columns = [str(name).strip() for name in table.columns]
    # Blank lines at the end are not rows; blank lines between rows stay and are counted.
    filled = (table != "").any(axis=1).to_numpy().nonzero()[0]
    table = table.iloc[: filled[-1] + 1] if filled.size else table.iloc[:0]
    return table.fillna("")


def _as_text(value: object) -> str:
    return value if isinstance(value, str) else str(value)


def _decoded(path: Path, data: Data) -> str:
    try:
        if path.suffix == ".gz":
            with gzip.open(path) as stream:
                raw = stream.read(_UNPACKED_LIMIT + 1)
            if len(raw) > _UNPACKED_LIMIT:
                raise InputError(
                    data.file, "unpacks to more than 2 GB", "make a line log of it first"
                )
        else:
            raw = path.read_bytes()
    except (OSError, EOFError) as error:
        raise InputError(data.file, f"cannot be unpacked ({error})", "write it again") from None
    encoding = data.encoding or _encoding(raw)
    try:
        text = raw.decode(encoding)
    except (UnicodeDecodeError, LookupError):
        raise InputError(
            data.file, f"is not {encoding} text", 'name its encoding in study.toml, e.g. "cp1252"'
        ) from None
    return text.replace("\r\n", "\n").replace("\r", "\n").replace("\x00", "�")


def _encoding(raw: bytes) -> str:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    try:
        raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8-sig"


def _delimiter(header: str) -> str:
    return max(_DELIMITERS, key=header.count)


def line_of(data: Data, row: int) -> int:
    """Line of the file in which a data row stands, counting the header."""
    return (data.header_row or 1) + data.skip_rows_after_header + row + 1


def column(table: pd.DataFrame, name: str, data: Data) -> pd.Series:
    """A column by its name in the file.

    Raises
    ------
    InputError
        No such column; the message names the nearest.
    """
    if name in table.columns:
        found = table[name]
        return found.iloc[:, 0] if getattr(found, "ndim", 1) == 2 else found
    names = [str(n) for n in table.columns]
    close = difflib.get_close_matches(name, names, n=1, cutoff=0.4)
    lowered = [n for n in names if n.lower() == name.lower()]
    hint = lowered or close
    todo = f'did you mean "{hint[0]}"?' if hint else f"its columns are {', '.join(names[:12])}"
    raise InputError(f"{data.file} line {data.header_row or 1}", f'has no column "{name}"', todo)
