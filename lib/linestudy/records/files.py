"""A study's files as bytes: found inside the folder, unpacked within bounds, never run."""

from __future__ import annotations

import bz2
import difflib
import gzip
import hashlib
import io
import lzma
import re
import zipfile
import zlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.records.written.web_page import is_sheet_xml, is_web_page, text_of_page
from linestudy.results import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from linestudy.study.model import Data


def locate(folder: Path, name: str, largest_mb: float = 400.0) -> Path:
    """Find the path of a file, once it is certain that it lies inside the folder.

    Parameters
    ----------
    folder : pathlib.Path
        The study folder.
    name : str
        Path from study.toml, relative to the folder.
    largest_mb : float
        Most megabytes the file may have.

    Returns
    -------
    pathlib.Path
        The path, inside the folder.

    Raises
    ------
    InputError
        Absent, a folder, empty, too large, or outside the folder (.., absolute, a link).
    """
    inner = name.replace("\\", "/")
    try:
        path = folder / inner
        if not path.resolve().is_relative_to(folder.resolve()):
            raise InputError(name, "leads out of the study folder", "copy the file into it")
        found = path.is_file()
    except (ValueError, OSError, RuntimeError):
        raise InputError(name, "is not the name of a file", "mend study.toml") from None
    if not found:
        close = difflib.get_close_matches(name, _files_of(folder), n=1, cutoff=0.4)
        hint = f'did you mean "{close[0]}"?' if close else "put it there or mend study.toml"
        raise InputError(name, "is not in the study folder", hint)
    size = path.stat().st_size
    if size == 0:
        raise InputError(name, "is empty", "put the data into it or take it out of study.toml")
    if size > largest_mb * 1e6:
        raise _too_large(name, largest_mb)
    return path


def _files_of(folder: Path) -> list[str]:
    return [str(p.relative_to(folder)) for p in sorted(folder.rglob("*"))[:2000] if p.is_file()]


def _too_large(name: str, largest_mb: float) -> InputError:
    return InputError(
        name,
        f"has more than the {largest_mb:g} MB that are read at once",
        "raise largest_mb in its [[data]] table, or make a line log of it",
    )


def sha256(path: Path) -> str:
    """Compute the SHA-256 of a file's bytes, in hexadecimal."""
    digest = hashlib.sha256()
    with path.open("rb") as stream:
        while block := stream.read(1 << 20):
            digest.update(block)
    return digest.hexdigest()


#: Programs that pack one file.
_PACKERS: dict[str, Any] = {".gz": gzip.open, ".bz2": bz2.open, ".xz": lzma.open}
#: How pictures and PDF files begin.
_PICTURES = (b"\x89PNG\r\n", b"\xff\xd8\xff", b"GIF8", b"%PDF-")


def content(path: Path, data: Data) -> tuple[bytes, str]:
    """Read a file's bytes, unpacked, and the suffix that tells their kind.

    Parameters
    ----------
    path : pathlib.Path
        Plain, ``.gz``, or a ``.zip`` with one member.
    data : linestudy.study.model.Data
        Its ``largest_mb`` bounds what is unpacked.

    Returns
    -------
    raw : bytes
    suffix : str
        Lower case with its dot, of the file inside.

    Raises
    ------
    InputError
        Cannot be unpacked, unpacks to too much, or is a zip with other than one plain member.
    """
    limit = int(data.largest_mb * 1e6)
    suffix = path.suffix.lower()
    try:
        if suffix in _PACKERS:
            with _PACKERS[suffix](path) as stream:
                raw = stream.read(limit + 1)
            suffix = Path(path.stem).suffix.lower() or ".csv"
        elif suffix == ".zip":
            raw, suffix = _member(path, data, limit)
        else:
            raw = path.read_bytes()
    except (OSError, EOFError, zipfile.BadZipFile, zlib.error, lzma.LZMAError) as error:
        raise InputError(data.file, f"cannot be unpacked ({error})", "write it again") from None
    except (RuntimeError, ValueError):
        # zipfile says so of a member that is encrypted or packed by a method it does not know.
        raise InputError(
            data.file,
            "is a zip that is locked, damaged or packed in an unusual way",
            "write it again as an ordinary zip without password",
        ) from None
    if len(raw) > limit:
        raise _too_large(data.file, data.largest_mb)
    if not raw:
        raise InputError(data.file, "is empty", "put the data into it")
    if raw[257:262] == b"ustar":
        raise InputError(
            data.file,
            "is a tar archive",
            "unpack it, and give its files, each packed as gz or zip where it is large",
        )
    if raw.startswith(_PICTURES):
        raise InputError(
            data.file, "is a picture or a PDF and no table", "give the file of its numbers"
        )
    if is_web_page(raw):
        raw, suffix = _tables_of_page(raw, data), ".txt"
    suffix = _kind(raw, suffix, data)
    if suffix not in _NO_LINES:
        _check_lines(raw, data)
    return raw, suffix


#: How workbooks of the old kind, packed ones, and web pages and sheets in XML begin.
_OLD_BOOK, _PACKED = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", b"PK\x03\x04"
_MARKUP = re.compile(rb"\s*(?:\xef\xbb\xbf)?\s*(?:<\?xml|MIME-Version:)", re.IGNORECASE)
_FEATHER = (b"ARROW1", b"FEA1")
_BOOKS = (".xls", ".xlsx", ".xlsm", ".ods")


def _tables_of_page(raw: bytes, data: Data) -> bytes:
    text = text_of_page(raw)
    if not text:
        raise InputError(
            data.file,
            "is a web page without a table",
            "open it in a browser, copy its table into a spreadsheet, and give that as .xlsx",
        )
    return text.encode("utf-8-sig")


def _kind(raw: bytes, suffix: str, data: Data) -> str:
    """Choose the suffix that the bytes call for: some .xls files are text, some .csv files workbooks."""
    if raw.startswith(_PACKED) and b"opendocument" in raw[:120]:
        if b"opendocument.spreadsheet" in raw[:120]:
            return ".ods"
        raise InputError(
            data.file, "is an OpenDocument file that is no workbook", "give the file of its numbers"
        )
    if raw.startswith(_OLD_BOOK):
        return ".xls"
    if raw.startswith(_PACKED):
        return ".xlsx" if suffix not in _BOOKS[1:3] and _is_book(raw) else suffix
    if is_sheet_xml(raw):
        return ".xls"
    if suffix in _BOOKS and _MARKUP.match(raw):
        raise InputError(
            data.file,
            "is XML or a bundled page by its content, though its name is that of a workbook",
            "open it in a spreadsheet program, save it as .xlsx, and give that file",
        )
    if raw.startswith(_FEATHER):
        return ".feather"
    if (
        suffix in _BOOKS
        and raw[:2] != b"PK"
        and (b"\x00" not in raw[:2000] or raw[:2] in (b"\xff\xfe", b"\xfe\xff"))
    ):
        # Many a program writes text and calls it .xls or .xlsx, so that it opens with a click.
        return ".txt"
    return suffix


def holds_qif(path: Path) -> bool:
    """Check whether a file is taken for QIF: by its ending, unless it is a workbook in XML."""
    if path.suffix.lower() not in (".qif", ".xml"):
        return False
    with path.open("rb") as stream:
        return not is_sheet_xml(stream.read(4_000))


def _is_book(raw: bytes) -> bool:
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as bundle:
            return "xl/workbook.xml" in bundle.namelist()
    except (zipfile.BadZipFile, OSError, EOFError, ValueError, RuntimeError, zlib.error):
        return False


#: Kinds of file that are not read line by line.
_NO_LINES = frozenset([
    ".parquet", ".feather", ".qif", ".xml", ".xlsx", ".xlsm", ".xls", ".ods", ".json", ".jsonl", ".ndjson",
])  # fmt: skip
#: Most bytes of a line: thousands of columns fit, and no reader hangs over it.
_LONGEST_LINE = 1_000_000


def _check_lines(raw: bytes, data: Data) -> None:
    """Refuse a line that readers of text would take minutes over; looked for in leaps, not byte by byte."""
    at = 0
    while len(raw) - at > _LONGEST_LINE:
        end = at + _LONGEST_LINE
        last = max(raw.rfind(b"\n", at, end), raw.rfind(b"\r", at, end))
        if last < 0:
            line = len(raw[:at].splitlines()) + 1
            raise InputError(
                f"{data.file} line {line}",
                f"is longer than {_LONGEST_LINE:,} bytes",
                "write one part per line",
            )
        at = last + 1


def _member(path: Path, data: Data, limit: int) -> tuple[bytes, str]:
    """Read the only member of a zip; its name is only looked at, nothing is written to disk."""
    with zipfile.ZipFile(path) as bundle:
        members = [info for info in bundle.infolist() if not _is_litter(info)]
        if len(members) != 1:
            raise InputError(
                data.file,
                f"is a zip with {len(members)} files inside",
                "unpack it, and give the files that belong to the study themselves, one for each [[data]] table",
            )
        info = members[0]
        name = info.filename.replace("\\", "/")
        unsafe = name.startswith("/") or ":" in name or ".." in name.split("/")
        link = (info.external_attr >> 16) & 0o170000 == 0o120000
        if unsafe or link:
            raise InputError(
                data.file,
                f'is a zip whose member "{name[:60]}" leads outside',
                "pack the plain file",
            )
        with bundle.open(info) as stream:
            return stream.read(limit + 1), Path(name).suffix.lower()


def _is_litter(info: zipfile.ZipInfo) -> bool:
    """Check whether a member is a folder, or what an operating system packs beside the files."""
    parts = info.filename.replace("\\", "/").split("/")
    litter = {"__MACOSX", ".DS_Store", "Thumbs.db", "desktop.ini"}
    return info.is_dir() or parts[0] == "__MACOSX" or parts[-1] in litter


def guarded_workbook(raw: bytes, data: Data) -> io.BytesIO:
    """Hand on the bytes of a workbook after checking what size they unpack to.

    Raises
    ------
    InputError
        Not a zip container, or one that unpacks to more than ``largest_mb``.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as bundle:
            total = sum(info.file_size for info in bundle.infolist())
    except (zipfile.BadZipFile, ValueError, OSError, RuntimeError):
        raise InputError(
            data.file, "is not a workbook of its kind", "save it again as xlsx"
        ) from None
    if total > data.largest_mb * 1e6:
        raise _too_large(data.file, data.largest_mb)
    return io.BytesIO(raw)


def line_of(data: Data, row: int) -> int:
    """Return the line of the file that contains a row.

    Tables carry it as their index (row of the sheet for a workbook, row counted
    from 1 for parquet).
    """
    return row


def joined_columns(table: pd.DataFrame, names: Sequence[str]) -> pd.Series:
    """Join the cells of several columns by blanks, "Bore 1" and "X" to "Bore 1 X"; those of one stay.

    Parameters
    ----------
    table : pandas.DataFrame of str
    names : sequence of str

    Returns
    -------
    pandas.Series of str
    """
    first, *others = (table[name].str.strip() for name in names)
    for other in others:
        first = (first + " " + other).str.strip()
    return first


def column(table: pd.DataFrame, name: str, data: Data) -> pd.Series:
    """Give a column by its name in the file.

    Raises
    ------
    InputError
        No such column, or more than one; the message names the nearest.
    """
    where = f"{data.file} line {table.attrs.get('header_line', 1)}"
    if name in table.columns:
        found = table[name]
        if getattr(found, "ndim", 1) == 2:
            raise InputError(where, f'has the column "{name}" twice', "rename one of them")
        return found
    names = [str(n) for n in table.columns]
    close = difflib.get_close_matches(name, names, n=1, cutoff=0.4)
    lowered = [n for n in names if n.lower() == name.lower()]
    hint = lowered or close
    todo = f'did you mean "{hint[0]}"?' if hint else f"its columns are {', '.join(names[:12])}"
    raise InputError(where, f'has no column "{name}"', todo)
