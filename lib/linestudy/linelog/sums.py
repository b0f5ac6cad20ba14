"""Put the questions of a line log to every file of it once, and keep the answers beside the log."""

from __future__ import annotations

import hashlib
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from linestudy.linelog import queries as ask
from linestudy.linelog.build import run_of
from linestudy.linelog.engines import Questions, engine, log_files
from linestudy.linelog.memory.cells import sums_in_memory
from linestudy.linelog.memory.lagged import LaggedProducts, lagged_products
from linestudy.linelog.memory.unpacked import in_words, read_columns
from linestudy.linelog.store import FileSums, keep, recall
from linestudy.linelog.summary import LogSummary
from linestudy.results import InputError, arguments
from linestudy.running.workers import in_threads

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    import ibis.expr.types as ir
    import pyarrow as pa

    from linestudy.linelog.memory.unpacked import LogColumns
    from linestudy.linelog.queries import Scale
    from linestudy.study.load import Study

#: Form of what is kept; an older form is read again.
_FORM = "11"


def summarise_log(
    log: str | Path,
    study: Study,
    *,
    with_engine: Literal["duckdb", "spark"] | None = None,
    cache: bool = True,
    progress: Callable[[str], None] | None = None,
) -> LogSummary:
    """Sum a line log, file by file; only files not summed before are read.

    Parameters
    ----------
    log : str or pathlib.Path
        Folder written by :func:`linestudy.linelog.build_log`.
    study : Study
        Its run gives characteristics and subgroups.
    with_engine : {"duckdb", "spark"}, optional
        That of the run's [[data]] table when absent.
    cache : bool
        Keep each file's summary in ``LOG.cache`` beside the log, named by content;
        the folder may be deleted at any time (a summary in use then asks to be made again).
    progress : callable, optional
        Called with each file once it is summed.

    Returns
    -------
    LogSummary
        Sums over all parts, and what follows from them.

    Raises
    ------
    ValueError
        An engine that is not known.
    InputError
        The log holds no rows, lacks a column, or Spark is asked for and not there.

    See Also
    --------
    build_log : Writes the log.
    evaluate_log : What the sums say of stability.

    Examples
    --------
    See ``linestudy log FOLDER --study STUDY``, which prints what it wrote.
    """
    if with_engine is not None:
        arguments.one_of("with_engine", with_engine, ("duckdb", "spark"))
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
    settings = (size, every, study.line_rate, marks, (study.parts_per_stroke or 1) > 1)
    keys = {path: _key(path, name, scale, settings) for path in files}
    found = {path: recall(store, keys[path]) for path in files}
    missing = [path for path in files if found[path] is None]
    if missing:
        with engine(name) as connection:
            answers = _by_engine if name == "spark" else _in_memory
            for number, (path, answered) in enumerate(
                answers(connection, missing, scale, settings), start=1
            ):
                if progress is not None:
                    progress(f"{path.parent.name[5:]} ({number} of {len(missing)})")
                found[path] = answered if store is None else keep(store, keys[path], answered)
    parts = [part for part in (found[path] for path in files) if part is not None]
    cautions = ["Pairs of parts across two daily files are not among the lagged products."]
    if isinstance(taking, str):
        cautions.append("Subgroups by a column are not summed; neighbours in fives were taken.")
    rows = sum(part.short["rows"] for part in parts)
    return LogSummary(
        rows,
        len(files),
        len(files) - len(missing),
        scale,
        tuple(parts),
        tuple(cautions),
        tuple(path.parent.name[5:] for path in files),
    )


#: Size and distance of subgroups, the line's rate, order numbers of events, whether a stroke makes several parts.
_Settings = tuple[int, int, float | None, tuple[float, ...], bool]


def _by_engine(
    connection: Any, paths: list[Path], scale: tuple[Scale, ...], settings: _Settings
) -> Iterator[tuple[Path, FileSums]]:
    """Sum files by an engine elsewhere, which reads them and answers every question itself."""
    for path in paths:
        table = connection.read_parquet(str(path), table_name="part")
        _has_all(path, scale, list(table.columns))
        asked = _asked(table, scale=scale, settings=settings)
        lagged = {str(lag): ask.lagged(table, scale, lag) for lag in ask.LAGS}
        found = {name: expression.to_pyarrow() for name, expression in asked.items()}
        products = {lag: expression.to_pyarrow().to_pylist() for lag, expression in lagged.items()}
        yield path, _sums(found, products)


def _in_memory(
    connection: Any, paths: list[Path], scale: tuple[Scale, ...], settings: _Settings
) -> Iterator[tuple[Path, FileSums]]:
    """Sum files in this process, a core to each: DuckDB makes subgroups of the few parts in them, and is asked what else is not known here."""
    size, every, line_rate, marks, _ = settings
    asked = partial(_asked, scale=scale, settings=settings)
    questions, of_subgroups = (
        Questions(connection, asked),
        Questions(connection, partial(asked, only_subgroups=True)),
    )

    def answered(path: Path) -> FileSums:
        columns = read_columns(path)
        _has_all(path, scale, columns.names)
        lags = LaggedProducts(columns, scale)
        found = sums_in_memory(columns, scale, line_rate, marks, lags)
        if found is not None:
            found |= _put(of_subgroups, columns.taken(size, every))
            return _sums(found, lags.found)
        whole = frozenset(filter(columns.whole, columns.names))
        return _sums(_put(questions, columns, whole), lagged_products(columns, scale))

    return zip(paths, in_threads(answered, paths), strict=True)


def _put(
    questions: Questions, columns: LogColumns, whole: frozenset[str] = frozenset()
) -> dict[str, pa.Table]:
    """Put questions to DuckDB about columns in memory, texts as numbers of kinds on the way."""
    table, texts = columns.with_codes()
    answers = questions.answers(whole, table)
    return {name: in_words(answer, texts) for name, answer in answers.items()}


def _asked(
    table: ir.Table,
    *,
    scale: tuple[Scale, ...],
    settings: _Settings,
    whole: frozenset[str] = frozenset(),
    only_subgroups: bool = False,
) -> dict[str, ir.Table]:
    """Return the questions, by name."""
    size, every, line_rate, marks, streams = settings
    subgroups = ask.subgroups(ask.taken(table, size, every), scale, streams)
    if only_subgroups:
        return {"subgroups": subgroups}
    asked = {
        "subgroups": subgroups,
        "quarter_hours": ask.quarter_hours(table, scale, line_rate, marks, whole),
        "histogram": ask.histogram(table, scale),
    }
    tagged = ask.counts(table)
    return asked if tagged is None else asked | {"counts": tagged}


def _sums(found: dict[str, pa.Table], lagged: dict[str, list[dict[str, Any]]]) -> FileSums:
    """Combine the answers of one file."""
    import pyarrow.compute as pc

    summed = found["quarter_hours"]
    short = {
        "rows": int(pc.sum(summed["rows"]).as_py() or 0),
        # A file without a part that was used begins nowhere.
        "origin": pc.min(summed["first"]).as_py(),
        "lagged": lagged,
        "counts": found["counts"].to_pylist() if "counts" in found else [],
    }
    return FileSums(
        short, {name: found[name] for name in ("subgroups", "quarter_hours", "histogram")}
    )


def _has_all(path: Path, scale: tuple[Scale, ...], there: list[str]) -> None:
    """Refuse a file of the log that lacks a characteristic."""
    lacking = [item.id for item in scale if item.id not in there]
    if lacking:
        raise InputError(
            path.parent.name[5:],
            f'the log has no column "{lacking[0]}"',
            "write the log again with this study",
        )


def _key(path: Path, name: str, scale: tuple[Scale, ...], settings: _Settings) -> str:
    """Name a log's file by the hash of its content, the questions asked added."""
    text = f"{_FORM} {path.stem} {name} {scale!r} {settings!r} {ask.LAGS} {ask.QUARTER_PARTS}"
    return hashlib.sha256(text.encode()).hexdigest()
