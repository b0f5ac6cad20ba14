"""A file nobody has described, read as it is proposed, with nothing typed but names that no file says."""

from __future__ import annotations

import csv
import datetime
import io
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pandas as pd

from linestudy.intake import draft_study
from linestudy.intake.draft import Draft
from linestudy.records import Records, read
from linestudy.study.load import Study, _checked


def draft_of(
    folder: Path, name: str, content: bytes, answers: dict[str, str] | None = None
) -> Draft:
    """Draft a study of one file; gauges and characteristics are given a name where asked."""
    (folder / "data").mkdir(exist_ok=True)
    try:
        os.fsencode(name)
    except UnicodeEncodeError:
        # No file can bear that name where the system knows ASCII only.
        name = f"file{Path(name).suffix}"
    path = folder / "data" / name
    path.write_bytes(content)
    draft = draft_study([path])
    for question in draft.questions():
        kind = question.key.partition(":")[0]
        if kind in (answers or {}):
            draft.answer(question.key, (answers or {})[kind])
        elif kind in ("gauge", "about"):
            draft.answer(question.key, "Camera")
    return draft


def records_of(folder: Path, draft: Draft, **changes: Any) -> Records:
    """Read the tables of a draft, all its characteristics in mm; `changes` replace keys of the tables."""
    tables = [{**keys, **changes} for keys, _ in draft.data_tables()]
    items = [
        {"id": item.id, "name": item.name, "unit": "mm", "lower": -1.0, "upper": 9.0}
        for item in draft.items
    ]
    gauges = [{"id": identity, "name": name} for identity, name in draft.gauges.items()]
    head = {"title": "t", "part": "p"}
    content = {"format": 1, "study": head, "characteristic": items, "gauge": gauges, "data": tables}
    return read(Study(folder, _checked(content, "")))


#: The readings of every file.
WIDTHS = np.random.default_rng(20261127).normal(2.8, 0.01, 40).round(4)
BEGIN = datetime.datetime(2026, 9, 3, 22, 0)
TIMES = [BEGIN + datetime.timedelta(minutes=5 * i) for i in range(40)]


def delimited(rows: list[list[object]], mark: str = ",", encoding: str = "utf-8") -> bytes:
    """Rows as a writer of csv writes them."""
    stream = io.StringIO()
    csv.writer(stream, delimiter=mark, lineterminator="\n").writerows(rows)
    return stream.getvalue().encode(encoding)


def workbook(
    rows: list[list[object]], change: Callable[[openpyxl.Workbook], object] | None = None
) -> bytes:
    """Rows as a sheet; `change` does to it what a person does."""
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    if change is not None:
        change(book)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def the_run(folder: Path, name: str, content: bytes, **changes: object) -> pd.DataFrame:
    """The only run that a file is proposed as."""
    draft = draft_of(folder, name, content)
    (table,) = draft.tables
    assert table.said.role == "run", table.said.why
    found = records_of(folder, draft, **changes).table("run", draft.items[0].id)
    assert found is not None
    return found
