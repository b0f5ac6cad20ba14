"""A line log: daily files of any line, screened into one partitioned parquet folder.

Each file is read and screened exactly like a study's run, one on each core, so memory is that
of one day per core however many days there are, and its account of rows is kept beside its rows.
A file of the log is named by the SHA-256 of what it was made from and of the settings it was
made with: a run that was interrupted is taken up again, and one more day costs one day.
"""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from linestudy.records.files import locate, sha256
from linestudy.records.ledger import CellSetAside, FileAccount, Ledger, ValueCount
from linestudy.results import Finding, InputError
from linestudy.running.workers import run_all

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd

    from linestudy.study.load import Study
    from linestudy.study.model import Data

_SUFFIXES = (".csv", ".tsv", ".txt", ".gz", ".zip", ".parquet", ".xlsx")
#: Rows that DuckDB reads in one go; its threads share out a file by them.
_ROW_GROUP = 122_880
#: Changes when the rows a file is turned into would change.
_FORM = "2"


@dataclass(frozen=True)
class LineLog(Finding):
    """A log that was written, and the account of every row in it.

    Attributes
    ----------
    folder : pathlib.Path
        Where the log is; not recorded.
    accounts : tuple of FileAccount
        One per daily file.
    read_now : int
        Files read in this run; not recorded.
    kept : int
        Files that were in the log already; not recorded.
    """

    folder: Path = field(repr=False)
    accounts: tuple[FileAccount, ...]
    read_now: int = field(repr=False)
    kept: int = field(repr=False)
    cautions: tuple[str, ...] = ()
    title: ClassVar[str] = "Line log"

    @property
    def statement(self) -> str:
        read = sum(account.rows_read for account in self.accounts)
        used = sum(account.rows_used for account in self.accounts)
        return (
            f"The log holds {used:,} of {read:,} rows of {len(self.accounts)} files; "
            f"{read - used:,} are set aside with their reasons. {self.read_now} files were read "
            f"now, {self.kept} were in the log already."
        )

    def shown(self) -> pd.DataFrame:
        return Ledger(self.accounts).shown()

    def __str__(self) -> str:
        return f"{self.statement}\nWritten: {self.folder}"


def build_log(
    folder: str | Path,
    study: Study,
    *,
    out: str | Path | None = None,
    progress: Callable[[str], None] | None = None,
) -> LineLog:
    """Write a partitioned log from a folder of daily files.

    Parameters
    ----------
    folder : str or pathlib.Path
        Holds the daily files, all written like the study's run.
    study : Study
        Its first [[data]] table of role run says what the columns mean.
    out : str or pathlib.Path, optional
        Folder of the log; ``FOLDER.log`` beside the daily files when absent.
    progress : callable, optional
        Called with each file's name once it is in the log.

    Returns
    -------
    LineLog
        Where it is, and the account of every row.

    Raises
    ------
    InputError
        The folder is missing or holds no such file, a file cannot be used (days already
        read stay in the log), or the study describes no run.

    See Also
    --------
    summarise_log : Sums of what was written.

    Examples
    --------
    See ``linestudy log FOLDER --study STUDY``.
    """
    source = Path(folder)
    if not source.is_dir():
        raise InputError(str(folder), "there is no such folder", "give the folder of daily files")
    data = run_of(study)
    target = Path(out) if out is not None else source.resolve().with_name(f"{source.name}.log")
    names = sorted(
        p.name for p in source.iterdir() if p.is_file() and p.suffix.lower() in _SUFFIXES
    )
    if not names:
        raise InputError(str(folder), "holds no csv, parquet or xlsx file", "give the daily files")
    paths = {name: locate(source, name, data.largest_mb) for name in names}
    digests = _digests(paths)
    keys = {name: _key(study, data, digest) for name, digest in digests.items()}
    known = {name: _known(target, name, keys[name]) for name in names}
    missing = [name for name in names if known[name] is None]

    def tell(number: int) -> None:
        if progress is not None:
            progress(f"{missing[number]} ({number + 1} of {len(missing)})")

    # A day needs no other day: they share the cores.
    tasks = [
        partial(
            _write,
            study,
            data.model_copy(update={"file": name}),
            paths[name],
            digests[name],
            target,
            keys[name],
        )
        for name in missing
    ]
    known |= dict(zip(missing, run_all(tasks, tell), strict=True))
    accounts = tuple(account for account in (known[name] for name in names) if account is not None)
    _forget_changed(target, keys)
    return LineLog(target, accounts, len(missing), len(names) - len(missing))


def run_of(study: Study) -> Data:
    """Return the study's first [[data]] table of role run.

    Raises
    ------
    InputError
        There is none.
    """
    for data in study.data:
        if data.role == "run":
            return data
    raise InputError("study.toml", "describes no run", 'add a [[data]] table with role = "run"')


def _digests(paths: dict[str, Path]) -> dict[str, str]:
    """Compute the SHA-256 of every file; in threads, for hashing releases the interpreter lock."""
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(min(os.cpu_count() or 1, 4)) as threads:
        return dict(zip(paths, threads.map(sha256, paths.values()), strict=True))


def _key(study: Study, data: Data, digest: str) -> str:
    """Compute the SHA-256 over the file and everything that decides how its rows are taken."""
    settings = data.model_dump(mode="json", exclude={"file", "engine", "subgroup"})
    settings["characteristics"] = [
        item.model_dump(mode="json", include={"id", "name", "unit", "bound", "plausible", "upper"})
        for item in study.characteristics
    ]
    settings["gauges"] = [
        gauge.model_dump(mode="json", include={"id", "range"}) for gauge in study.gauges
    ]
    text = json.dumps(settings, sort_keys=True) + _FORM + digest
    return hashlib.sha256(text.encode()).hexdigest()


def _place(target: Path, name: str) -> Path:
    """Name the folder of one daily file within the log, safe for every file system."""
    safe = "".join(c if c.isalnum() or c in "-_." else "_" for c in name)
    if safe != name:
        safe = f"{safe}-{hashlib.sha256(name.encode()).hexdigest()[:8]}"
    return target / f"file={safe}"


def _known(target: Path, name: str, key: str) -> FileAccount | None:
    place = _place(target, name)
    if not (place / f"{key}.parquet").is_file():
        return None
    try:
        content = json.loads((place / f"{key}.json").read_text(encoding="utf-8"))
        notes, cells = content["notes"], content.get("cells", ())
        content["cells"] = tuple(CellSetAside(**cell) for cell in cells)
        content["values"] = {key: ValueCount(**own) for key, own in content["values"].items()}
        return FileAccount(**{**content, "notes": tuple(notes)})
    except (OSError, ValueError, TypeError, KeyError, AssertionError):
        return None


def _write(
    study: Study, data: Data, path: Path, digest: str, target: Path, key: str
) -> FileAccount:
    from dataclasses import asdict

    import pyarrow as pa
    import pyarrow.parquet as pq

    from linestudy.records.read_files import read_source

    # What the file before took is given back.
    pa.default_memory_pool().release_unused()
    source = read_source(study, data, path, digest)
    frame = source.frame.drop(
        columns=[c for c in source.frame if c in ("subgroup", "set_aside") or "␟" in str(c)]
    )
    place = _place(target, data.file)
    place.mkdir(parents=True, exist_ok=True)
    content = json.dumps(asdict(source.account), sort_keys=True, ensure_ascii=False)
    rough = place / f".{key}.{os.getpid()}"
    # The rows come last: whoever finds them finds the account too.
    rough.write_text(content, encoding="utf-8")
    rough.replace(place / f"{key}.json")
    # Days share the cores, and none has two.
    table = pa.Table.from_pandas(frame, preserve_index=False, nthreads=1)
    pq.write_table(
        table,
        rough,
        compression="lz4",
        row_group_size=_ROW_GROUP,
        # A log lies about for months: what the disk lost is to be seen.
        write_page_checksum=True,
        # Every order number is another one: a dictionary of them is work for nothing.
        use_dictionary=[str(name) for name in frame if name != "order"],
        use_byte_stream_split=["order"],
    )
    rough.replace(place / f"{key}.parquet")
    return source.account


def _forget_changed(target: Path, keys: dict[str, str]) -> None:
    """Drop rows of an earlier content of a daily file from the log."""
    for name, key in keys.items():
        for path in _place(target, name).iterdir():
            if key not in path.name:
                path.unlink()
