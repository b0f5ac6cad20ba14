"""Put the questions of a line log to every file of it once, and keep the answers beside the log."""

from __future__ import annotations

import hashlib
import json
import os
import re
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from linestudy.core import InputError
from linestudy.records import log_expressions as ask
from linestudy.records.engines import Questions, engine, log_files
from linestudy.records.lagged import lagged_products
from linestudy.records.linelog import run_of
from linestudy.records.log_summary import LogSummary

if TYPE_CHECKING:
    from collections.abc import Callable
    from concurrent.futures import Future

    import ibis.expr.types as ir

    from linestudy.records.log_expressions import Scale
    from linestudy.study.load import Study

#: Form of what is kept; an older form is read again.
_FORM = "8"
#: What is kept: a summary behind its own sum, so that a damaged one is not believed.
_KEPT = re.compile(r'\{"sha256": "([0-9a-f]{64})", "summary": (.*)\}', re.DOTALL)


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
        the folder may be deleted at any time.
    progress : callable, optional
        Told each file before it is read.

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
    found = {path: _recalled(store, keys[path]) for path in files}
    missing = [path for path in files if found[path] is None]
    if missing:
        # DuckDB stands in this process, where a file's values are at hand; Spark's are elsewhere.
        by_engine = name == "spark"
        lags = ask.LAGS if by_engine else ()
        for path in missing:
            _whole(path, scale)
        # Products of lags are worked out beside the engine, which leaves a core to spare.
        with engine(name) as connection, ThreadPoolExecutor(1) as second:
            questions = Questions(
                connection, lambda table: _questions(table, scale, settings, lags)
            )
            products = [
                None if by_engine else second.submit(lagged_products, path, scale)
                for path in missing
            ]
            try:
                for number, path in enumerate(missing, start=1):
                    if progress is not None:
                        progress(f"{path.parent.name[5:]} ({number} of {len(missing)})")
                    answers = _summed(questions, path, scale, products[number - 1])
                    _remember(store, keys[path], answers)
                    found[path] = _compact(answers)
            finally:
                # Whoever breaks off does not wait for the products of a year.
                second.shutdown(cancel_futures=True)
    parts = [part for part in (found[path] for path in files) if part is not None]
    cautions = ["Pairs of parts across two daily files are not among the lagged products."]
    if isinstance(taking, str):
        cautions.append("Subgroups by a column are not summed; neighbours in fives were taken.")
    rows = sum(part["moments"]["rows"] for part in parts)
    return LogSummary(
        rows, len(files), len(files) - len(missing), scale, tuple(parts), tuple(cautions)
    )


#: Size and distance of subgroups, the line's rate, order numbers of events.
_Settings = tuple[int, int, float | None, tuple[float, ...]]


def _questions(
    table: ir.Table, scale: tuple[Scale, ...], settings: _Settings, lags: tuple[int, ...]
) -> dict[str, ir.Table]:
    """All expressions over one file, by name."""
    size, every, line_rate, marks = settings
    asked = {
        "moments": ask.moments(table, scale),
        "periods": ask.periods(table, scale),
        "subgroups": ask.subgroups(table, scale, size, every),
        "cells": ask.cells(table, scale, line_rate, marks),
    }
    asked |= {f"histogram {i}": ask.histogram(table, item) for i, item in enumerate(scale)}
    asked |= {f"lag {lag}": ask.lagged(table, scale, lag) for lag in lags}
    tagged = ask.counts(table)
    return asked if tagged is None else asked | {"counts": tagged}


def _whole(path: Path, scale: tuple[Scale, ...]) -> None:
    """A file of the log holds every characteristic."""
    import pyarrow.parquet as pq

    there = pq.read_schema(path).names
    lacking = [item.id for item in scale if item.id not in there]
    if lacking:
        raise InputError(
            path.parent.name[5:],
            f'the log has no column "{lacking[0]}"',
            "write the log again with this study",
        )


def _summed(
    questions: Questions, path: Path, scale: tuple[Scale, ...], lagged: Future[Any] | None
) -> dict[str, Any]:
    """What one file answers; products of lags from elsewhere, if the engine is not asked for them."""
    found = questions.answers(path)
    if lagged is None:
        products = {str(lag): found[f"lag {lag}"].to_pylist() for lag in ask.LAGS}
    else:
        products = lagged.result()
    return {
        "moments": found["moments"].to_pylist()[0],
        "histogram": [found[f"histogram {i}"].to_pylist() for i in range(len(scale))],
        "subgroups": found["subgroups"].to_pydict(),
        "cells": found["cells"].to_pydict(),
        "lagged": products,
        "counts": found["counts"].to_pylist() if "counts" in found else [],
        "periods": sorted(found["periods"].to_pylist(), key=lambda row: row["from_order"]),
    }


def _compact(part: dict[str, Any]) -> dict[str, Any]:
    """The same with long lists as arrays: a year of days must fit into memory."""
    part = dict(part)
    for name in ("subgroups", "cells"):
        part[name] = {key: _array(column) for key, column in part[name].items()}
    part["histogram"] = [
        {key: np.array([row[key] for row in rows], dtype=np.int64) for key in ("class", "count")}
        for rows in part["histogram"]
    ]
    return part


def _array(column: list[Any]) -> Any:
    found = np.array(column)
    if found.dtype.kind not in "OU":
        return found
    if any(isinstance(value, str) for value in column):
        # One string for all rows of a coil, not one each.
        return np.array([sys.intern(v) if isinstance(v, str) else v for v in column], dtype=object)
    # A missing sum makes numbers of a column into objects.
    return np.array(column, dtype=float)


def _key(path: Path, name: str, scale: tuple[Scale, ...], settings: _Settings) -> str:
    """The name of a log's file is the hash of its content; the questions asked are added."""
    text = f"{_FORM} {path.stem} {name} {scale!r} {settings!r} {ask.LAGS} {ask.PERIOD_PARTS}"
    return hashlib.sha256(text.encode()).hexdigest()


def _recalled(store: Path | None, key: str) -> dict[str, Any] | None:
    if store is None:
        return None
    try:
        kept = _KEPT.fullmatch((store / f"{key}.json").read_text(encoding="utf-8"))
        if kept is None or kept[1] != hashlib.sha256(kept[2].encode()).hexdigest():
            return None
        return _compact(json.loads(kept[2]))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _remember(store: Path | None, key: str, part: dict[str, Any] | None) -> None:
    if store is None:
        return
    store.mkdir(parents=True, exist_ok=True)
    text = json.dumps(part, sort_keys=True)
    digest = hashlib.sha256(text.encode()).hexdigest()
    rough = store / f".{key}.{os.getpid()}"
    rough.write_text(f'{{"sha256": "{digest}", "summary": {text}}}', encoding="utf-8")
    rough.replace(store / f"{key}.json")
