"""Put the questions of a line log to every file of it once, and keep the answers beside the log."""

from __future__ import annotations

import hashlib
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from linestudy.core import InputError
from linestudy.records import log_expressions as ask
from linestudy.records.engines import Questions, engine, log_files
from linestudy.records.lagged import lagged_products
from linestudy.records.linelog import run_of
from linestudy.records.log_columns import histogram, moments, periods, read_columns, taken
from linestudy.records.log_parts import Part, keep, recall
from linestudy.records.log_summary import LogSummary
from linestudy.workers import in_threads

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    import ibis.expr.types as ir
    import pyarrow as pa

    from linestudy.records.log_expressions import Scale
    from linestudy.study.load import Study

#: Form of what is kept; an older form is read again.
_FORM = "9"


def summarise_log(
    log: str | Path,
    study: Study,
    with_engine: Literal["duckdb", "spark"] | None = None,
    cache: bool = True,
    progress: Callable[[str], None] | None = None,
) -> LogSummary:
    """Sum a line log, file by file; only files not summed before are read.

    Parameters
    ----------
    log : str or pathlib.Path
        Folder written by :func:`linestudy.records.build_log`.
    study : Study
        Its run gives characteristics and subgroups.
    with_engine : {"duckdb", "spark"}, optional
        That of the run's [[data]] table when absent.
    cache : bool
        Keep each file's summary in ``LOG.cache`` beside the log, named by content;
        the folder may be deleted at any time (a summary in use then asks to be made again).
    progress : callable, optional
        Told each file once it is summed.

    Returns
    -------
    LogSummary

    Raises
    ------
    InputError
        The log holds no rows, lacks a column, or Spark is asked for and not there.

    Examples
    --------
    See ``linestudy log FOLDER --study STUDY``, which prints what it wrote.
    """
    folder = Path(log)
    data = run_of(study)
    name = with_engine or data.engine
    scale = ask.scales(study, data)
    files = log_files(folder) if folder.is_dir() else []
    if not files:
        raise InputError(str(log), "is not a line log", "write one with `linestudy log`")
    store = folder.resolve().with_name(f"{folder.resolve().name}.cache") if cache else None
    taking = data.subgroup
    size, every = 5, 5
    if taking is not None and not isinstance(taking, str):
        size, every = taking.size, taking.every or taking.size
    marks = tuple(sorted({float(event.at) for event in study.events if event.at is not None}))
    settings = (size, every, study.line_rate, marks)
    keys = {path: _key(path, name, scale, settings) for path in files}
    found = {path: recall(store, keys[path]) for path in files}
    missing = [path for path in files if found[path] is None]
    if missing:
        with engine(name) as connection:
            answers = _by_engine if name == "spark" else _in_memory
            for number, (path, told) in enumerate(
                answers(connection, missing, scale, settings), start=1
            ):
                if progress is not None:
                    progress(f"{path.parent.name[5:]} ({number} of {len(missing)})")
                found[path] = told if store is None else keep(store, keys[path], told)
    parts = [part for part in (found[path] for path in files) if part is not None]
    cautions = ["Pairs of parts across two daily files are not among the lagged products."]
    if isinstance(taking, str):
        cautions.append("Subgroups by a column are not summed; neighbours in fives were taken.")
    rows = sum(part.short["moments"]["rows"] for part in parts)
    return LogSummary(
        rows, len(files), len(files) - len(missing), scale, tuple(parts), tuple(cautions)
    )


#: Size and distance of subgroups, the line's rate, order numbers of events.
_Settings = tuple[int, int, float | None, tuple[float, ...]]


def _by_engine(
    connection: Any, paths: list[Path], scale: tuple[Scale, ...], settings: _Settings
) -> Iterator[tuple[Path, Part]]:
    """Files whose every question goes to an engine that stands elsewhere and reads them itself."""
    for path in paths:
        table = connection.read_parquet(str(path), table_name="part")
        _has_all(path, scale, list(table.columns))
        asked = _sums(table, ask.taken(table, *settings[:2]), scale=scale, settings=settings)
        for more in (ask.moments, ask.histogram, ask.periods):
            asked[more.__name__] = more(table, scale)
        asked |= {f"lag {lag}": ask.lagged(table, scale, lag) for lag in ask.LAGS}
        found = {name: expression.to_pyarrow() for name, expression in asked.items()}
        found["periods"] = found["periods"].sort_by("from_order")
        short = {
            "moments": found["moments"].to_pylist()[0],
            "lagged": {str(lag): found[f"lag {lag}"].to_pylist() for lag in ask.LAGS},
        }
        yield path, _part(found, short)


def _in_memory(
    connection: Any, paths: list[Path], scale: tuple[Scale, ...], settings: _Settings
) -> Iterator[tuple[Path, Part]]:
    """Files that this process unpacks, a core to each, and asks DuckDB and itself about."""
    questions = Questions(connection, partial(_sums, scale=scale, settings=settings))

    def told(path: Path) -> Part:
        columns = read_columns(path)
        _has_all(path, scale, columns.names)
        whole = frozenset(filter(columns.whole, columns.names))
        inside = taken(columns, *settings[:2])
        found = questions.answers(whole, part=columns.table, taken=inside)
        found["histogram"] = histogram(columns, scale)
        found["periods"] = periods(columns, scale)
        short = {"moments": moments(columns, scale), "lagged": lagged_products(columns, scale)}
        return _part(found, short)

    return zip(paths, in_threads(told, paths), strict=True)


def _sums(
    table: ir.Table,
    inside: ir.Table,
    *,
    scale: tuple[Scale, ...],
    settings: _Settings,
    whole: frozenset[str] = frozenset(),
) -> dict[str, ir.Table]:
    """What is a matter of sums, by name."""
    _, _, line_rate, marks = settings
    asked = {
        "subgroups": ask.subgroups(inside, scale),
        "cells": ask.cells(table, scale, line_rate, marks, whole),
    }
    tagged = ask.counts(table)
    return asked if tagged is None else asked | {"counts": tagged}


def _part(found: dict[str, pa.Table], short: dict[str, Any]) -> Part:
    """The answers of one file, put together."""
    counts = found["counts"].to_pylist() if "counts" in found else []
    tables = {name: found[name] for name in ("subgroups", "cells", "histogram", "periods")}
    return Part({**short, "counts": counts}, tables)


def _has_all(path: Path, scale: tuple[Scale, ...], there: list[str]) -> None:
    """A file of the log holds every characteristic."""
    lacking = [item.id for item in scale if item.id not in there]
    if lacking:
        raise InputError(
            path.parent.name[5:],
            f'the log has no column "{lacking[0]}"',
            "write the log again with this study",
        )


def _key(path: Path, name: str, scale: tuple[Scale, ...], settings: _Settings) -> str:
    """The name of a log's file is the hash of its content; the questions asked are added."""
    text = f"{_FORM} {path.stem} {name} {scale!r} {settings!r} {ask.LAGS} {ask.PERIOD_PARTS}"
    return hashlib.sha256(text.encode()).hexdigest()
